"""What every ledger can do, whether it is a file or a database of a club's server."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Any, Protocol


class Row(Protocol):
    """One row: its values by place or by name, and in order."""

    def __getitem__(self, key: int | str, /) -> Any: ...

    def __iter__(self) -> Iterator[Any]: ...


class Rows(Protocol):
    """What a statement answers."""

    @property
    def rowcount(self) -> int:
        """Rows that were written."""

    def fetchone(self) -> Any:
        """The next row, or None."""

    def fetchall(self) -> list[Any]:
        """All rows that are left."""

    def __iter__(self) -> Iterator[Any]: ...


class Ledger(Protocol):
    """An open ledger. Its functions speak the SQL that both kinds understand; `shared` translates the rest.

    Every write stands inside `underoak.ledger.database.writing`.
    """

    @property
    def in_transaction(self) -> bool:
        """Whether a transaction is open."""

    @property
    def total_changes(self) -> int:
        """Rows written through this connection so far."""

    def execute(self, sql: str, parameters: Sequence[Any] = ..., /) -> Rows:
        """Run one statement."""

    def executemany(self, sql: str, parameters: Iterable[Sequence[Any]], /) -> Rows:
        """Run one statement for every row of parameters."""

    def close(self) -> None:
        """End the connection; what was not committed is not stored."""
