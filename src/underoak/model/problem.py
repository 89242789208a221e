"""One thing that is wrong in a file or an answer from outside."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Problem:
    """What is wrong, where it stands, what was expected and what to do about it."""

    what: str
    where: str = ""
    expected: str = ""
    remedy: str = ""

    def sentence(self) -> str:
        """One line for a person: where, what, expected, remedy, as far as known."""
        parts = [f"{self.where}: {self.what}" if self.where else self.what]
        if self.expected:
            parts.append(f"expected {self.expected}")
        if self.remedy:
            parts.append(self.remedy)
        return "; ".join(parts)
