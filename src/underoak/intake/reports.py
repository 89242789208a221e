"""Other people's dated records: Darwin Core occurrences as CSV or TSV."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from datetime import date, timedelta
from pathlib import Path

from underoak.errors import BadData
from underoak.intake.coordinates import position_problem
from underoak.intake.days import parse_day
from underoak.intake.reading import Reading
from underoak.intake.stable_id import stable_id
from underoak.intake.table import Row, Table, number, read_table, told
from underoak.model.ground import LonLat
from underoak.model.problem import Problem
from underoak.model.quantities import counted
from underoak.model.visits import Report

_EXPECTED = "a Darwin Core occurrence table with scientificName and eventDate"
#: A longer interval says nothing about when a flush stood.
LONGEST_INTERVAL_DAYS = 14
_INTERVAL = re.compile(r"(\d{4})-(\d{2})-(\d{2})/(?:(?:(\d{4})-)?(\d{2})-)?(\d{2})")
_STATUS = {"": True, "present": True, "absent": False}


def read_reports(
    path: Path, *, taxon_id_of: Callable[[str], str | None], today: date, home: LonLat | None = None
) -> Reading[tuple[Report, ...]]:
    """Reports of an occurrence table.

    Parameters
    ----------
    path : CSV or TSV; the terms scientificName and eventDate (or year, month, day) are needed;
        decimalLatitude, decimalLongitude, coordinateUncertaintyInMeters, occurrenceStatus, occurrenceID,
        datasetName and institutionCode are used where they stand. Source of the terms: Darwin Core (TDWG)
    taxon_id_of : id of the taxon a name means, None when the book does not know it
    today : no report lies after it
    home : (longitude, latitude) of the household, to tell swapped coordinates

    Returns
    -------
    Reading with Report records. An interval of at most 14 days counts with its middle day; longer ones,
    months and years alone are refused, because they say nothing about when a flush stood. Names that the
    book does not know are kept without a taxon.

    Raises
    ------
    BadData   when the file as a whole cannot be read or lacks a needed term
    """
    table = read_table(path, expected=_EXPECTED)
    return reports_in(table, taxon_id_of=taxon_id_of, today=today, home=home)


def reports_in(
    table: Table, *, taxon_id_of: Callable[[str], str | None], today: date, home: LonLat | None = None
) -> Reading[tuple[Report, ...]]:
    """The same from a table that was read already, whatever file it came from."""
    if table.column("scientificname") is None or not (
        table.column("eventdate") or all(table.column(name) for name in ("year", "month", "day"))
    ):
        what = "the header lacks scientificName or eventDate"
        raise BadData([Problem(what, f"{table.file}, header", _EXPECTED)])
    reports: dict[str, Report] = {}
    problems = list(table.problems)
    twice = 0
    for row in table.rows:
        found = _report(row, taxon_id_of, today, home)
        if isinstance(found, Report):
            twice += found.id in reports
            reports[found.id] = found
        else:
            problems += found
    records = tuple(reports.values())
    return Reading(records, told(problems, table.file), _understood(table, records, twice))


def _report(
    row: Row, taxon_id_of: Callable[[str], str | None], today: date, home: LonLat | None
) -> Report | list[Problem]:
    name = row.text("scientificname")
    day = _event_day(row, today)
    position = _position(row, home)
    uncertainty = _uncertainty(row)
    status = _STATUS.get(row.text("occurrencestatus").casefold())
    faults = [part for part in (day, position, uncertainty) if isinstance(part, Problem)]
    if not name:
        faults.append(Problem("no scientificName", row.where, "a name"))
    if status is None:
        what = f"occurrenceStatus {row.text('occurrencestatus')!r}"
        faults.append(Problem(what, row.where, "present or absent"))
    if (
        faults
        or isinstance(day, Problem)
        or isinstance(position, Problem)
        or isinstance(uncertainty, Problem)
    ):
        return faults
    source = row.text("datasetname") or row.text("institutioncode")
    own = row.text("occurrenceid") or (day, name.casefold(), position, source)
    lon, lat = position or (None, None)
    return Report(
        stable_id("report", own), day, name, taxon_id_of(name), lon, lat, uncertainty, bool(status), source
    )


def _event_day(row: Row, today: date) -> date | Problem:
    text, where = row.text("eventdate"), f"{row.where}, eventDate"
    if not text:
        parts = [row.text(name).rjust(2, "0") for name in ("year", "month", "day")]
        text = "-".join(parts) if row.text("year") else ""
    if "/" in text and "-" in text:
        return _middle(text, where, today)
    return parse_day(re.sub(r"[T ]\d{2}:?\d{2}.*$", "", text), where, today)


def _middle(text: str, where: str, today: date) -> date | Problem:
    """Middle day of an ISO 8601 interval, whose end may leave out what equals the start."""
    expected = f"a day, or an interval of at most {LONGEST_INTERVAL_DAYS} days"
    match = _INTERVAL.fullmatch(re.sub(r"T[^/]*", "", text))
    if not match:
        return Problem(f"{text!r} is no interval of days", where, expected)
    y, m, d, y2, m2, d2 = match.groups()
    start = parse_day(f"{y}-{m}-{d}", where, today)
    end = parse_day(f"{y2 or y}-{m2 or m}-{d2}", where, today)
    if isinstance(start, Problem) or isinstance(end, Problem):
        return start if isinstance(start, Problem) else end
    if not 0 <= (end - start).days <= LONGEST_INTERVAL_DAYS:
        return Problem(f"{text} spans {(end - start).days} days", where, expected)
    return start + timedelta(days=(end - start).days // 2)


def _position(row: Row, home: LonLat | None) -> LonLat | Problem | None:
    lat, lon = row.text("decimallatitude"), row.text("decimallongitude")
    if not lat and not lon:
        return None
    x, y = number(lon), number(lat)
    if x is None or y is None:
        return Problem(
            f"position ({lat!r}, {lon!r})", row.where, "decimalLatitude and decimalLongitude in degrees"
        )
    return position_problem(x, y, row.where, home) or (x, y)


def _uncertainty(row: Row) -> float | Problem | None:
    text = row.text("coordinateuncertaintyinmeters")
    if not text:
        return None
    value = number(text)
    if value is None or value < 0.0:
        what = f"coordinateUncertaintyInMeters {text!r}"
        return Problem(what, row.where, "metres, at least 0")
    return value


def _understood(table: Table, reports: Sequence[Report], twice: int) -> tuple[str, ...]:
    known = sum(report.taxon_id is not None for report in reports)
    absent = sum(not report.present for report in reports)
    lines = [
        f"{counted(len(table.rows), 'row')}, {counted(len(reports), 'report')}: {known} of known taxa, "
        f"{absent} of absence"
    ]
    if twice:
        lines.append(f"{counted(twice, 'row')} told before: counted once")
    return tuple(lines)
