"""The review as tables for screen, page and paper: every figure with its interval and its records."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from underoak.desk.review_rates import rates_table
from underoak.desk.review_season import Review
from underoak.outlook.season import day_of_season
from underoak.review.findings import Findings, Names
from underoak.review.in_words import counted, percents, signed, small, span
from underoak.review.noted import compass_point
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
        _region(found, names),
        _frost(found, names),
        _weather(found, names),
        _trees(found, names),
        _sides(found, names),
        _colours(found, names),
        _forecasts(found, review.record),
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
        told = (
            f"{share.value:.2f} ({span(share, 2)}) over {share.n} day(s)" if share else "nothing to compare"
        )
        notes.append(f"{word}: brought over expected {told}; {promised.unvisited} without a visit.")
    return Table("Against the plan", ("day and place", "answer", "expected kg", "brought kg, prime"),
                 tuple(rows), tuple(notes))  # fmt: skip


def _region(found: Findings, names: Names) -> Table:
    rows: list[tuple[str, ...]] = []
    for late in found.lateness:
        mean = late.days_late
        told = f"{signed(mean.value)} ({span(mean, 0)})" if mean else "one season"
        word = "shown" if late.shown else "not shown"
        rows.append((names(late.taxon_id), counted(len(late.seasons), "season"), "", told, word))
        rows += [
            (f"  {s.season}", counted(s.own_finds, "find"), counted(s.reports, "report"),
             f"{signed(s.days_late.value)} ({span(s.days_late, 0)})", "")
            for s in late.seasons
        ]  # fmt: skip
    return Table(
        "Against the region",
        ("", "own prime", "others'", "days late (95 %)", ""),
        tuple(rows),
        ("Own prime finds against other people's dated reports of the same season; + is later. Records of "
         "one season count as one, and 'shown' allows for all kinds tried. Who goes late looks late.",),
    )  # fmt: skip


def _frost(found: Findings, names: Names) -> Table:
    rows = tuple(
        (
            names(row.taxon_id),
            str(len(row.seasons)),
            f"{signed(row.days_after.value)} ({span(row.days_after, 0)})",
            "shown" if row.shown else "not shown",
        )
        for row in found.frost
    )
    return Table(
        "Against the first frost",
        ("", "seasons", "days after it (95 %)", ""),
        rows,
        ("Onset: the middle of the spots' first days; - is before the frost. Shown: three seasons or more "
         "that agree on which side of the frost it begins, all kinds tried considered.",),
    )  # fmt: skip


def _weather(found: Findings, names: Names) -> Table:
    rows = []
    for row in found.weather:
        if row.association is None or row.adjusted_p is None:
            continue
        word = "shown" if row.shown else "not shown"
        rows.append((names(row.taxon_id), row.driver, str(row.seasons), f"{row.association.statistic:+.2f}",
                     small(row.association.p), small(row.adjusted_p), word))  # fmt: skip
    few = sum(row.association is None for row in found.weather)
    notes = [f"Too few seasons for {few} of {len(found.weather)} pairs."] if few else []
    if found.weather_words:
        notes.append(found.weather_words)
    tried = [row.association for row in found.weather if row.association]
    if tried and len(tried) * min(one.least_p for one in tried) > 0.05:
        notes.append("With so few seasons and so many pairs no outcome at all could have been shown.")
    return Table(
        "Which weather the seasons answer to",
        ("", "weather", "seasons", "tau", "p", "p of all", ""),
        tuple(rows),
        (*notes, "Negative tau: the more of it, the earlier. 'p of all' allows for all pairs tried (Holm)."),
    )


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
        f"{memory.returns.value:.0%} ({percents(memory.returns)})",
        f"{memory.book_returns:.0%}" if memory.book_returns is not None else "",
        f"{memory.kg:.1f}", days, side,
    )  # fmt: skip


def _short_day(month_day: tuple[int, int]) -> str:
    return f"{day_of_season(2001, 0).replace(month=month_day[0], day=month_day[1]):%d %b}"


def _sides(found: Findings, names: Names) -> Table:
    rows = tuple(
        (names(row.taxon_id), str(row.side.n), f"{row.side.mean_deg:.0f}° {compass_point(row.side.mean_deg)}",
         f"{row.side.resultant:.2f}", small(row.side.rayleigh_p) if row.side.enough else "too few")
        for row in found.sides
    )  # fmt: skip
    return Table(
        "Side of the trunk",
        ("", "sides noted", "mean", "length", "Rayleigh p"),
        rows,
        ("One side for each spot and season. Write 'side: NE' into the note of a find.",),
    )


def _colours(found: Findings, names: Names) -> Table:
    rows = []
    for test in found.colours:
        for shown in filter(None, (test.association, test.ordered)):
            least = "" if shown.could_show else "; no outcome of so few could show anything"
            rows.append((names(test.taxon_id), test.against, str(test.finds), shown.test,
                         f"{small(shown.p)}{least}"))  # fmt: skip
        if test.association is None and test.ordered is None:
            rows.append((names(test.taxon_id), test.against, str(test.finds), "", "too few, or all alike"))
    return Table(
        "Colour",
        ("", "against", "finds", "test", "p"),
        tuple(rows),
        ("Colour from the note of a find or its vetting. A test shows company, never cause.",),
    )


def _forecasts(found: Findings, record: Sequence[str]) -> Table:
    got = found.forecasts
    rows = tuple(
        (f"{b.low:.0%} to {b.high:.0%}", str(b.forecasts), f"{b.mean_chance:.0%}", f"{b.share_true:.0%}")
        for b in got.bins
    )
    return Table(
        "How good the forecasts were",
        ("chance given", "looks", "mean chance", "came true"),
        rows,
        (*_forecast_words(found), *record),
    )


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
            (names(c.character), str(c.kept_open), f"{c.share.value:.0%} ({percents(c.share)})", str(c.alone))
            for c in checks.checks[:10]
        ),
        (f"{checks.vetted} finds vetted, {checks.open} of them still open.",),
    )


def _fates(found: Findings) -> Table:
    return Table(
        f"What became of the finds of {found.season}",
        ("", "kg fresh", "share", "records", "noted"),
        tuple((f.fate, f"{f.kg:.2f}", f"{f.share:.0%}", str(f.records), f.why or "") for f in found.fates),
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
