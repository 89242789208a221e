"""Read what a form says: numbers, days and times, with every fault told at once."""

from __future__ import annotations

import math
from collections.abc import Mapping
from datetime import date, datetime, time
from typing import Any, TypeVar

from underoak.errors import BadData
from underoak.model.problem import Problem

T = TypeVar("T")


class Answers:
    """The fields of a form. Faults are gathered; `check` raises all of them."""

    def __init__(self, form: Mapping[str, Any]) -> None:
        self.form = form
        self.problems: list[Problem] = []

    def text(self, name: str, most: int = 2000) -> str:
        """The field without blanks around it, empty where it was not filled in."""
        told = str(self.form.get(name, "")).strip()
        if len(told) > most:
            self.fault(f"{len(told)} letters", name, f"at most {most}")
            return told[:most]
        return told

    def number(self, name: str, words: str, low: float, high: float) -> float | None:
        """A number from ``low`` to ``high``, or None where nothing was filled in."""
        told = self.text(name, 40).replace(",", ".")
        if not told:
            return None
        try:
            found = float(told)
        except ValueError:
            found = math.nan
        if not low <= found <= high:
            self.fault(f"{told!r} is no fitting number", words, f"{low:g} to {high:g}")
            return None
        return found

    def whole(self, name: str, words: str, low: int, high: int) -> int | None:
        """A whole number, or None where nothing was filled in."""
        found = self.number(name, words, low, high)
        if found is not None and found != int(found):
            self.fault(f"{found:g} is no whole number", words, f"{low} to {high}")
            return None
        return None if found is None else int(found)

    def day(self, name: str, words: str, default: date) -> date:
        """A day written YYYY-MM-DD; the default where nothing was filled in."""
        told = self.text(name, 40)
        try:
            return date.fromisoformat(told) if told else default
        except ValueError:
            self.fault(f"{told!r} is no day", words, "YYYY-MM-DD")
            return default

    def moment(self, name: str, words: str) -> datetime | None:
        """A local moment written YYYY-MM-DDTHH:MM, or None where nothing was filled in."""
        told = self.text(name, 40)
        try:
            found = datetime.fromisoformat(told) if told else None
        except ValueError:
            found = None
        if told and (found is None or found.tzinfo is not None):
            self.fault(f"{told!r} is no local time", words, "YYYY-MM-DDTHH:MM")
            return None
        return found

    def clock(self, name: str, words: str, default: time) -> time:
        """A time of day written HH:MM."""
        told = self.text(name, 40)
        try:
            return datetime.strptime(told, "%H:%M").time() if told else default  # noqa: DTZ007 - local
        except ValueError:
            self.fault(f"{told!r} is no time of day", words, "HH:MM")
            return default

    def choice(self, name: str, words: str, choices: Mapping[T, Any] | tuple[T, ...], default: T) -> T:
        """One of the choices; the default where nothing was chosen."""
        told = self.text(name, 80)
        if not told:
            return default
        for one in choices:
            if one == told:
                return one
        self.fault(f"{told!r} is not offered", words, ", ".join(str(one) for one in choices))
        return default

    def fault(self, what: str, where: str, expected: str = "") -> None:
        """Note a fault."""
        self.problems.append(Problem(what, where, expected))

    def check(self) -> None:
        """Raise BadData with every fault, if there is one."""
        if self.problems:
            raise BadData(self.problems)
