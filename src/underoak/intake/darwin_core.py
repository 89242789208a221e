"""Darwin Core archives: the checks that the published schemas leave out, and their occurrences as reports."""

from __future__ import annotations

import csv
import io
import zipfile
import zlib
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from underoak.errors import BadData
from underoak.intake.darwin_core_meta import OCCURRENCE, TableMeta, read_meta
from underoak.intake.reading import LONGEST_LINE, Reading, read_bytes
from underoak.intake.reports import reports_in
from underoak.intake.table import Row, Table, plain_header, told
from underoak.intake.xml_guard import parse_xml, text_of
from underoak.model.ground import LonLat
from underoak.model.problem import Problem
from underoak.model.visits import Report

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

_EXPECTED = "a Darwin Core archive: a zip with meta.xml and an occurrence table"
#: Unpacked bytes of one table or document; no household's records come near.
MOST_UNPACKED = 128 * 1024 * 1024
_MOST_MEMBERS = 10_000
#: What the schema of EML lets pass, but whoever takes the data asks for.
_ASKED_OF_EML = ("title", "creator", "contact", "pubDate", "language", "abstract", "intellectualRights")


@dataclass(frozen=True, slots=True)
class _Part:
    """One table as it stands in the archive: what meta.xml says of it, and its rows."""

    meta: TableMeta
    rows: list[tuple[int, list[str]]]


def read_darwin_core(
    path: Path, *, taxon_id_of: Callable[[str], str | None], today: date, home: LonLat | None = None
) -> Reading[tuple[Report, ...]]:
    """Reports of the occurrences of an archive.

    Every fault of the whole archive becomes a problem: tables that are missing, ids that are missing,
    doubled or unknown, columns that do not exist, rows of the wrong length, and what eml.xml lacks. Nothing
    is unpacked to disk; pictures and extensions are checked but not taken in.

    Raises
    ------
    BadData   when it is no zip, or meta.xml or the core cannot be read
    """
    archive = _Archive(path)
    meta = read_meta(archive.document("meta.xml", "archive"), path.name)
    parts = [part for table in meta.tables if (part := archive.table(table))]
    if not parts or parts[0].meta is not meta.tables[0]:
        raise BadData(archive.problems or [Problem("there is no core table", path.name, _EXPECTED)])
    problems = [*archive.problems, *meta.problems, *_id_problems(parts, path.name)]
    if meta.metadata:
        problems += _eml_problems(archive.document(meta.metadata, "eml"), f"{path.name}, {meta.metadata}")
    core, *extensions = parts
    if core.meta.row_type != OCCURRENCE:
        what = f"the core holds {core.meta.row_type.rpartition('/')[2] or 'nothing named'}"
        raise BadData([*problems, Problem(what, path.name, "Occurrence as core")])
    reading = reports_in(_named(core, path.name), taxon_id_of=taxon_id_of, today=today, home=home)
    names = ", ".join(f"{part.meta.name} ({len(part.rows)})" for part in extensions)
    seen = (f"beside the occurrences: {names}; checked, not taken in",) if names else ()
    return Reading(
        reading.records, told([*problems, *reading.problems], path.name), (*reading.understood, *seen)
    )


class _Archive:
    """A zip that is read member by member within bounds; faults are collected."""

    def __init__(self, path: Path) -> None:
        self.name = path.name
        self.problems: list[Problem] = []
        try:
            self._zip = zipfile.ZipFile(io.BytesIO(read_bytes(path)))
            members = self._zip.infolist()
        except (zipfile.BadZipFile, ValueError, OSError, NotImplementedError, EOFError) as error:
            raise BadData([Problem(f"this is no whole zip: {error}", self.name, _EXPECTED)]) from error
        if len(members) > _MOST_MEMBERS:
            raise BadData(
                [Problem(f"the zip holds {len(members)} files", self.name, f"at most {_MOST_MEMBERS}")]
            )
        self._members = {info.filename: info for info in members}

    def document(self, name: str, root: str) -> Element:
        """One XML document; BadData when it cannot be read."""
        return parse_xml(self._bytes(name), f"{self.name}, {name}", root=root, expected=_EXPECTED)

    def _bytes(self, name: str) -> bytes:
        info = self._members.get(name)
        where = f"{self.name}, {name}"
        if info is None:
            raise BadData([Problem(f"there is no {name!r} in the archive", self.name, _EXPECTED)])
        try:
            with self._zip.open(info) as member:
                data = member.read(MOST_UNPACKED + 1)
        except (
            zipfile.BadZipFile,
            zlib.error,
            RuntimeError,
            NotImplementedError,
            OSError,
            EOFError,
            ValueError,
        ) as error:
            raise BadData([Problem(f"cannot be unpacked: {error}", where, _EXPECTED)]) from error
        if len(data) > MOST_UNPACKED:
            raise BadData([Problem("unpacks to too many bytes", where, f"at most {MOST_UNPACKED}")])
        return data

    def table(self, meta: TableMeta) -> _Part | None:
        """The rows of a table; None, with the problem noted, when there are none to be had."""
        where = f"{self.name}, {meta.file}"
        try:
            text = self._bytes(meta.file).decode(meta.encoding, "strict").removeprefix("\ufeff")
            rows = _rows(text, meta)
        except BadData as error:
            self.problems += error.problems
            return None
        except (UnicodeDecodeError, LookupError, csv.Error) as error:
            self.problems.append(Problem(f"the table breaks off: {error}", where, f"text in {meta.encoding}"))
            return None
        good = []
        for line, cells in rows[meta.header_lines :]:
            if len(cells) <= meta.last_index:
                here = f"{where}, line {line}"
                self.problems.append(Problem(f"{len(cells)} cells", here, f"at least {meta.last_index + 1}"))
            else:
                good.append((line, cells))
        self.problems += _header_problems(rows, meta, where)
        return _Part(meta, good)


def _rows(text: str, meta: TableMeta) -> list[tuple[int, list[str]]]:
    """(line, cells) of all lines that are not blank."""
    if any(len(line) > LONGEST_LINE for line in text.splitlines()):
        raise csv.Error(f"a line has more than {LONGEST_LINE} characters")
    lines = text.split(meta.line_end) if meta.line_end not in ("\n", "\r\n") else text.splitlines()
    if not meta.quote:
        return [(n, line.split(meta.delimiter)) for n, line in enumerate(lines, 1) if line.strip()]
    reader = csv.reader(
        (line + "\n" for line in lines), delimiter=meta.delimiter, quotechar=meta.quote, strict=True
    )
    return [(reader.line_num, cells) for cells in reader if any(cell.strip() for cell in cells)]


def _header_problems(rows: list[tuple[int, list[str]]], meta: TableMeta, where: str) -> list[Problem]:
    """A first row that repeats the names of its terms is a header, however many meta.xml tells of."""
    if meta.header_lines or not rows:
        return []
    names = {plain_header(term.rpartition("/")[2]) for term in meta.terms.values()}
    if len(names & {plain_header(cell) for cell in rows[0][1]}) < 2:
        return []
    what = "the first line is a header, but ignoreHeaderLines is 0"
    return [Problem(what, where, 'ignoreHeaderLines="1"', "mend meta.xml")]


def _id_problems(parts: list[_Part], file: str) -> list[Problem]:
    core, *extensions = parts
    index = core.meta.id_index
    if index is None:
        if not extensions:
            return []
        what = "the core names no id column, so its extensions hang on nothing"
        return [Problem(what, f"{file}, meta.xml", '<id index="0"/>')]
    problems, known = [], set[str]()
    for line, cells in core.rows:
        own, where = cells[index].strip(), f"{file}, {core.meta.file}, line {line}"
        if not own or own in known:
            problems.append(
                Problem(f"the id {own!r} stands twice" if own else "no id", where, "one id a row")
            )
        known.add(own)
    for part in extensions:
        at = part.meta.id_index
        problems += [
            Problem(
                f"belongs to {cells[at].strip()!r}, which the core does not hold",
                f"{file}, {part.meta.file}, line {line}",
                "the id of a core row",
            )
            for line, cells in part.rows
            if at is not None and cells[at].strip() not in known
        ]
    return problems


def _eml_problems(eml: Element, where: str) -> list[Problem]:
    dataset = eml.find("dataset")
    if dataset is None:
        return [Problem("eml.xml describes no dataset", where, "<dataset>")]
    return [
        Problem(f"eml.xml has no {tag}", where, f"<{tag}>, asked for by whoever takes the data")
        for tag in _ASKED_OF_EML
        if not (text_of(dataset, tag) or len(dataset.findall(f"{tag}/*")))
    ]


def _named(part: _Part, file: str) -> Table:
    """The core as a table with plain headers; constants of meta.xml fill their own column."""
    columns = {plain_header(term.rpartition("/")[2]): index for index, term in part.meta.terms.items()}
    constants = {plain_header(term.rpartition("/")[2]): text for term, text in part.meta.constants.items()}
    rows = tuple(
        Row(
            line,
            f"{file}, {part.meta.file}, line {line}",
            {
                **constants,
                **{name: cells[index] or constants.get(name, "") for name, index in columns.items()},
            },
        )
        for line, cells in part.rows
    )
    return Table(file, tuple({**constants, **columns}), rows, ())
