"""The household's seasons as the outlook needs them: places, spots, visits, reports and weather together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from underoak.desk.place_weather import nearest_series, place_climates
from underoak.desk.weather_note import WeatherNote
from underoak.errors import NoAnswer
from underoak.ledger.connection import Ledger

if TYPE_CHECKING:
    from underoak.book.load import Book
    from underoak.model.book import Taxon
    from underoak.model.ground import Place, Spot
    from underoak.model.household import Whereabouts
    from underoak.model.visits import Report, Visit
    from underoak.outlook.drivers import Climate
    from underoak.outlook.leave_out import TaxonCase


@dataclass(frozen=True, slots=True)
class SeasonRecord:
    """All that the ledger knows for learning and judging, up to a day."""

    today: date
    places: tuple[Place, ...]
    spots: tuple[Spot, ...]
    visits: tuple[Visit, ...]
    reports: tuple[Report, ...]
    climates: Mapping[str, Climate]
    weather: WeatherNote
    rained: Mapping[tuple[int, int], bool]

    def cases(self, taxa: Sequence[Taxon]) -> list[TaxonCase]:
        """One case for each taxon that has a season, a memory and at least one look."""
        from underoak.outlook.forecast import middle
        from underoak.outlook.knowledge import knowledge_of
        from underoak.outlook.leave_out import TaxonCase
        from underoak.outlook.reports import report_days
        from underoak.outlook.sightings import sightings_of
        from underoak.outlook.taxon_outlook import spot_columns

        columns, seen = spot_columns(self.spots), sightings_of(self.visits)
        around = {p: self.climates[p] for p in sorted({spot.place_id for spot in self.spots})}
        region = middle(around) or next(iter(around.values()))
        cases = []
        for taxon in taxa:
            if not (taxon.season and taxon.memory):
                continue
            reports = report_days(
                taxon.id,
                taxon.season,
                self.reports,
                latitude_deg=region.latitude_deg,
                elevation_m=region.elevation_m,
                frost=region.usual.frost,
                until=self.today,
            )
            looks = seen.looks_for(taxon.id, columns.position)
            cases.append(TaxonCase(knowledge_of(taxon), columns, self.climates, looks, reports))
        return [case for case in cases if len(case.looks.day)]


def season_record(
    connection: Ledger, where: Whereabouts, *, today: date, seasons_before: int | None = None
) -> SeasonRecord:
    """Everything up to ``today``, or up to the end of the season before ``seasons_before``.

    Raises
    ------
    NoAnswer   when there is no visit to a known spot in that time
    """
    from underoak.ledger import places as ledger_places
    from underoak.ledger.reports import reports
    from underoak.ledger.visits import visits
    from underoak.outlook.season import season_of

    until = today if seasons_before is None else date(seasons_before, 3, 1) - timedelta(days=1)
    spots = tuple(ledger_places.spots(connection))
    seen = tuple(
        visit for visit in visits(connection, until=min(until, today)) if visit.searches or visit.finds
    )
    if not spots or not seen:
        raise NoAnswer(
            f"no visit to a known spot is written down up to {until}, so there is nothing to learn from",
            remedy="write visits down with 'underoak visit', those that found nothing too",
        )
    known = tuple(ledger_places.places(connection))
    climates, weather = place_climates(connection, where, known, today=today)
    return SeasonRecord(
        today=today,
        places=known,
        spots=spots,
        visits=seen,
        reports=tuple(r for r in reports(connection, until=until) if season_of(r.day) <= season_of(until)),
        climates=climates,
        weather=weather,
        rained=_rained(connection, where, today),
    )


def gathered_taxa(book: Book) -> list[Taxon]:
    """Taxa of the book that are gathered and have a season and a memory."""
    return [t for t in book.taxa.values() if t.gathered and t.season and t.memory]


def _rained(connection: Ledger, where: Whereabouts, today: date) -> dict[tuple[int, int], bool]:
    """Season and day number -> whether 25 mm fell 7 to 21 days before; empty without a usable station."""
    from underoak.outlook.baselines import rule_rain
    from underoak.outlook.season import day_number, season_of

    series = nearest_series(connection, where, today=today)
    if series is None:
        return {}
    wet = rule_rain(series.values["rain_mm"])
    days = [series.first_day + timedelta(days=n) for n in range(series.days)]
    return {(season_of(day), day_number(day)): bool(w) for day, w in zip(days, wet, strict=True)}
