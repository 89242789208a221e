"""The review as a PDF in the home's sheets, with its pictures."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from underoak.desk.review_season import Review
from underoak.desk.review_tables import review_tables
from underoak.review.findings import Findings, Names
from underoak.review.intervals import share_of
from underoak.review.tree_memory import TreeMemory
from underoak.sheets.review_pictures import (
    Bar,
    Forecasts,
    TreeRow,
    rate_bars,
    reliability_dots,
    side_rose,
    tree_years,
)
from underoak.sheets.review_sheet import Picture, review_pdf

#: Trees drawn at most.
MOST_TREES = 15
#: Seasons drawn at most, the last ones: more do not stay legible on paper.
MOST_SEASONS = 12


def write_review(review: Review, path: Path, *, paper: str = "us-letter") -> Path:
    """Write the review's PDF and hand back its path."""
    page = review.next_year
    pdf = review_pdf(
        title=f"What season {review.year} taught",
        opening=f"From {review.visits} visits of the season and all seasons before it, by the ledger alone. "
        "Every figure has its uncertainty and the number of records behind it.",
        advice=[(line.words, line.evidence, line.records) for line in page.advice],
        unknown=page.unknown,
        tables=review_tables(review),
        pictures=review_pictures(review),
        paper=paper,
    )
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(pdf)
    return path


def review_pictures(review: Review) -> tuple[Picture, ...]:
    """The pictures that the records carry: rates by place, trees over the years, sides of the trunk."""
    found, names = review.findings, review.names
    return (
        *_rate_picture(found, names),
        *_tree_picture(found, names),
        *_side_pictures(found, names),
        *_forecast_picture(review),
    )


def _rate_picture(found: Findings, names: Names) -> Iterator[Picture]:
    before = {rate.key: rate.kg_per_hour for rate in found.before.by_place}
    bars = []
    for rate in found.rates.by_place:
        if rate.kg_per_hour is not None:
            now, then = rate.kg_per_hour, before.get(rate.key)
            bars.append(Bar(names(rate.key), now.value, now.low, now.high, then.value if then else None))
    if bars:
        title = f"Kilograms an hour by place, {found.season}"
        yield Picture(
            "Where intervals overlap widely no difference is shown.", rate_bars(title, "kg/h", bars)
        )


def _tree_picture(found: Findings, names: Names) -> Iterator[Picture]:
    memories = [memory for memory in found.trees if memory.fruited][:MOST_TREES]
    if memories:
        seasons = sorted({year for memory in memories for year in memory.looked})[-MOST_SEASONS:]
        rows = [
            TreeRow(_tree_name(memory, names), frozenset(memory.looked), frozenset(memory.fruited))
            for memory in memories
        ]
        yield Picture("The trees that gave most.", tree_years("Trees over the seasons", seasons, rows))


def _tree_name(memory: TreeMemory, names: Names) -> str:
    return f"{names(memory.spot_id).split(' (')[0]}, {names(memory.taxon_id)}"


def _side_pictures(found: Findings, names: Names) -> Iterator[Picture]:
    for row in found.sides:
        if row.side.enough:
            title = f"Side of the trunk: {names(row.taxon_id)}"
            words = "North up. A petal's area is its number of finds; the thick line is their mean direction."
            yield Picture(words, side_rose(title, row.bearings_deg, row.side.mean_deg, row.side.resultant))


def _forecast_picture(review: Review) -> Iterator[Picture]:
    """The judged forecasts of left-out seasons, else the stored ones if they are enough."""
    words = "Forecasts of looks that were made on the day they were made for."
    title = "How good the stored forecasts were"
    bins: tuple[tuple[int, float, float], ...] = ()
    if review.findings.forecasts.enough:
        bins = tuple((b.forecasts, b.mean_chance, b.share_true) for b in review.findings.forecasts.bins)
    if review.judgement is not None:
        words = "Each season was forecast by an outlook that did not know it."
        title = "How good the outlook is in seasons left out"
        judged = review.judgement[1]["bins"]
        bins = tuple((b["forecasts"], b["mean_chance"], b["share_true"]) for b in judged)
    if bins:
        yield Picture(words, reliability_dots(title, [_group(*one) for one in bins]))


def _group(count: int, chance: float, true: float) -> Forecasts:
    share = share_of(round(true * count), count)
    return Forecasts(count, chance, true, share.low or 0.0, share.high or 0.0)
