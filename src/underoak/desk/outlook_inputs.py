"""What week, why and walk put into the outlook, so that all of them say the same of a spot."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from underoak.desk.track_record import TrackRecord, track_record
from underoak.ledger.connection import Ledger

if TYPE_CHECKING:
    from underoak.book.load import Book
    from underoak.model.ground import Spot
    from underoak.model.visits import Report, Visit
    from underoak.outlook.drivers import Climate
    from underoak.outlook.forecast import Basis
    from underoak.outlook.learned import Learned


@dataclass(frozen=True, slots=True)
class OutlookInputs:
    """All known spots, visits and reports up to a day, what was learned by then, and its record."""

    spots: Sequence[Spot]
    visits: Sequence[Visit]
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
        return Basis(
            climates, self.visits, self.reports, self.learned, self.spots, middle(around or climates)
        )


def inputs_until(connection: Ledger, book: Book, day: date) -> OutlookInputs:
    """The inputs known by a day."""
    from underoak.ledger.places import spots
    from underoak.ledger.reports import reports
    from underoak.ledger.visits import visits

    learned, record = track_record(connection, book, today=day)
    return OutlookInputs(
        spots(connection), visits(connection, until=day), reports(connection, until=day), learned, record
    )
