"""What week, why and walk put into the outlook, so that all of them say the same of a spot."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from typing import TYPE_CHECKING

from underoak.desk.track_record import TrackRecord, track_record
from underoak.ledger.connection import Ledger

if TYPE_CHECKING:
    from underoak.book.load import Book
    from underoak.ledger.seasons import SeasonVisits
    from underoak.model.ground import Spot
    from underoak.model.visits import Report
    from underoak.outlook.drivers import Climate
    from underoak.outlook.forecast import Basis
    from underoak.outlook.learned import Learned
    from underoak.outlook.sightings import Sightings

#: Seasons whose visits are kept as columns while no row of them changes.
MOST_SEASONS = 96


@dataclass(frozen=True, slots=True)
class OutlookInputs:
    """All known spots, what was seen and reported up to a day, what was learned by then, and its record.

    ``days`` are those of all visits on file, also of those dated after the day, oldest first.
    """

    spots: Sequence[Spot]
    seen: Sightings
    days: Sequence[date]
    reports: Sequence[Report]
    learned: Mapping[str, Learned]
    record: TrackRecord

    def leans(self, taxon_id: str) -> bool:
        """Whether the chance of a taxon leans on weather terms: learned to be on, and the model is shown."""
        learned = self.learned.get(taxon_id)
        return learned is not None and bool(learned.terms) and not learned.climatology

    def basis(self, climates: Mapping[str, Climate]) -> Basis:
        """The basis of a forecast; reports are taken to come from the middle of the places with spots."""
        from underoak.outlook.forecast import Basis, middle

        known = {spot.place_id for spot in self.spots}
        around = {p: climates[p] for p in sorted(known) if p in climates}
        return Basis(climates, self.seen, self.reports, self.learned, self.spots, middle(around or climates))


def inputs_until(connection: Ledger, book: Book, day: date) -> OutlookInputs:
    """The inputs known by a day."""
    from underoak.ledger.places import spots
    from underoak.ledger.reports import reports
    from underoak.ledger.seasons import seasons
    from underoak.outlook.season import day_number, season_of
    from underoak.outlook.sightings import joined

    learned, record = track_record(connection, book, today=day)
    every = seasons(connection)
    return OutlookInputs(
        spots=spots(connection),
        seen=joined([_columns(season) for season in every]).until(season_of(day), day_number(day)),
        days=[visit.day for season in every for visit in season.visits],
        reports=reports(connection, until=day),
        learned=learned,
        record=record,
    )


@lru_cache(maxsize=MOST_SEASONS)
def _columns(season: SeasonVisits) -> Sightings:
    """The visits of a season as columns; the same object comes in while no row of it has changed."""
    from underoak.outlook.sightings import sightings_of

    return sightings_of(season.visits)
