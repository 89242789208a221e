"""The review as tables for screen, page and paper: every figure with its interval and its records."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from underoak.desk.review_rates import rates_table
from underoak.desk.review_season import Review
from underoak.desk.review_timing import frost_table, region_table, weather_table
from underoak.model.quantities import percent
from underoak.outlook.scores import ReliabilityBin
from underoak.outlook.season import day_of_season
from underoak.review.findings import Findings, Names
from underoak.review.in_words import counted, percents, small, span
from underoak.review.intervals import share_of
from underoak.review.noted import compass_point
from underoak.review.side_of_tree import SideOfTree
from underoak.review.tree_memory import TreeMemory
from underoak.sheets.review_sheet import Table

#: Trees shown at most: those that gave most.
MOST_TREES = 20


def review_tables(review: Review) -> tuple[Table, ...]:
    """All tables of a review, in the order in which a person asks; empty ones say why they are empty."""
    found, names = review.findings, review.names
    return (
        rates_table(found, names),
        _promises(found, names),
        region_table(found, names),
        frost_table(found, names),
        weather_table(found, names),
        _trees(found, names),
        _sides(found, names),
        _colours(found, names),
        _forecasts(found, review.record),
        *_judged(review),
        _checks(found, names),
        _fates(found),
        _yields(found, names, review.notes),
    )


def _promises(found: Findings, names: Names) -> Table:
    rows: list[tuple[str, ...]] = []
    notes = []
    for word, promised in (("walk plan", found.walks), ("outlook, all known spots", found.weeks)):
        rows += [
            (
                f"{k.promise.day} {names(k.promise.place_id)}",
                word,
                f"{k.promise.kg:.1f}",
                f"{k.brought_kg:.1f}",
            )
            for k in promised.kept[-8:]
        ]
        share = promised.brought_share
        told = "nothing to compare"
        if share is not None:
            told = f"{share.value:.2f} ({span(share, 2, least=0.0)}) over {counted(share.n, 'day')}"
        notes.append(f"{word}: brought over expected {told}; {promised.unvisited} without a visit.")
    return Table("Against the plan", ("day and place", "answer", "expected kg", "brought kg, prime"),
                 tuple(rows), tuple(notes))  # fmt: skip


def _trees(found: Findings, names: Names) -> Table:
    shown = [memory for memory in found.trees if memory.fruited][:MOST_TREES]
    return Table(
        "Memory of trees",
        ("tree", "kind", "seasons", "chance (95 %)", "book", "kg", "first to last", "side"),
        tuple(_tree_row(memory, names) for memory in shown),
        ("Seasons fruited of seasons looked at while the kind could stand. Chance: the book's value counted "
         "as 4 seasons, moved by these.",),
    )  # fmt: skip


def _tree_row(memory: TreeMemory, names: Names) -> tuple[str, ...]:
    days = ""
    if memory.first and memory.last:
        days = f"{_short_day(memory.first)} to {_short_day(memory.last)}"
    side = f"{compass_point(memory.side.mean_deg)} ({memory.side.n})" if memory.side else ""
    return (
        names(memory.spot_id), names(memory.taxon_id), f"{len(memory.fruited)} of {len(memory.looked)}",
        f"{percent(memory.returns.value)} ({percents(memory.returns)})",
        percent(memory.book_returns) if memory.book_returns is not None else "",
        f"{memory.kg:.1f}", days, side,
    )  # fmt: skip


def _short_day(month_day: tuple[int, int]) -> str:
    return f"{day_of_season(2001, 0).replace(month=month_day[0], day=month_day[1]):%d %b}".lstrip("0")


def _sides(found: Findings, names: Names) -> Table:
    rows = []
    for row in found.sides:
        side = row.side
        v = "" if side.v_p is None else small(side.v_p) if side.enough else "too few"
        rows.append((
            names(row.taxon_id), str(side.n), _direction(side),
            f"{side.resultant:.2f}", small(side.rayleigh_p) if side.enough else "too few", v,
        ))  # fmt: skip
    toward = next((row.side.toward_deg for row in found.sides if row.side.toward_deg is not None), None)
    stated = "V p" if toward is None else f"V p, towards {compass_point(toward)}"
    return Table(
        "Side of the trunk",
        ("", "sides noted", "mean (95 %)", "length", "Rayleigh p", stated),
        tuple(rows),
        ("One side for each spot and season. Write 'side: NE' into the note of a find. A side may be stated "
         "with --toward, before looking at the finds: stated afterwards, its p means nothing.",),
    )  # fmt: skip


def _direction(side: SideOfTree) -> str:
    """A mean direction with its interval, or why there is none."""
    mean = f"{side.mean_deg:.0f}° {compass_point(side.mean_deg)}"
    if side.within_deg is not None:
        return f"{mean} (± {side.within_deg:.0f}°)"
    return f"{mean} ({'all round' if side.enough else 'no interval yet'})"


def _colours(found: Findings, names: Names) -> Table:
    rows = []
    for test in found.colours:
        for shown in filter(None, (test.association, test.ordered)):
            least = "" if shown.could_show else "; no outcome of so few could show anything"
            rows.append((names(test.taxon_id), test.against, str(test.finds), shown.test,
                         f"{small(shown.p)}{least}"))  # fmt: skip
    few = [test for test in found.colours if test.association is None and test.ordered is None]
    notes = ["Colour from the note of a find or its vetting. A test shows company, never cause."]
    if few:
        pairs = "; ".join(f"{names(test.taxon_id)} and {test.against} ({test.finds})" for test in few)
        notes.append(f"Too few finds, or all alike: {pairs}.")
    return Table("Colour", ("", "against", "finds", "test", "p"), tuple(rows), tuple(notes))


def _forecasts(found: Findings, record: Sequence[str]) -> Table:
    got = found.forecasts
    rows = tuple(
        (f"{percent(b.low)} to {percent(b.high)}", str(b.forecasts), percent(b.mean_chance), _came_true(b))
        for b in got.bins
    )
    return Table(
        "How good the forecasts were",
        ("chance given", "looks", "mean chance", "came true (95 %)"),
        rows,
        (*_forecast_words(found), *record),
    )


def _came_true(group: ReliabilityBin) -> str:
    share = share_of(round(group.share_true * group.forecasts), group.forecasts)
    return f"{percent(share.value)} ({percents(share)})"


def _judged(review: Review) -> Iterator[Table]:
    if review.judgement is None:
        return
    day, judged = review.judgement
    yield Table(
        "The outlook judged by leaving out whole seasons",
        ("way to forecast", "nats a visit", "Brier", "kg/h of its first three spots"),
        tuple(
            (s["name"], f"{s['log_score']:.3f}", f"{s['brier']:.4f}", f"{s['kg_per_hour']:.2f}")
            for s in judged["scores"]
        ),
        (f"Judged on {day} over {counted(len(judged['seasons']), 'season')}, {judged['visits']} visits, "
         f"{judged['looks']} looks, {judged['finds']} prime finds. Nats: 0 is perfect.",),
    )  # fmt: skip


def _forecast_words(found: Findings) -> Iterator[str]:
    got = found.forecasts
    if got.expected is None or got.too_far_p is None or got.brier is None or got.brier_of_rate is None:
        yield "No look at a spot on a day for which an outlook named its chance."
        return
    yield (
        f"{got.seen} of {got.looks} looks showed a prime flush; {got.expected:.1f} were to be expected "
        f"(a count so far off comes with p {small(got.too_far_p)}). Brier score {got.brier:.3f}; always "
        f"giving the rate that came true would have had {got.brier_of_rate:.3f}."
    )
    if not got.enough:
        yield "So few looks say nothing of how good the outlook is."


def _checks(found: Findings, names: Names) -> Table:
    checks = found.checks
    return Table(
        "Checks that were skipped",
        ("not looked at", "open finds", "share (95 %)", "it alone"),
        tuple(
            (
                names(c.character),
                str(c.kept_open),
                f"{percent(c.share.value)} ({percents(c.share)})",
                str(c.alone),
            )
            for c in checks.checks[:10]
        ),
        (f"{checks.vetted} finds vetted, {checks.open} of them still open.",),
    )


def _fates(found: Findings) -> Table:
    return Table(
        f"What became of the finds of {found.season}",
        ("", "kg fresh", "share", "records", "noted"),
        tuple((f.fate, f"{f.kg:.2f}", percent(f.share), str(f.records), f.why or "") for f in found.fates),
        ("Weighed finds, young or prime. Records are finds; for jars, jars.",),
    )


def _yields(found: Findings, names: Names, notes: Sequence[str]) -> Table:
    return Table(
        "From fresh to jar, g from 1 kg fresh",
        ("", "way", "batches", "own", "book", "both together"),
        tuple(
            (names(y.taxon_id), names(y.method_id), str(y.batches), _range(y.own),
             _range(y.book) if y.book else "", _range(y.joined))
            for y in found.yields
        ),
        (*(() if found.yields else ("No weighed batch of a single kind is on record.",)), *notes),
    )  # fmt: skip


def _range(pair: tuple[float, float]) -> str:
    return f"{pair[0]:.0f} to {pair[1]:.0f}"
