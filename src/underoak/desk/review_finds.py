"""What was noted of finds beside their weight: colour, shade, age and side of the trunk."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from underoak.book.load import Book
from underoak.desk.last_verdicts import LastVerdict
from underoak.kitchen.yields import CLEANED_SHARE, amounts
from underoak.model.method import Method
from underoak.model.visits import Find, Visit
from underoak.model.weather import WeatherSeries
from underoak.outlook.season import season_of
from underoak.review.by_season import parts
from underoak.review.colour import ColouredFind
from underoak.review.findings import TaxonSide
from underoak.review.noted import Noted, noted
from underoak.review.side_of_tree import side_of_tree
from underoak.review.weather_answer import rain_before_mm


@dataclass(frozen=True, slots=True)
class _Noted:
    """What the finds of some visits say of themselves.

    ``told`` are the facts by find id, where a note marks any; ``all`` every find with its number and day, by
    find id; ``sides`` the first side by taxon, spot and season; ``unread`` what makes no sense.
    """

    told: Mapping[str, Noted]
    all: Mapping[str, tuple[int, date, Find]]
    sides: Mapping[tuple[str, str, int], float]
    unread: tuple[str, ...]


def _noted(visits: Sequence[Visit]) -> _Noted:
    finds = [(visit.day, find) for visit in visits for find in visit.finds]
    every = {find.id: (number, day, find) for number, (day, find) in enumerate(finds)}
    told = {find.id: noted(find.note) for _, find in finds if find.note}
    told = {key: facts for key, facts in told.items() if facts != Noted()}
    sides: dict[tuple[str, str, int], float] = {}
    for key, facts in told.items():
        _, day, find = every[key]
        if facts.side_deg is not None:
            sides.setdefault((find.taxon_id, find.spot_id, season_of(day)), facts.side_deg)
    return _Noted(told, every, sides, tuple(words for facts in told.values() for words in facts.unread))


def coloured_finds(
    visits: Sequence[Visit], verdicts: Mapping[str, LastVerdict], series: WeatherSeries | None
) -> list[ColouredFind]:
    """Finds whose colour is on record: in the note, else the cap's colour of the vetting if it was one.

    Shade comes from the note, age from the note or else the first body vetted, rain from the ten days
    before; a note always goes before a vetting, for it was made at the tree.
    """
    found = []
    for part in parts(visits, _noted):
        known = part.told.keys() | (part.all.keys() & verdicts.keys())
        for key in sorted(known, key=lambda key: part.all[key][0]):
            _, day, find = part.all[key]
            told, vetted = part.told.get(key, Noted()), verdicts.get(key)
            colour = told.colour or (vetted.colour if vetted else None)
            if colour is not None:
                age = told.age or (vetted.age if vetted else None)
                rain_mm = rain_before_mm(series, day) if series else None
                found.append(ColouredFind(find.taxon_id, colour, told.shade, age, rain_mm))
    return found


def unread_notes(visits: Sequence[Visit]) -> list[str]:
    """Marked facts in notes of finds that make no sense, as one sentence or none."""
    words = [words for part in parts(visits, _noted) for words in part.unread]
    if not words:
        return []
    more = f" and {len(words) - 5} more" if len(words) > 5 else ""
    return [f"Not understood in notes of finds: {'; '.join(words[:5])}{more}."]


def sides(visits: Sequence[Visit], toward_deg: float | None = None) -> tuple[TaxonSide, ...]:
    """Sides of the trunk by taxon: the first noted one of each spot and season, for one clump comes again."""
    first = {key: side for part in parts(visits, _noted) for key, side in part.sides.items()}
    by_taxon: dict[str, list[float]] = {}
    for (taxon_id, _, _), side in sorted(first.items()):
        by_taxon.setdefault(taxon_id, []).append(side)
    return tuple(
        TaxonSide(taxon_id, tuple(own), side_of_tree(own, toward_deg)) for taxon_id, own in by_taxon.items()
    )


def book_yield(book: Book, method: Method, taxon_id: str) -> tuple[float, float]:
    """Grams of product from one kilogram of fresh mushrooms by the book, cleaning included."""
    taxon = book.taxa.get(taxon_id)
    share = taxon.kitchen.cleaned_share if taxon and taxon.kitchen else CLEANED_SHARE
    return amounts(method, 1000.0, taxon_id=taxon_id, cleaned_share=share).product_g
