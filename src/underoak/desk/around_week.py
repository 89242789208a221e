"""What the week page shows around the chances: the weather's days, others' reports, and the seasons."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from underoak.desk.place_weather import place_climates, weather_at_home
from underoak.desk.weather_note import StationShare, named, shares
from underoak.ledger.database import open_ledger
from underoak.ledger.places import places
from underoak.ledger.reports import reports

if TYPE_CHECKING:
    from underoak.ledger.connection import Ledger
    from underoak.model.visits import Report
    from underoak.model.weather import WeatherSeries
    from underoak.settings import Home

#: Days of weather behind and ahead of today, and days of others' reports.
DAYS_BACK, DAYS_AHEAD = 20, 9
REPORT_DAYS = 21
MOST_REPORTS = 12
METRES_PER_MILE = 1609.344


@dataclass(frozen=True, slots=True)
class WeatherDay:
    """One day of the strip; None is a gap."""

    day: date
    rain_mm: float | None
    tmin_c: float | None
    tmax_c: float | None
    forecast: bool


@dataclass(frozen=True, slots=True)
class Reported:
    """What somebody else saw: the kind, and how far from home and in which direction ("" where not told)."""

    day: date
    taxon_id: str | None
    scientific_name: str
    present: bool
    where: str


@dataclass(frozen=True, slots=True)
class SeasonSpan:
    """When a gathered kind usually stands here: middle and usual width of its season, in days."""

    taxon_id: str
    scientific_name: str
    common_name: str
    centre: date
    sd_days: float


@dataclass(frozen=True, slots=True)
class AroundWeek:
    """The strip of weather, what others saw of late, and the seasons by their middle.

    ``stations`` are those that the strip is blended from.
    """

    weather: tuple[WeatherDay, ...]
    stations: tuple[StationShare, ...]
    reports: tuple[Reported, ...]
    seasons: tuple[SeasonSpan, ...]

    @property
    def weather_of(self) -> str:
        """The station of the strip by name, or all of them with distance and weight."""
        return named(self.stations)


def around_week(home: Home, *, today: date) -> AroundWeek:
    """Everything around the chances as it stands on ``today``; nothing is stored."""
    connection = open_ledger(home.ledger)
    try:
        recent = reports(connection, today - timedelta(days=REPORT_DAYS), today)
        blend = weather_at_home(connection, home.settings.where)
        return AroundWeek(
            weather=_weather(blend.series, today) if blend else (),
            stations=shares(blend) if blend else (),
            reports=tuple(_reported(one, home) for one in recent[::-1][:MOST_REPORTS]),
            seasons=_seasons(connection, home, today),
        )
    finally:
        connection.close()


def _reported(report: Report, home: Home) -> Reported:
    from underoak.walk.turns import compass_point
    from underoak.woods.geodesy import bearing_deg, distance_m

    where, here = "", home.settings.where
    if report.longitude_deg is not None and report.latitude_deg is not None:
        ends = here.longitude_deg, here.latitude_deg, report.longitude_deg, report.latitude_deg
        metres = float(distance_m(*ends))
        direction = compass_point(float(bearing_deg(*ends)))
        miles = home.settings.units == "us"
        far = f"{metres / METRES_PER_MILE:.0f} miles" if miles else f"{metres / 1000.0:.0f} km"
        where = f"{far} {direction} of home" if metres > 1000.0 else "near home"
    return Reported(report.day, report.taxon_id, report.scientific_name, report.present, where)


def _weather(series: WeatherSeries, today: date) -> tuple[WeatherDay, ...]:
    days = []
    for step in range(-DAYS_BACK, DAYS_AHEAD + 1):
        day = today + timedelta(days=step)
        position = (day - series.first_day).days
        if 0 <= position < series.days:
            rain, low, high = (
                _known(series.values[name][position]) if name in series.values else None
                for name in ("rain_mm", "tmin_c", "tmax_c")
            )
            days.append(WeatherDay(day, rain, low, high, bool(series.forecast[position])))
    return tuple(days)


def _known(value: float) -> float | None:
    return None if value != value else float(value)  # noqa: PLR0124 - NaN is a gap


def _seasons(connection: Ledger, home: Home, today: date) -> tuple[SeasonSpan, ...]:
    from underoak.book.load import load_book
    from underoak.outlook.season import day_of_season, season_of
    from underoak.outlook.season_prior import record_centre, usual_frost

    where = home.settings.where
    known = places(connection)[:1]
    climates, _ = place_climates(connection, where, known, today=today)
    season = season_of(today)
    frost = next(
        (climate.of(season).frost for climate in climates.values()),
        usual_frost(where.latitude_deg, where.elevation_m),
    )
    spans = []
    for taxon in load_book().taxa.values():
        if taxon.gathered and taxon.season:
            centre = record_centre(
                taxon.season, latitude_deg=where.latitude_deg, elevation_m=where.elevation_m, frost=frost
            )
            name = taxon.common_names[0] if taxon.common_names else taxon.scientific_name
            day = day_of_season(season, centre)
            spans.append(SeasonSpan(taxon.id, taxon.scientific_name, name, day, taxon.season.sd_days))
    return tuple(sorted(spans, key=lambda span: span.centre))
