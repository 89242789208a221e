"""What was noted of finds beside their weight: colour, shade, age and side of the trunk."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from underoak.book.load import Book
from underoak.desk.last_verdicts import LastVerdict
from underoak.kitchen.yields import CLEANED_SHARE, amounts
from underoak.model.method import Method
from underoak.model.visits import Find, Visit
from underoak.model.weather import WeatherSeries
from underoak.outlook.season import season_of
from underoak.review.colour import ColouredFind
from underoak.review.findings import TaxonSide
from underoak.review.noted import noted
from underoak.review.side_of_tree import side_of_tree
from underoak.review.weather_answer import rain_before_mm


def coloured_finds(
    visits: Iterable[Visit], verdicts: Mapping[str, LastVerdict], series: WeatherSeries | None
) -> list[ColouredFind]:
    """Finds whose colour is on record: in the note, else the cap's colour of the vetting if it was one.

    Shade comes from the note, age from the note or else the first body vetted, rain from the ten days
    before; a note always goes before a vetting, for it was made at the tree.
    """
    found = []
    for visit in visits:
        for find in visit.finds:
            told, vetted = noted(find.note), verdicts.get(find.id)
            colour = told.colour or (vetted.colour if vetted else None)
            if colour is not None:
                age = told.age or (vetted.age if vetted else None)
                rain_mm = rain_before_mm(series, visit.day) if series else None
                found.append(ColouredFind(find.taxon_id, colour, told.shade, age, rain_mm))
    return found


def unread_notes(visits: Iterable[Visit]) -> list[str]:
    """Marked facts in notes of finds that make no sense, as one sentence or none."""
    words = [w for visit in visits for find in visit.finds for w in noted(find.note).unread]
    if not words:
        return []
    more = f" and {len(words) - 5} more" if len(words) > 5 else ""
    return [f"Not understood in notes of finds: {'; '.join(words[:5])}{more}."]


def sides(visits: Sequence[Visit], toward_deg: float | None = None) -> tuple[TaxonSide, ...]:
    """Sides of the trunk by taxon: the first noted one of each spot and season, for one clump comes again."""
    first: dict[tuple[str, str, int], float] = {}
    for visit, find in _finds(visits):
        side = noted(find.note).side_deg
        if side is not None:
            first.setdefault((find.taxon_id, find.spot_id, season_of(visit.day)), side)
    by_taxon: dict[str, list[float]] = {}
    for (taxon_id, _, _), side in sorted(first.items()):
        by_taxon.setdefault(taxon_id, []).append(side)
    return tuple(
        TaxonSide(taxon_id, tuple(own), side_of_tree(own, toward_deg)) for taxon_id, own in by_taxon.items()
    )


def _finds(visits: Iterable[Visit]) -> list[tuple[Visit, Find]]:
    return [(visit, find) for visit in visits for find in visit.finds]


def book_yield(book: Book, method: Method, taxon_id: str) -> tuple[float, float]:
    """Grams of product from one kilogram of fresh mushrooms by the book, cleaning included."""
    taxon = book.taxa.get(taxon_id)
    share = taxon.kitchen.cleaned_share if taxon and taxon.kitchen else CLEANED_SHARE
    return amounts(method, 1000.0, taxon_id=taxon_id, cleaned_share=share).product_g
