"""Whether the colour of finds goes with shade, age or the rain before, as the household noted them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from underoak.review.association import Association, contingency, rank_correlation
from underoak.review.noted import AGES, DARKNESS, SHADES

#: Finds with both things noted, under which no test is made.
FEWEST_FINDS = 6


@dataclass(frozen=True, slots=True)
class ColouredFind:
    """A find whose colour was noted, with what else is known of it (None: not noted)."""

    taxon_id: str
    colour: str
    shade: str | None = None
    age: str | None = None
    rain_mm: float | None = None


@dataclass(frozen=True, slots=True)
class ColourTest:
    """One taxon's colour against one thing.

    ``table`` counts finds by colour (``rows``) and level (``columns``). ``association`` is Fisher's test of
    that table, ``ordered`` Kendall's tau of darkness with the level, None where the finds are too few, all
    alike, or a colour has no place between pale and dark.
    """

    taxon_id: str
    against: str
    finds: int
    rows: tuple[str, ...]
    columns: tuple[str, ...]
    table: tuple[tuple[int, ...], ...]
    association: Association | None
    ordered: Association | None


def colour_tests(finds: Sequence[ColouredFind]) -> tuple[ColourTest, ...]:
    """Colour against shade, age and rain, for each taxon with a noted colour.

    Rain is the sum of the ten days before the find, mm; it is compared by ranks only.
    """
    by_taxon: dict[str, list[ColouredFind]] = defaultdict(list)
    for find in finds:
        by_taxon[find.taxon_id].append(find)
    return tuple(
        test
        for taxon_id, own in sorted(by_taxon.items())
        for test in (
            _levels(taxon_id, "shade", own, SHADES, lambda find: find.shade),
            _levels(taxon_id, "age", own, AGES, lambda find: find.age),
            _rain(taxon_id, own),
        )
        if test.finds
    )


def _levels(
    taxon_id: str,
    against: str,
    finds: Sequence[ColouredFind],
    scale: Sequence[str],
    level_of: Callable[[ColouredFind], str | None],
) -> ColourTest:
    pairs = [(find.colour, level) for find in finds if (level := level_of(find)) is not None]
    rows = tuple(sorted({colour for colour, _ in pairs}, key=lambda c: (DARKNESS.get(c, 9), c)))
    columns = tuple(level for level in scale if any(level == other for _, other in pairs))
    table = tuple(tuple(pairs.count((row, column)) for column in columns) for row in rows)
    enough = len(pairs) >= FEWEST_FINDS and len(rows) > 1 and len(columns) > 1
    return ColourTest(
        taxon_id, against, len(pairs), rows, columns, table,
        contingency(table) if enough else None,
        _ordered([(colour, float(scale.index(level))) for colour, level in pairs]),
    )  # fmt: skip


def _rain(taxon_id: str, finds: Sequence[ColouredFind]) -> ColourTest:
    pairs = [(find.colour, find.rain_mm) for find in finds if find.rain_mm is not None]
    return ColourTest(taxon_id, "rain", len(pairs), (), (), (), None, _ordered(pairs))


def _ordered(pairs: Sequence[tuple[str, float]]) -> Association | None:
    colours = {colour for colour, _ in pairs}
    if len(pairs) < FEWEST_FINDS or not colours <= set(DARKNESS):
        return None
    dark = [float(DARKNESS[colour]) for colour, _ in pairs]
    levels = [level for _, level in pairs]
    if len(set(dark)) < 2 or len(set(levels)) < 2:
        return None
    return rank_correlation(dark, levels)
