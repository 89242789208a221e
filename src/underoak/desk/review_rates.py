"""The table of rates: what each hour brought, by place, kind, month and party, against the year before."""

from __future__ import annotations

from itertools import groupby

from underoak.review.catch_rate import CatchRate
from underoak.review.findings import Findings, Names
from underoak.review.in_words import percents, span
from underoak.review.intervals import Estimate, difference
from underoak.sheets.review_sheet import Table


def rates_table(found: Findings, names: Names) -> Table:
    """Rates of the season in four groupings, each beside the season before."""
    rows: list[tuple[str, ...]] = []
    before = {(r.key, r.taxon_id): r for r in found.before.by_place_and_taxon}
    for place, rates in groupby(found.rates.by_place_and_taxon, key=lambda rate: rate.key):
        rows.append((names(place),))
        rows += [_rate_row(_name(r.taxon_id, names), r, before.get((r.key, r.taxon_id))) for r in rates]
    now, then = found.rates, found.before
    sections = (
        ("every place together, by kind", now.by_taxon, then.by_taxon),
        ("by month", now.by_month, then.by_month),
        ("by number of people", now.by_party, then.by_party),
    )
    for heading, these, those in sections:
        earlier = {_key(rate): rate for rate in those}
        rows.append((heading,))
        rows += [_rate_row(_group_name(rate, names), rate, earlier.get(_key(rate))) for rate in these]
    return Table(
        f"Season {found.season}: what each hour brought",
        (
            "",
            "visits",
            "hours",
            "kg",
            "kg/h (95 %)",
            "prime/finds",
            "prime/h (95 %)",
            "change, kg/h",
        ),
        tuple(rows),
        (
            "Hours that found nothing count. Intervals of kg/h take whole visits; those of prime finds take "
            "finds as independent, so clumps make them too narrow. A dash: too few for an interval. Change: "
            "against the year before.",
        ),
    )


def _key(rate: CatchRate) -> tuple[str, str | None]:
    return (rate.key[5:] if rate.group == "month" else rate.key, rate.taxon_id)


def _group_name(rate: CatchRate, names: Names) -> str:
    if rate.group == "taxon":
        return _name(rate.taxon_id, names)
    return rate.key


def _name(taxon_id: str | None, names: Names) -> str:
    return "in all" if taxon_id is None else names(taxon_id)


def _rate_row(name: str, rate: CatchRate, before: CatchRate | None) -> tuple[str, ...]:
    prime = f"{rate.prime_finds}/{rate.finds}"
    if rate.prime_share is not None:
        prime += f" ({percents(rate.prime_share)})"
    if rate.kg_per_hour is None:
        return (name, str(rate.visits), "not noted", f"{rate.kg:.1f}", "", prime, "", "")
    finds = f"{rate.prime_finds_per_hour:.2f} ({rate.low:.2f}–{rate.high:.2f})"
    return (
        name, str(rate.visits), f"{rate.hours:.1f}", f"{rate.kg:.1f}",
        _with_span(rate.kg_per_hour), prime, finds, _change(rate, before),
    )  # fmt: skip


def _change(rate: CatchRate, before: CatchRate | None) -> str:
    if before is None or before.kg_per_hour is None or rate.kg_per_hour is None:
        return "no record"
    more = difference(rate.kg_per_hour, before.kg_per_hour)
    return (
        f"{more.value:+.2f} ({span(more, 2) if more.low is not None else '–'})"
        if more.low is not None
        else f"{more.value:+.2f}"
    )


def _with_span(rate: Estimate) -> str:
    """Kilograms an hour and their interval, cut at 0, below which they cannot fall."""
    if rate.low is None or rate.high is None:
        return f"{rate.value:.2f} (–)"
    return f"{rate.value:.2f} ({max(rate.low, 0.0):.2f}–{max(rate.high, 0.0):.2f})"
