"""Where weather stations stand: the archive's station list, a small table, or one line of text."""

from __future__ import annotations

import re
from pathlib import Path

from underoak.errors import BadData, UserMistake
from underoak.intake.reading import Reading, read_text
from underoak.intake.weather_rows import Rows
from underoak.intake.weather_table import station_id
from underoak.intake.weather_units import Column, understand_header
from underoak.model.problem import Problem
from underoak.model.weather import Station

EXPECTED = "the archive's station list, or a table with station, latitude, longitude and elevation"
#: Code, latitude, longitude, elevation, state, name in fixed columns.
LIST_LINE = re.compile(r"([A-Z0-9_-]{11}) ([ \d.-]{8}) ([ \d.-]{9}) ([ \d.-]{6}) (.{2}) (.{1,30})")
UNKNOWN_ELEVATION_M = -999.9
#: Line, code, name, and latitude, longitude and elevation as text.
Told = tuple[int, str, str, tuple[str, ...]]


def read_stations(path: Path) -> Reading[tuple[Station, ...]]:
    """Stations with their positions, and every line that could not be understood.

    The archive's list has fixed columns: code 1-11, latitude 13-20, longitude 22-30, elevation 32-37 in
    metres (-999.9 unknown), name 42-71. A table needs station, latitude and longitude; name and
    elevation are welcome.
    Source: NOAA GHCN-Daily readme, from memory.

    Raises BadData where the file is missing, empty, binary or neither of the two.
    """
    text = read_text(path, expected=EXPECTED)
    head = text[:4096].lstrip("\r\n").splitlines()[0]
    found = _listed(text) if LIST_LINE.match(head) else _tabled(text, path.name)
    stations, problems = [], []
    for line, code, name, numbers in found:
        station = _station(code, name, numbers)
        if isinstance(station, str):
            problems.append(
                Problem(
                    station, f"{path.name}, line {line}", "latitude -90 to 90, longitude -180 to 180, metres"
                )
            )
        else:
            stations.append(station)
    return Reading(tuple(stations), tuple(problems), (f"{len(stations)} stations with their positions",))


def station_from_text(text: str) -> Station:
    """A station told in one line: its name, or name, latitude, longitude and, if known, elevation in m.

    ``Oak Hill`` or ``Oak Hill, 41.5, -74.2, 300``. Raises UserMistake for anything else.
    """
    name, *numbers = (part.strip() for part in text.split(","))
    station = _station(name, name, tuple(numbers)) if name and len(numbers) in (0, 2, 3) else "no station"
    if isinstance(station, str):
        raise UserMistake(
            f"{text!r} tells no station: {station}",
            expected="'Name' or 'Name, latitude, longitude, elevation in m'",
            remedy="such as 'Oak Hill, 41.5, -74.2, 300'",
        )
    return station


def _listed(text: str) -> list[Told]:
    found: list[Told] = []
    for number, line in enumerate(text.splitlines(), 1):
        if not line.strip():
            continue
        match = LIST_LINE.match(line)
        if match is None:
            found.append((number, line[:11], "", ("?",)))
            continue
        code, latitude, longitude, elevation, _, name = match.groups()
        metres = "" if elevation.strip() == str(UNKNOWN_ELEVATION_M) else elevation
        found.append((number, code, name.strip(), (latitude, longitude, metres)))
    return found


def _tabled(text: str, file: str) -> list[Told]:
    rows = Rows(text)
    place: dict[str, Column] = {c.name: c for c in understand_header(rows.header, columns={})}
    missing = [name for name in ("station", "latitude", "longitude") if name not in place]
    if missing:
        raise BadData([Problem(f"no column holds the {missing[0]}", f"{file}, line 1", EXPECTED)])
    found: list[Told] = []
    for columns, lines in rows.chunks():
        for at, line in enumerate(lines.tolist()):
            cell = {name: columns[c.position][at].strip() for name, c in place.items()}
            numbers = (cell["latitude"], cell["longitude"], cell.get("elevation", ""))
            found.append((line, cell["station"], cell.get("name", ""), numbers))
    return found


def _station(code: str, name: str, numbers: tuple[str, ...]) -> Station | str:
    """The station, or what is wrong with it."""
    try:
        values = [float(n) if n.strip() else None for n in numbers]
    except ValueError:
        return f"the position of {code} is no number"
    latitude, longitude, elevation = (values + [None] * 3)[:3]
    if len(numbers) and (latitude is None or longitude is None):
        return f"{code} has no position"
    if latitude is not None and not -90.0 <= latitude <= 90.0:
        return f"the latitude of {code} is {latitude:g}: latitude and longitude may be swapped"
    if longitude is not None and not -180.0 <= longitude <= 180.0:
        return f"the longitude of {code} is {longitude:g}"
    if elevation is not None and not -450.0 <= elevation <= 9000.0:
        return f"the elevation of {code} is {elevation:g} m"
    return Station(station_id(code), name or code, latitude, longitude, elevation)
