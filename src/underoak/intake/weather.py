"""Weather files of every kind: finds out which one it is and reads it."""

from __future__ import annotations

import re
from pathlib import Path

from underoak.intake.reading import LONGEST_LINE, Reading, read_text
from underoak.intake.weather_archive import CSV_LINE, FIXED_LINE, read_by_station, read_fixed_width
from underoak.intake.weather_csv import read_daily_csv
from underoak.intake.weather_hourly import read_hourly_csv
from underoak.intake.weather_table import TableOptions
from underoak.model.weather import WeatherSeries

EXPECTED = (
    "weather as a daily or hourly table (CSV), the archive's .dly or by-station lines, or a forecast (JSON)"
)
_CLOCK = re.compile(r"\d{4}-?\d{2}-?\d{2}[T ]\d{1,2}(:?\d{2})")


def read_weather(path: Path, options: TableOptions | None = None) -> Reading[tuple[WeatherSeries, ...]]:
    """Daily series of a weather file, one a station, with every problem of the file.

    Parameters
    ----------
    path     the file; its kind is told by its content, not by its name
    options  what a table's header does not say; ``station`` also names the station of an archive
             file, which carries no position

    What was not understood is in ``problems``; the series hold only what passed. Nothing is stored.

    Raises BadData where the file is missing, empty, binary, has over-long lines or nothing of use.
    """
    told = options or TableOptions()
    text = read_text(path, expected=EXPECTED, long_lines=_is_json(path))
    head = text[:LONGEST_LINE].lstrip().splitlines()[0]
    if head.startswith(("{", "[")):
        from underoak.intake.weather_forecast import read_forecast

        return read_forecast(text, file=path.name)
    if FIXED_LINE.match(head):
        return read_fixed_width(text, file=path.name, station=told.station)
    if CSV_LINE.match(head) or head.upper().startswith("ID,YYYYMMDD,ELEMENT"):
        return read_by_station(text, file=path.name, station=told.station)
    if _is_hourly(text, head):
        return read_hourly_csv(text, file=path.name, options=told)
    return read_daily_csv(text, file=path.name, options=told)


def _is_json(path: Path) -> bool:
    """True for a file that opens like JSON, which may stand on one line."""
    try:
        with path.open("rb") as stream:
            return stream.read(64).lstrip(b"\xef\xbb\xbf \t\r\n")[:1] in (b"{", b"[")
    except OSError:
        return False


def _is_hourly(text: str, head: str) -> bool:
    """True where a header cell is an hour, or the first rows carry a clock time that changes."""
    cells = {re.sub(r"[^a-z]", "", cell.lower()) for cell in re.split(r"[,;\t]", head)}
    if cells & {"hour", "hr"}:
        return True
    clocks = [m[0] for line in text[:LONGEST_LINE].splitlines()[1:50] if (m := _CLOCK.search(line))]
    return len({clock[10:] for clock in clocks}) > 1
