"""What meta.xml says of the tables of a Darwin Core archive."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from underoak.errors import BadData
from underoak.model.problem import Problem

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

OCCURRENCE = "http://rs.tdwg.org/dwc/terms/Occurrence"
_ESCAPES = {"\\t": "\t", "\\n": "\n", "\\r": "\r", "\\r\\n": "\r\n"}
#: No table has more columns.
_MOST_COLUMNS = 2000


@dataclass(frozen=True, slots=True)
class TableMeta:
    """One table: its file, what a row is, how it is written, and which column holds which term.

    ``terms`` maps a column to the full address of its term; ``constants`` holds terms with one value for
    all rows. ``id_index`` is the column of the id (core) or of the core's id (extension).
    """

    file: str
    row_type: str
    encoding: str
    delimiter: str
    line_end: str
    quote: str
    header_lines: int
    id_index: int | None
    terms: Mapping[int, str]
    constants: Mapping[str, str]

    @property
    def last_index(self) -> int:
        """The last column that is spoken of."""
        return max([*self.terms, self.id_index or 0])

    @property
    def name(self) -> str:
        """The kind of row in one word."""
        return self.row_type.rpartition("/")[2] or self.file


@dataclass(frozen=True, slots=True)
class Meta:
    """All tables, the core first, the name of the document about the data set, and what is wrong."""

    tables: tuple[TableMeta, ...]
    metadata: str
    problems: tuple[Problem, ...]


def read_meta(archive: Element, file: str) -> Meta:
    """What meta.xml says; BadData when it names no core or no file.

    Source: Darwin Core Text Guide, tdwg_dwc_text.xsd with its defaults (seen).
    """
    problems: list[Problem] = []
    core = archive.find("core")
    if core is None:
        raise BadData([Problem("meta.xml names no core", f"{file}, meta.xml", "<core>")])
    first = _table(core, file, problems)
    others = [_table(each, file, problems) for each in archive.findall("extension")]
    if first is None:
        raise BadData(problems)
    tables = (first, *(table for table in others if table is not None))
    return Meta(tables, archive.get("metadata", "").strip(), tuple(problems))


def _table(element: Element, file: str, problems: list[Problem]) -> TableMeta | None:
    where = f"{file}, meta.xml, <{element.tag}>"
    before = len(problems)
    location = (element.findtext("files/location") or "").strip()
    if not location:
        problems.append(Problem("no file is named", where, "<files><location>"))
    if not element.get("rowType"):
        problems.append(Problem("no rowType", where, "what one row is"))
    key = element.find("id" if element.tag == "core" else "coreid")
    id_index = None if key is None else _index(key, where, problems)
    if element.tag == "extension" and key is None:
        problems.append(Problem("no coreid", where, "the column with the core's id"))
    terms, constants = _fields(element, where, problems)
    header_lines = element.get("ignoreHeaderLines", "0").strip()
    if not (header_lines.isascii() and header_lines.isdigit() and len(header_lines) < 7):
        problems.append(Problem(f"ignoreHeaderLines {header_lines!r}", where, "a number"))
    delimiter, quote = (
        _sign(element, name, usual)
        for name, usual in (("fieldsTerminatedBy", ","), ("fieldsEnclosedBy", '"'))
    )
    if len(delimiter) != 1 or len(quote) > 1 or delimiter == quote or {delimiter, quote} & {"\n", "\r"}:
        problems.append(Problem("cells are parted or enclosed by no single sign", where, "such as \\t"))
    if len(problems) > before:
        return None
    return TableMeta(
        location,
        element.get("rowType", ""),
        element.get("encoding", "UTF-8"),
        delimiter,
        _sign(element, "linesTerminatedBy", "\n") or "\n",
        quote,
        int(header_lines),
        id_index,
        terms,
        constants,
    )


def _fields(element: Element, where: str, problems: list[Problem]) -> tuple[dict[int, str], dict[str, str]]:
    """Terms by column, and terms with one value for all rows."""
    terms: dict[int, str] = {}
    constants: dict[str, str] = {}
    for field in element.findall("field"):
        term = field.get("term", "").strip()
        if not term:
            problems.append(Problem("a field without a term", where, "term="))
        elif field.get("index") is None:
            constants[term] = field.get("default", "")
        else:
            index = _index(field, where, problems)
            if index is not None and index in terms:
                problems.append(Problem(f"column {index} is named twice", where, "one term a column"))
            elif index is not None:
                terms[index] = term
                if field.get("default"):
                    constants[term] = field.get("default", "")
    return terms, constants


def _index(element: Element, where: str, problems: list[Problem]) -> int | None:
    text = (element.get("index") or "").strip()
    if text.isascii() and text.isdigit() and len(text) < 6 and int(text) < _MOST_COLUMNS:
        return int(text)
    problems.append(Problem(f"index {text!r} of <{element.tag}>", where, "a column number from 0"))
    return None


def _sign(element: Element, name: str, usual: str) -> str:
    text = element.get(name, usual)
    return _ESCAPES.get(text, text)
