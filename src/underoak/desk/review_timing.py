"""The tables of timing: against the region, against the first frost, and the weather they answer to."""

from __future__ import annotations

from underoak.review.findings import Findings, Names
from underoak.review.in_words import counted, signed, small, span
from underoak.sheets.review_sheet import Table


def region_table(found: Findings, names: Names) -> Table:
    """Own prime finds against other people's reports, season by season."""
    rows: list[tuple[str, ...]] = []
    for late in found.lateness:
        mean = late.days_late
        told = f"{signed(mean.value)} ({span(mean, 0)})" if mean else "one season"
        word = "shown" if late.shown else "not shown"
        if late.place_id is not None:
            name = f"  at {names(late.place_id)}"
            rows.append((name, counted(len(late.seasons), "season"), "", told, word))
            continue
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
         "one season count as one, and 'shown' allows for all that was compared. Who goes late looks late.",),
    )  # fmt: skip


def frost_table(found: Findings, names: Names) -> Table:
    """Onset of each taxon against the first frost."""
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


_IN_ORDER = (
    "In order (Kendall's tau): -1 where more of it always came with an earlier start, +1 with a later one, 0 "
    "where neither is seen. p: how often chance alone shows as much; 'p of all' allows for all pairs tried "
    "(Holm)."
)


def weather_table(found: Findings, names: Names) -> Table:
    """Rank correlation of onset with the weather before it."""
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
        ("", "weather", "seasons", "in order (tau)", "p", "p of all", ""),
        tuple(rows),
        (*notes, _IN_ORDER),
    )
