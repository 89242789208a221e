"""An open ledger of a club: statements, transactions and rows as of a file."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from itertools import islice
from typing import TYPE_CHECKING, Any, NamedTuple

from underoak.errors import NoAnswer
from underoak.ledger.shared.dialect import for_rows, translated
from underoak.ledger.shared.faults import as_told, broke_off, lost_while_storing
from underoak.model.club import ClubAddress

if TYPE_CHECKING:
    from pg8000.core import Context, CoreConnection

#: Rows that go in one statement, as many of the first as there are, then of the next.
_CHUNKS = (256, 32, 4, 1)
#: Statements that the server keeps ready for this connection, and marks it takes in one.
_READY, _MARKS = 64, 32_000
_TWICE = "21000"  # SQLSTATE cardinality_violation: one statement would change a row twice


class SharedRow:
    """One row: its values by place or by name, and in order."""

    __slots__ = ("_places", "_values")

    def __init__(self, places: dict[str, int], values: Sequence[Any]) -> None:
        self._places, self._values = places, values

    def __getitem__(self, key: int | str | slice) -> Any:
        return self._values[self._places[key] if isinstance(key, str) else key]

    def __iter__(self) -> Iterator[Any]:
        return iter(self._values)

    def __len__(self) -> int:
        return len(self._values)

    def keys(self) -> list[str]:
        """Names of the columns."""
        return list(self._places)


class Answer:
    """What a statement answers."""

    def __init__(self, rows: Iterable[SharedRow] = (), rowcount: int = -1) -> None:
        self._rows, self.rowcount = iter(rows), rowcount

    def __iter__(self) -> Iterator[Any]:
        return self._rows

    def fetchone(self) -> Any:
        """The next row, or None."""
        return next(self._rows, None)

    def fetchall(self) -> list[Any]:
        """All rows that are left."""
        return list(self._rows)


class _Ready(NamedTuple):
    name: bytes
    columns: Any
    readers: Any


class SharedLedger:
    """A connection to a club's ledger that answers like one to a file.

    A transaction begins with taking the only row of ``ledger_state``: writers come one after the other, each
    sees all that the one before stored, and its number of changes tells readers that something is new.
    """

    def __init__(self, address: ClubAddress, link: CoreConnection) -> None:
        self.address = address
        self.in_transaction = False
        self.total_changes = 0
        self._link: CoreConnection | None = link
        self._ready: OrderedDict[str, _Ready] = OrderedDict()
        self._failed = False

    def execute(self, sql: str, parameters: Sequence[Any] = (), /) -> Answer:
        """Run one statement; BEGIN, COMMIT and ROLLBACK mean what they mean to `writing`."""
        match sql.split(None, 1)[0].upper():
            case "BEGIN":
                return self._begin()
            case "COMMIT":
                return self._commit()
            case "ROLLBACK":
                return self._end("ROLLBACK")
        return self._run(translated(sql), parameters)

    def executemany(self, sql: str, parameters: Iterable[Sequence[Any]], /) -> Answer:
        """Run one statement for many rows, many at a time where that means the same."""
        rows = iter(parameters)
        written = 0
        while chunk := list(islice(rows, _CHUNKS[0])):
            at = 0
            for size in _CHUNKS:
                while len(chunk) - at >= size:
                    written += self._run_rows(sql, chunk[at : at + size])
                    at += size
        return Answer(rowcount=written)

    def plain(self, sql: str) -> Answer:
        """Run a statement that is PostgreSQL's own and holds no marks."""
        return self._run(sql, ())

    @contextmanager
    def snapshot(self) -> Iterator[None]:
        """All that is read inside is of one moment; nothing can be written."""
        self._run("BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY", ())
        self.in_transaction = True
        try:
            yield
        finally:
            if self.in_transaction:
                self._end("ROLLBACK")

    def close(self) -> None:
        """End the connection; what was not committed is not stored."""
        link, self._link = self._link, None
        self.in_transaction = False
        if link is not None:
            with suppress(Exception):
                link.close()

    def __del__(self) -> None:
        self.close()

    def _begin(self) -> Answer:
        self._run("BEGIN ISOLATION LEVEL READ COMMITTED", ())
        self.in_transaction, self._failed = True, False
        if self._run("UPDATE ledger_state SET changes = changes + 1", ()).rowcount != 1:
            raise NoAnswer("the club's ledger is damaged: it has no state", remedy="restore a backup of it")
        self.total_changes -= 1
        return Answer()

    def _commit(self) -> Answer:
        if self._failed:
            self._end("ROLLBACK")
            raise RuntimeError("a statement of this transaction failed: nothing of it was stored")
        return self._end("COMMIT")

    def _end(self, word: str) -> Answer:
        try:
            return self._run(word, ())
        except NoAnswer:
            if word == "COMMIT" and self._link is None:
                raise lost_while_storing() from None
            raise
        finally:
            self.in_transaction = self._failed = False

    def _run_rows(self, sql: str, rows: list[Sequence[Any]]) -> int:
        """Rows written by one statement for all of these; by one each where that would change a row twice."""
        together = for_rows(sql, len(rows)) if len(rows) > 1 and len(rows[0]) * len(rows) < _MARKS else None
        if together is None:
            return self._run_each(sql, rows)
        values = [value for row in rows for value in row]
        careful = self.in_transaction and "DO UPDATE" in sql
        if careful:
            self._run("SAVEPOINT rows", ())
        try:
            written = self._run(together, values).rowcount
        except _TwiceError:
            if careful:
                self._run("ROLLBACK TO SAVEPOINT rows", ())
                self._failed = False
            written = self._run_each(sql, rows)
        if careful:
            self._run("RELEASE SAVEPOINT rows", ())
        return written

    def _run_each(self, sql: str, rows: list[Sequence[Any]]) -> int:
        return sum(max(self._run(translated(sql), row).rowcount, 0) for row in rows)

    def _run(self, statement: str, values: Sequence[Any]) -> Answer:
        from pg8000.exceptions import DatabaseError, InterfaceError

        if self._link is None:
            raise broke_off()
        try:
            context = self._asked(self._link, statement, values)
        except DatabaseError as error:
            self._failed = self.in_transaction
            if error.args[0].get("C") == _TWICE:
                raise _TwiceError from error
            raise as_told(error.args[0], self.address) from error
        except UnicodeEncodeError:
            # Nothing was sent yet: the text holds half a letter.
            self._failed = self.in_transaction
            raise
        except (InterfaceError, OSError) as error:
            self.close()
            raise broke_off() from error
        except BaseException:
            # What the server says next would be taken for the answer to another statement.
            self.close()
            raise
        return self._answer(statement, context)

    def _asked(self, link: CoreConnection, statement: str, values: Sequence[Any]) -> Context:
        from pg8000.converters import make_params

        if (ready := self._ready.get(statement)) is None:
            ready = _Ready(*link.prepare_statement(statement, ()))
            self._ready[statement] = ready
        self._ready.move_to_end(statement)
        given = make_params(link.py_types, values)
        context = link.execute_named(ready.name, given, ready.columns, ready.readers, statement)
        if len(self._ready) > _READY:
            link.close_prepared_statement(self._ready.popitem(last=False)[1].name)
        return context

    def _answer(self, statement: str, context: Context) -> Answer:
        if context.columns is None:
            writes = statement.lstrip().startswith(("INSERT", "UPDATE", "DELETE"))
            written = max(context.row_count, 0) if writes else 0
            self.total_changes += written
            return Answer(rowcount=written)
        places: dict[str, int] = {}
        for at, column in enumerate(context.columns):
            places.setdefault(column["name"], at)
        return Answer(SharedRow(places, values) for values in context.rows)


class _TwiceError(Exception):
    """One statement would change a row twice."""
