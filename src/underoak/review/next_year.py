"""What to do differently next year: only what the records carry, each line with its evidence."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from underoak.model.quantities import percent
from underoak.review.association import holm
from underoak.review.findings import Findings, Names
from underoak.review.in_words import of_all, percents, small, span
from underoak.review.intervals import share_of
from underoak.review.kitchen_losses import NOT_PUT_UP, NOT_VETTED, OPEN, REFUSED, THROWN
from underoak.review.not_yet_known import FEWEST_PLANS, not_yet_known
from underoak.review.noted import compass_point
from underoak.review.tree_memory import TreeMemory, next_looks

#: Trees named at most, and seasons looked at without a find before a spot is called empty.
MOST_TREES, EMPTY_SEASONS = 6, 3
#: Share of the picked kilograms and number of finds from which a loss is worth a line.
LOSS_SHARE, LOSS_FINDS = 0.1, 2
#: Open finds that one check kept open, from which it is named.
OPEN_FINDS = 2


@dataclass(frozen=True, slots=True)
class Advice:
    """One thing to do differently, what it stands on, and on how many records."""

    words: str
    evidence: str
    records: int


@dataclass(frozen=True, slots=True)
class NextYear:
    """The page: what the records carry, and what they do not carry yet."""

    season: int
    advice: tuple[Advice, ...]
    unknown: tuple[str, ...]


def next_year(found: Findings, names: Names) -> NextYear:
    """Everything worth changing in the season after ``found.season``.

    Method
    ------
    A line needs an interval or a test that shows it at the 5 % level, corrected for all tests of its kind
    (Holm), or a plain count of records that everybody can check. What was tried and not shown, and what is
    still too little, is said in ``unknown``.
    """
    rules = (_places, _trees, _empty_spots, _timing, _weather, _sides, _colours,
             _forecasts, _plans, _checks, _losses, _yields)  # fmt: skip
    advice = tuple(line for rule in rules for line in rule(found, names))
    return NextYear(found.season + 1, advice, not_yet_known(found))


def _places(found: Findings, names: Names) -> Iterator[Advice]:
    for row in found.places:
        more = row.more_kg_per_hour
        if row.adjusted_p <= 0.05:
            word = "more" if more.value > 0 else "less"
            yield Advice(
                f"Give {'more' if more.value > 0 else 'fewer'} hours to {names(row.place_id)}.",
                f"{abs(more.value):.2f} kg an hour {word} than all other places together "
                f"(difference {span(more, 2)}), over all seasons",
                more.n,
            )


def _trees(found: Findings, names: Names) -> Iterator[Advice]:
    proven = [m for m in found.trees if len(m.fruited) >= 2 and m.returns.value >= 0.5]
    proven.sort(key=lambda m: (-m.returns.value, -m.kg))
    for memory in proven[:MOST_TREES]:
        days = next_looks(memory, found.season + 1)
        when = f" between {_day(days[0])} and {_day(days[1])}" if days else ""
        yield Advice(
            f"Look at {names(memory.spot_id)} for {names(memory.taxon_id)}{when}.",
            f"fruited in {len(memory.fruited)} of {len(memory.looked)} seasons looked at, "
            f"{memory.kg:.1f} kg; chance {percent(memory.returns.value)} ({percents(memory.returns)}), "
            "with the book's value counted as 4 seasons",
            len(memory.looked),
        )


def _empty_spots(found: Findings, names: Names) -> Iterator[Advice]:
    empty = empty_spots(found.trees)
    if not empty:
        return
    named = sorted(empty, key=lambda spot_id: (-empty[spot_id], names(spot_id)))
    more = f" and {len(named) - MOST_TREES} more" if len(named) > MOST_TREES else ""
    fewest = min(empty.values())
    yield Advice(
        f"Pass by, or look for something else at: {', '.join(map(names, named[:MOST_TREES]))}{more}.",
        f"nothing in any of {fewest} to {max(empty.values())} seasons looked at; a look can miss what "
        f"stands, and after {fewest} seasons the yearly chance may still be "
        f"{percent(share_of(0, fewest).high or 1.0)}",
        sum(empty.values()),
    )


def _day(day: date) -> str:
    return f"{day.day} {day:%b}"


def empty_spots(trees: Sequence[TreeMemory]) -> dict[str, int]:
    """Spots where nothing was ever found -> seasons looked at, from `EMPTY_SEASONS` on."""
    looked: dict[str, set[int]] = {}
    bearing = {memory.spot_id for memory in trees if memory.fruited}
    for memory in trees:
        looked.setdefault(memory.spot_id, set()).update(memory.looked)
    return {s: len(y) for s, y in looked.items() if s not in bearing and len(y) >= EMPTY_SEASONS}


def _timing(found: Findings, names: Names) -> Iterator[Advice]:
    for row in found.lateness:
        if row.shown and row.days_late:
            word = "later" if row.days_late.value > 0 else "earlier"
            yield Advice(
                f"Count on {names(row.taxon_id)}{_at(row.place_id, names)} "
                f"{abs(row.days_late.value):.0f} days {word} than reported.",
                f"own finds against reports of the same season: {span(row.days_late)} days over "
                f"{len(row.seasons)} seasons; who goes late looks late",
                sum(season.own_finds for season in row.seasons),
            )
    for frost in found.frost:
        if frost.shown:
            word = "before" if frost.days_after.value < 0 else "after"
            yield Advice(
                f"Begin to look for {names(frost.taxon_id)} {abs(frost.days_after.value):.0f} days {word} "
                "the usual first frost.",
                f"middle of the spots' first days, {span(frost.days_after)} days from it",
                len(frost.seasons),
            )


def _at(place_id: str | None, names: Names) -> str:
    return f" at {names(place_id)}" if place_id else ""


def _weather(found: Findings, names: Names) -> Iterator[Advice]:
    for row in found.weather:
        if row.shown and row.association:
            word = "earlier" if row.association.statistic < 0 else "later"
            yield Advice(
                f"Expect {names(row.taxon_id)} {word} after more of: {row.driver}.",
                f"in order by {row.association.statistic:+.2f} on a scale from -1 to +1 (Kendall's tau), "
                f"{of_all(row.adjusted_p)}",
                row.seasons,
            )


def _within(half: float | None) -> str:
    return "" if half is None else f" ± {half:.0f}°"


def _sides(found: Findings, names: Names) -> Iterator[Advice]:
    enough = [row for row in found.sides if row.side.enough]
    for row, p in zip(enough, holm([r.side.rayleigh_p for r in enough]), strict=True):
        if p <= 0.05:
            yield Advice(
                f"Look at the {compass_point(row.side.mean_deg)} side first for {names(row.taxon_id)}.",
                f"mean direction {row.side.mean_deg:.0f}°{_within(row.side.within_deg)}, "
                f"resultant {row.side.resultant:.2f}, {of_all(p)} by Rayleigh's test; "
                "which side people look at counts too",
                row.side.n,
            )


def _colours(found: Findings, names: Names) -> Iterator[Advice]:
    tests = [(test, test.ordered or test.association) for test in found.colours]
    tried = [(test.taxon_id, test.against, shown) for test, shown in tests if shown is not None]
    for (taxon_id, against, test), p in zip(tried, holm([t.p for _, _, t in tried]), strict=True):
        if p <= 0.05:
            yield Advice(
                f"The colour of {names(taxon_id)} goes with {against}: do not take it for a mark of its own.",
                f"{test.test} test, {of_all(p)}; it shows company, not cause",
                test.n,
            )


def _forecasts(found: Findings, _: Names) -> Iterator[Advice]:
    got = found.forecasts
    if got.enough and got.too_far_p is not None and got.too_far_p <= 0.05 and got.expected is not None:
        word = "lower" if got.seen < got.expected else "higher"
        yield Advice(
            f"Take the outlook's chances for {word} than they say.",
            f"{got.seen} looks showed a prime flush where {got.expected:.1f} were to be expected "
            f"(p {small(got.too_far_p)})",
            got.looks,
        )


def _plans(found: Findings, _: Names) -> Iterator[Advice]:
    share = found.walks.brought_share
    if share is not None and share.n >= FEWEST_PLANS and share.excludes(1.0):
        yield Advice(
            f"Multiply the kilograms of a walk plan by {share.value:.1f}.",
            f"walks brought that share of what their plans expected ({span(share, least=0.0)})",
            share.n,
        )


def _checks(found: Findings, names: Names) -> Iterator[Advice]:
    for check in found.checks.checks[:3]:
        if check.kept_open >= OPEN_FINDS:
            yield Advice(
                f"Look at this on every find: {names(check.character)}",
                f"not looked at on {check.kept_open} of the {found.checks.open} finds that stayed open",
                check.kept_open,
            )


_REMEDY = {
    REFUSED: "Look closer before picking: {kg:.1f} kg were picked and refused.",
    OPEN: "Finish the checks the same evening: {kg:.1f} kg stayed open and were set aside.",
    NOT_VETTED: "Vet every find, or leave it: for {kg:.1f} kg in good condition no verdict is on record.",
    NOT_PUT_UP: "Pick no more than the evening takes: {kg:.1f} kg came through vetting into no batch.",
    THROWN: "Put up less, or eat it sooner: {kg:.1f} kg fresh went into jars that were thrown away.",
}


def _losses(found: Findings, _: Names) -> Iterator[Advice]:
    for fate in found.fates:
        if fate.fate in _REMEDY and fate.share >= LOSS_SHARE and fate.records >= LOSS_FINDS:
            why = f"; noted: {fate.why}" if fate.why else ""
            yield Advice(
                _REMEDY[fate.fate].format(kg=fate.kg),
                f"{percent(fate.share)} of all kilograms{why}",
                fate.records,
            )


def _yields(found: Findings, names: Names) -> Iterator[Advice]:
    for row in found.yields:
        if row.book and row.batches >= 3 and (row.own[0] > row.book[1] or row.own[1] < row.book[0]):
            yield Advice(
                f"Plan {names(row.method_id)} of {names(row.taxon_id)} with {row.joined[0]:.0f} to "
                f"{row.joined[1]:.0f} g a kilogram fresh.",
                f"own batches gave {row.own[0]:.0f} to {row.own[1]:.0f} g; the book says "
                f"{row.book[0]:.0f} to {row.book[1]:.0f} g",
                row.batches,
            )
