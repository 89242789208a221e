"""The review says the same of visits read season by season, kept or not, as of one plain list."""

from __future__ import annotations

import random
from datetime import date, timedelta

from underoak.desk.review_finds import coloured_finds, sides, unread_notes
from underoak.model.visits import Find, Report, Search, SeasonedVisits, SeasonVisits, Visit
from underoak.outlook.season import season_of
from underoak.review.by_season import parts
from underoak.review.catch_rate import place_contrasts
from underoak.review.lateness import from_frost, lateness
from underoak.review.onset import find_days, season_onsets
from underoak.review.tree_memory import tree_memories

NOTES = (
    "",
    "",
    "side: N; colour: brown",
    "shade: deep; colour: white",
    "side: 90",
    "age: ancient",
    "by the wall",
)


def drawn_visits(seed: int) -> list[Visit]:
    rng = random.Random(seed)  # noqa: S311 - no secret
    days = sorted(date(2019, 3, 1) + timedelta(days=rng.randrange(2200)) for _ in range(150))
    return [
        Visit(
            f"v{n}",
            day,
            (place := rng.choice(("hollow", "ridge"))),
            rng.choice((None, 45.0, 120.0)),
            (),
            tuple(Search(f"{place}-{k}", 0.6) for k in range(3)),
            tuple(
                Find(
                    f"f{n}-{k}",
                    f"{place}-{rng.randrange(4)}",
                    rng.choice(("hen", "honey", "lion")),
                    rng.choice(("young", "prime", "past")),
                    None,
                    rng.choice((None, 310.7, 90.1)),
                    rng.choice(NOTES),
                )
                for k in range(rng.randrange(4))
            ),
        )
        for n, day in enumerate(days)
    ]


def by_season(visits: list[Visit]) -> SeasonedVisits:
    years = sorted({season_of(visit.day) for visit in visits})
    return SeasonedVisits([SeasonVisits(y, tuple(v for v in visits if season_of(v.day) == y)) for y in years])


def test_parts_of_seasons_say_what_one_list_says() -> None:
    for seed in range(5):
        plain = drawn_visits(seed)
        seasoned = by_season(plain)
        reports = [
            Report(f"r{n}", v.day + timedelta(days=2), "x", "hen", None, None) for n, v in enumerate(plain)
        ]
        frosts = {year: date(year, 10, 20) for year in range(2019, 2026)}
        for again in (seasoned, seasoned):  # the second time from what was kept
            assert list(again) == plain
            assert season_onsets(again) == season_onsets(plain)
            assert find_days(again) == find_days(plain)
            here = [visit for visit in plain if visit.place_id == "ridge"]
            assert find_days(again, "ridge") == find_days(here)
            assert tree_memories(again, {}) == tree_memories(plain, {})
            assert lateness(again, reports) == lateness(plain, reports)
            assert from_frost(again, frosts) == from_frost(plain, frosts)
            assert place_contrasts(again) == place_contrasts(plain)
            assert coloured_finds(again, {}, None) == coloured_finds(plain, {}, None)
            assert sides(again) == sides(plain)
            assert unread_notes(again) == unread_notes(plain)


def test_a_part_is_made_once_for_each_season() -> None:
    made: list[int] = []

    def count(visits: object) -> int:
        made.append(1)
        return len(visits)  # type: ignore[arg-type]

    seasoned = by_season(drawn_visits(1))
    first = parts(seasoned, count)
    assert sum(first) == len(seasoned)
    assert len(made) == len(seasoned.seasons)
    changed = SeasonedVisits([*seasoned.seasons[:-1], SeasonVisits(2030, ())])
    assert parts(changed, count) == [*first[:-1], 0]
    assert len(made) == len(seasoned.seasons) + 1
