"""Which column of a weather table is which quantity, and in which unit."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

from underoak.errors import UserMistake

#: Wind of public stations is measured at about 10 m; this brings it to 2 m (FAO-56 Eq. 47, second-hand).
WIND_10M_TO_2M = 0.748


@dataclass(frozen=True, slots=True)
class Column:
    """One column that was understood.

    ``name`` is a metric quantity or a key such as ``day``; metric = factor * value + offset.
    ``stated`` is true where header or map named the unit, false where it was assumed.
    """

    position: int
    header: str
    name: str
    unit: str = ""
    factor: float = 1.0
    offset: float = 0.0
    stated: bool = True


@cache
def names() -> dict[str, Any]:
    """The word and unit tables."""
    text = (resources.files("underoak.intake") / "weather_names.toml").read_text("utf-8")
    return tomllib.loads(text)


def family(quantity: str) -> str:
    """The unit family of a quantity: all temperatures share one."""
    return "temperature" if quantity.endswith("_c") else quantity


def understand_header(
    header: Sequence[str], *, columns: Mapping[str, str], units: str = "metric", wind_height_m: float = 10.0
) -> tuple[Column, ...]:
    """The columns of a header that mean something to us, in their order.

    Parameters
    ----------
    header         the header cells
    columns        header cell -> what it is: a key (``day``, ``station``…) or a quantity with unit
                   (``rain_in``, ``tmin_f``, ``wind_mph``); beats recognition by words; "" ignores it
    units          ``metric`` or ``us``: what a column without unit is taken to hold
    wind_height_m  height of the wind gauge; wind is brought to 2 m when it is 10

    Raises UserMistake for a map that names a column or quantity that does not exist.
    """
    unknown = [cell for cell in columns if cell not in header]
    if unknown:
        raise UserMistake(
            f"the table has no column {unknown[0]!r}",
            expected="one of " + ", ".join(header),
            remedy="correct --column",
        )
    words = {_plain(columns.get(cell, cell)) for cell in header}
    day_is_of_month = {"year", "month", "day"} <= words
    found: list[Column] = []
    for position, cell in enumerate(header):
        target = columns.get(cell, cell)
        if day_is_of_month and _plain(target) == "day":
            target = "dom"
        column = _understand(target, position, cell, units)
        if cell in columns and target and column is None:
            raise UserMistake(
                f"{target!r} is no weather quantity with unit",
                expected="such as day, station, rain_mm, rain_in, tmin_c, tmax_f, wind_mph",
                remedy="correct --column",
            )
        if column is not None and column.name not in {c.name for c in found}:
            found.append(_to_two_metres(column) if wind_height_m == 10.0 else column)
    return tuple(found)


def _to_two_metres(column: Column) -> Column:
    if column.name != "wind_m_s":
        return column
    return Column(
        column.position,
        column.header,
        column.name,
        column.unit,
        column.factor * WIND_10M_TO_2M,
        0.0,
        column.stated,
    )


def _plain(cell: str) -> str:
    text = re.sub(r"[^a-z0-9]+", "_", cell.lower().replace("°", " ").replace("²", "2"))
    return text.strip("_")


def _understand(target: str, position: int, header: str, units: str) -> Column | None:
    word = _plain(target)
    for key, words in names()["key"].items():
        if word == key or word in words:
            return Column(position, header, key)
    quantities = {**names()["quantity"], **names()["hourly"]}
    for quantity, words in quantities.items():
        stem = quantity.rsplit("_", 1)[0] if quantity.endswith(("_mm", "_c")) else quantity.split("_", 1)[0]
        for known in sorted({stem, *words}, key=len, reverse=True):
            if word == known or word.startswith(known + "_"):
                column = _with_unit(quantity, word[len(known) :].strip("_"), position, header, units)
                if column is not None:
                    return column
    return None


def _with_unit(quantity: str, unit: str, position: int, header: str, units: str) -> Column | None:
    kind = family(quantity)
    table = names()["unit"][kind]
    named = unit if unit in table else next((u for u in table if unit.endswith("_" + u)), "")
    if unit and not named:
        return None
    word = named or names()["usual"][units][kind]
    factor, offset = table[word]
    return Column(position, header, quantity, word, factor, offset, bool(named))
