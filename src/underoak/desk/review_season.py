"""What a season brought: rates by place and taxon, against the year before."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from underoak.book.load import load_book
from underoak.errors import NoAnswer
from underoak.ledger.database import open_ledger
from underoak.ledger.places import places
from underoak.ledger.visits import visits
from underoak.model.book import Taxon
from underoak.review.catch_rate import CatchRate, catch_rates
from underoak.settings import Home


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the review with the names a person knows."""

    place: str
    taxon: str
    rate: CatchRate
    last_year: CatchRate | None


@dataclass(frozen=True, slots=True)
class Review:
    """One season, 1 March to the end of February, in numbers. Every line says on how many visits it rests."""

    year: int
    lines: tuple[Line, ...]


def review_season(home: Home, year: int) -> Review:
    """The season that began in March of ``year``.

    Raises NoAnswer when no visit of that season is written down.
    """
    connection = open_ledger(home.ledger_path)
    try:
        this, before = (
            catch_rates(visits(connection, since=date(y, 3, 1), until=_last_day(y))) for y in (year, year - 1)
        )
        place_names = {place.id: place.name for place in places(connection)}
    finally:
        connection.close()
    if not this:
        raise NoAnswer(f"no visit is written down for {year}", remedy="load visits, or choose another --year")
    book = load_book()
    earlier = {(rate.key, rate.taxon_id): rate for rate in before}
    return Review(
        year,
        tuple(
            Line(
                place_names.get(rate.key, rate.key),
                _taxon_name(book.taxa, rate.taxon_id),
                rate,
                earlier.get((rate.key, rate.taxon_id)),
            )
            for rate in this
        ),
    )


def _last_day(year: int) -> date:
    return date.fromordinal(date(year + 1, 3, 1).toordinal() - 1)


def _taxon_name(taxa: Mapping[str, Taxon], taxon_id: str | None) -> str:
    if taxon_id is None:
        return "in all"
    return taxa[taxon_id].scientific_name if taxon_id in taxa else taxon_id
