"""What PostgreSQL says otherwise than SQLite: marks, a comparison, the types and rules of the schema.

The ledger's own statements keep to what both understand; only the differences below are translated, so that
there is one schema and one text of each statement.
"""

from __future__ import annotations

import re
from functools import lru_cache

#: Stands before 0 for a NUL byte and before 1 for itself: PostgreSQL keeps no NUL in a text.
_ESCAPE = "\x1a"

_PIECE = re.compile(r"('(?:[^']|'')*'|--[^\n]*)|\?(\d*)|\bIS NOT\b(?!\s+NULL\b)")
_ONE_ROW = re.compile(r"(.*\bVALUES\s*)(\([^()]*\))(.*)", re.DOTALL)
_TRIGGER = re.compile(
    r"CREATE TRIGGER (\w+) (BEFORE (?:UPDATE|DELETE)) ON (\w+)\s+"
    r"BEGIN\s+SELECT RAISE \(ABORT, ('(?:[^']|'')*')\);\s+END",
)
_AFTER = re.compile(
    r"CREATE TRIGGER (\w+) (AFTER (?:INSERT|UPDATE|DELETE)) ON (\w+)\s+BEGIN\s+(.*;)\s+END", re.DOTALL
)
_TYPES = (
    (r"\bTEXT\b", 'TEXT COLLATE "C"'),
    (r"\bINTEGER\b", "BIGINT"),
    (r"\bREAL\b", "DOUBLE PRECISION"),
    (r"\bBLOB\b", "BYTEA"),
    (r"\b(REFERENCES \w+ \(\w+\))", r"\1 DEFERRABLE"),
    (r"\)\s*STRICT,\s*WITHOUT ROWID\b", ")"),
    (r"lower\(hex\(randomblob\(16\)\)\)", "md5(gen_random_uuid()::text)"),
    (r"\)\s*STRICT\b", ", rowid BIGINT GENERATED ALWAYS AS IDENTITY)"),
)
#: What the schema calls and PostgreSQL 15 does not bring.
PRELUDE = (
    "CREATE FUNCTION json_valid (document text) RETURNS boolean LANGUAGE plpgsql IMMUTABLE STRICT AS "
    "'BEGIN PERFORM document::json; RETURN true; EXCEPTION WHEN data_exception THEN RETURN false; END'",
    "CREATE FUNCTION refuse () RETURNS trigger LANGUAGE plpgsql AS "
    "'BEGIN RAISE EXCEPTION ''%'', TG_ARGV[0] USING ERRCODE = ''integrity_constraint_violation''; END'",
)


@lru_cache(maxsize=512)
def translated(sql: str) -> str:
    """A statement of the ledger as PostgreSQL takes it: marks as ``$1``, IS NOT as IS DISTINCT FROM."""
    count = 0

    def other(found: re.Match[str]) -> str:
        nonlocal count
        if found[1] is not None:
            return found[1]
        if not found[0].startswith("?"):
            return "IS DISTINCT FROM"
        if found[2]:
            return f"${found[2]}"
        count += 1
        return f"${count}"

    return _PIECE.sub(other, sql)


@lru_cache(maxsize=64)
def for_rows(sql: str, rows: int) -> str | None:
    """An INSERT of one row of plain marks as an INSERT of many; None for any other statement."""
    parts = _ONE_ROW.fullmatch(sql)
    if parts is None or "?" in parts[1] + parts[3] or re.search(r"\?\d", parts[2]):
        return None
    return translated(parts[1] + ", ".join([parts[2]] * rows) + parts[3])


def schema_statements(sql: str) -> tuple[str, ...]:
    """One statement of a schema step as PostgreSQL takes it: what a trigger does is a function there."""
    plain = re.sub(r"--[^\n]*", "", sql).strip().removesuffix(";")
    if trigger := _AFTER.fullmatch(plain):
        name, when, table, body = trigger.groups()
        return (
            f"CREATE FUNCTION {name} () RETURNS trigger LANGUAGE plpgsql AS "
            f"$do$ BEGIN {schema_statement(body)}; RETURN NULL; END $do$",
            f"CREATE TRIGGER {name} {when} ON {table} FOR EACH ROW EXECUTE FUNCTION {name} ()",
        )
    return (schema_statement(plain),)


def schema_statement(sql: str) -> str:
    """One statement as PostgreSQL takes it; not for a trigger that does more than refuse.

    Days and names are compared by their letters' numbers, as in a file (COLLATE "C"); a table that has a
    ``rowid`` in a file gets a column of that name, which counts insertions; references can be deferred.
    """
    sql = re.sub(r"--[^\n]*", "", sql).strip().removesuffix(";")
    if trigger := _TRIGGER.fullmatch(sql):
        name, when, table, words = trigger.groups()
        return f"CREATE TRIGGER {name} {when} ON {table} FOR EACH ROW EXECUTE FUNCTION refuse ({words})"
    pieces = re.split(r"('(?:[^']|'')*')", sql)
    for number in range(0, len(pieces), 2):
        for pattern, other in _TYPES:
            pieces[number] = re.sub(pattern, other, pieces[number])
    return "".join(pieces)


def as_kept(text: str) -> str:
    """A text as PostgreSQL keeps it."""
    if "\0" not in text and _ESCAPE not in text:
        return text
    return text.replace(_ESCAPE, _ESCAPE + "1").replace("\0", _ESCAPE + "0")


def as_meant(text: str) -> str:
    """The text that was given to `as_kept`."""
    if _ESCAPE not in text:
        return text
    return text.replace(_ESCAPE + "0", "\0").replace(_ESCAPE + "1", _ESCAPE)
