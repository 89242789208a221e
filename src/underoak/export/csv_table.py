"""Delimited tables that no spreadsheet takes for formulas."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence

_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?")


def defused(text: str) -> str:
    """A cell that no spreadsheet runs as a formula, without line breaks and tabs.

    Method: a cell that begins with = + - @ or their wide forms, after any blanks, gets an apostrophe in
    front; plain numbers stay as they are. Source: OWASP, CSV injection (from memory).
    """
    plain = " ".join(text.replace("\0", "").split())
    if plain.startswith(("=", "+", "-", "@", "＝", "＋", "－", "＠", "|", "%")) and not _NUMBER.fullmatch(
        plain
    ):
        return "'" + plain
    return plain


def cell_text(value: object) -> str:
    """A value as the text of one cell: empty for None, numbers without surplus digits."""
    if value is None:
        return ""
    if isinstance(value, float):
        return f"{value:.7g}" if abs(value) >= 1e6 else f"{value:.6f}".rstrip("0").rstrip(".")
    return defused(str(value))


def csv_text(header: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """A comma-separated table (RFC 4180) with one header line."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow([defused(name) for name in header])
    writer.writerows([cell_text(value) for value in row] for row in rows)
    return out.getvalue()


def tsv_text(header: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """A tab-separated table without quoting: cells hold neither tabs nor line breaks."""
    lines = ["\t".join(header), *("\t".join(cell_text(value) for value in row) for row in rows)]
    return "\n".join(lines) + "\n"
