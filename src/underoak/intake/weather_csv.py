"""Plain daily tables: one row a day, columns known by their header or by a map."""

from __future__ import annotations

import numpy as np

from underoak.errors import BadData
from underoak.intake.reading import Reading
from underoak.intake.weather_checks import DayTable, checked_series
from underoak.intake.weather_table import EXPECTED, TableOptions, read_table
from underoak.model.problem import Problem
from underoak.model.weather import DAILY_QUANTITIES, WeatherSeries


def read_daily_csv(text: str, *, file: str, options: TableOptions) -> Reading[tuple[WeatherSeries, ...]]:
    """Daily series of a table, with every fault of it.

    Parameters
    ----------
    text     the whole file
    file     its name, for messages
    options  what the header does not say, see `TableOptions`

    Raises BadData where no day column, no weather column or no row is found, or where days could be
    read day first as well as month first.
    """
    table = read_table(text, file=file, options=options)
    values = {name: v for name, v in table.values.items() if name in DAILY_QUANTITIES}
    if not values:
        raise BadData([Problem("no column holds daily weather", f"{file}, line 1", EXPECTED)])
    series, problems = checked_series(
        DayTable(file, table.lines, table.days, table.station, table.stations, values, table.assumed)
    )
    return Reading(series, (*table.problems, *problems), (table.understood(), *spans(series)))


def spans(series: tuple[WeatherSeries, ...], most: int = 20) -> list[str]:
    """What was understood, one line a station: days, first, last and gaps."""
    lines = [_span(one) for one in series[:most]]
    return lines if len(series) <= most else [*lines, f"… and {len(series) - most} more stations"]


def _span(series: WeatherSeries) -> str:
    missing = {name: int(np.isnan(v).sum()) for name, v in series.values.items()}
    gaps = ", ".join(f"{count} gaps in {name}" for name, count in missing.items() if count)
    text = f"{series.station.name}: {series.days} days from {series.first_day} to {series.last_day}"
    return f"{text}; {gaps}" if gaps else text
