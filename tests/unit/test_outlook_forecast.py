"""Direction and size of the plain cases a household asks about."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np
import pytest

from underoak.errors import NoAnswer
from underoak.model.book import Habitat, Memory, Season, Weight
from underoak.model.ground import Spot
from underoak.model.visits import Find, FlushStage, Search, Visit
from underoak.outlook.drivers import Climate, SeasonWeather, climate_without_station
from underoak.outlook.forecast import Basis, ChanceTable, chance_table, expected_kg, forecast
from underoak.outlook.season_prior import Frost, frost_not_before

SEASON = Season(source="own_judgement", anchor="day_of_year", median=270.0, sd_days=14.0, prime_days=8.0)
MEMORY = Memory(source="own_judgement", inhabited=0.2, returns=0.6, detection=0.9)
HABITAT = Habitat(
    source="own_judgement", hosts={"oak": 1.0, "maple": 0.1}, substrate=("roots",), habit=("rosette",)
)
WEIGHT = Weight(source="own_judgement", median_g=2000.0, p90_g=6800.0)


@dataclass(frozen=True)
class Kind:
    """An invented taxon."""

    id: str = "kind"
    season: Season | None = SEASON
    memory: Memory | None = MEMORY
    habitat: Habitat = HABITAT
    weight: Weight | None = WEIGHT


KIND = Kind()
PLACE = climate_without_station(latitude_deg=41.5, elevation_m=100.0)
OAK = Spot("oak", "wood", "old oak", -74.0, 41.5, "oak", 50.0)
MAPLE = replace(OAK, id="maple", name="maple", host_group="maple")
TODAY = date(2025, 9, 26)


def look(
    day: date, stage: FlushStage | None = None, *, spot: str = "oak", thoroughness: float = 0.9
) -> Visit:
    name = f"{spot}-{day}-{stage}"
    finds = (Find(name, spot, "kind", stage),) if stage else ()
    return Visit(name, day, "wood", searches=(Search(spot, thoroughness),), finds=finds)


def chances(
    visits: list[Visit], *, climate: Climate = PLACE, ahead: int = 1, start: date = TODAY
) -> ChanceTable:
    days = [start + timedelta(days=n) for n in range(ahead)]
    return chance_table([OAK, MAPLE], [KIND], days, climates={"wood": climate}, visits=visits)


def prime(visits: list[Visit], *, climate: Climate = PLACE, start: date = TODAY) -> float:
    return float(chances(visits, climate=climate, start=start).prime[0, 0, 0])


def test_without_any_record_the_book_answers() -> None:
    """About inhabited x returns x the share of flushes that are prime at the peak: 0.2 x 0.6 x 0.3."""
    table = chances([])
    assert 0.02 < table.prime[0, 0, 0] < 0.05
    assert 0.05 < table.prime[1, 0, 0] / table.prime[0, 0, 0] < 0.15
    assert table.low[0, 0, 0] < table.prime[0, 0, 0] < table.high[0, 0, 0]


def test_chances_rise_to_the_season_and_fall_after_it() -> None:
    year = [date(2025, 3, 1) + timedelta(days=n) for n in range(0, 360, 3)]
    curve = chance_table([OAK], [KIND], year, climates={"wood": PLACE}).prime[0, 0]
    peak = year[int(curve.argmax())]
    assert abs((peak - date(2025, 9, 27)).days) <= 5, "the median of records is the middle of what stands"
    assert np.all(np.diff(curve[: curve.argmax()]) > -1e-6)
    assert np.all(np.diff(curve[curve.argmax() :]) < 1e-6)


def test_two_thorough_blanks_this_week_lower_today_much_and_the_season_less() -> None:
    blanks = [look(TODAY - timedelta(days=3)), look(TODAY)]
    without = chances([], ahead=15).prime[0, 0]
    with_blanks = chances(blanks, ahead=15).prime[0, 0]
    assert with_blanks[0] < without[0] / 10.0
    assert with_blanks[0] > 0.0, "a blank lowers, it never zeroes"
    assert without[14] / 3.0 < with_blanks[14] < without[14], "what has not begun may still come"


def test_a_glance_weighs_less_than_a_thorough_look() -> None:
    glance, thorough = prime([look(TODAY, thoroughness=0.3)]), prime([look(TODAY, thoroughness=0.9)])
    assert thorough < glance < prime([])


def test_prime_found_today_is_mostly_prime_and_fades_over_its_prime_days() -> None:
    table = chances([look(TODAY, "prime")], ahead=17).prime[0, 0]
    assert table[0] > 0.7
    assert table[8] == pytest.approx(table[0] * (1 - 1 / 8) ** 8, rel=0.35)
    assert table[16] < 0.2


def test_young_found_today_promises_more_for_the_coming_days() -> None:
    table = chances([look(TODAY, "young")], ahead=4).prime[0, 0]
    assert table[3] > table[0]
    assert table[3] > 0.3


def test_past_prime_found_today_ends_the_season_at_that_spot() -> None:
    found = chances([look(TODAY, "past")], ahead=10).prime[0, 0]
    assert found[0] < 0.1
    assert np.all(np.diff(found) < 0.0)


def test_the_tree_that_gave_three_years_running() -> None:
    """It surely carries the taxon; returns go from 0.6 to (4 x 0.6 + 3)/(4 + 3) = 0.77."""
    three = [look(date(year, 9, 26), "prime") for year in (2022, 2023, 2024)]
    factor = prime(three) / prime([])
    assert factor == pytest.approx(0.77 / (0.2 * 0.6), rel=0.08)


def test_three_years_of_blanks_leave_little_but_something() -> None:
    blanks = [look(date(year, 9, day)) for year in (2022, 2023, 2024) for day in (15, 22, 29)]
    assert 0.0 < prime(blanks) < 0.5 * prime([])


def test_later_looks_do_not_change_an_earlier_day() -> None:
    later = [look(TODAY + timedelta(days=5), "prime")]
    assert prime(later) == pytest.approx(prime([]), rel=1e-12)
    both = chances(later, ahead=10).prime[0, 0]
    assert both[:5] == pytest.approx(chances([], ahead=10).prime[0, 0, :5], rel=1e-9)
    assert both[5] > 0.7


def test_first_hard_freeze_halves_what_stands() -> None:
    freeze = PLACE.usual.hard_freeze.copy()
    freeze[(TODAY - date(2025, 3, 1)).days] = 1.0
    frozen = SeasonWeather(PLACE.usual.warmth, freeze, PLACE.usual.frost, known_to=220)
    climate = replace(PLACE, seasons={2025: frozen})
    assert prime([], climate=climate) == pytest.approx(0.5 * prime([]), rel=0.15)


def test_warm_ground_shortens_a_flush() -> None:
    warm = SeasonWeather(2.0 * PLACE.usual.warmth, PLACE.usual.hard_freeze, PLACE.usual.frost, known_to=220)
    climate = replace(PLACE, seasons={2025: warm})
    day = TODAY + timedelta(days=8)
    visits = [look(TODAY, "prime")]
    assert prime(visits, climate=climate, start=day) < 0.7 * prime(visits, start=day)


def test_expected_weight_is_chance_times_the_mean_flush() -> None:
    table = chances([look(TODAY, "prime")])
    mean_kg = 2.0 * np.exp(0.5 * (np.log(3.4) / 1.2815515655446004) ** 2)
    assert table.expected_kg[0, 0, 0] == pytest.approx(table.prime[0, 0, 0] * mean_kg)
    assert table.found[0, 0, 0] == pytest.approx(table.prime[0, 0, 0] * 0.9)


def test_trees_nobody_looked_at_cost_nothing_and_share_the_place() -> None:
    trees = [replace(OAK, id=f"tree-{n}", diameter_cm=20.0 + n) for n in range(2000)]
    table = expected_kg(trees, [KIND], TODAY, climates={"wood": PLACE})
    assert table.shape == (2000, 1)
    assert table[30, 0] == pytest.approx(expected_kg([OAK], [KIND], TODAY, climates={"wood": PLACE})[0, 0])
    assert np.all(np.diff(table[:100, 0]) >= 0.0), "bigger oaks carry more"


def test_taxa_stand_for_themselves() -> None:
    other = Kind(id="other")
    table = chance_table(
        [OAK], [KIND, other], [TODAY], climates={"wood": PLACE}, visits=[look(TODAY, "prime")]
    )
    assert table.prime[0, 0, 0] > 0.7 > table.prime[0, 1, 0]


def test_reasons_name_what_matters_most_first() -> None:
    three = [look(date(year, 9, 26), "prime") for year in (2022, 2023, 2024)]
    visits = [*three, look(TODAY - timedelta(days=2))]
    chance = forecast([OAK], [KIND], [TODAY], climates={"wood": PLACE}, visits=visits)[0]
    words = [reason.words for reason in chance.reasons]
    sizes = [abs(np.log(reason.odds_ratio)) for reason in chance.reasons]
    assert 2 <= len(words) <= 3
    assert sizes == sorted(sizes, reverse=True)
    assert any("3 of 3 seasons" in sentence for sentence in words)
    assert any("nothing stood there" in sentence for sentence in words)


def test_reasons_multiply_to_the_chance() -> None:
    """Date, host, memory, visits and weather are steps from the season's mean to the answer."""
    from underoak.outlook.reasons import Explanation

    visits = [look(date(2024, 9, 26), "prime"), look(TODAY - timedelta(days=6))]
    explanation = Explanation([OAK], [KIND], [TODAY], Basis({"wood": PLACE}, visits))
    alone = Explanation([OAK], [KIND], [TODAY], Basis({"wood": PLACE}))
    steps = explanation.ratios(0, 0, 0)
    base = alone.ratios(0, 0, 0)
    assert base["memory"] == base["visits"] == pytest.approx(1.0)
    odds = prime(visits) / (1.0 - prime(visits))
    book = prime([]) / (1.0 - prime([]))
    assert steps["memory"] * steps["visits"] * steps["weather"] == pytest.approx(odds / book)


def test_a_taxon_without_season_is_refused_by_name() -> None:
    with pytest.raises(NoAnswer, match="nothing can be said") as caught:
        chance_table([OAK], [replace(KIND, season=None)], [TODAY], climates={"wood": PLACE})
    assert "kind" in str(caught.value)


@pytest.mark.parametrize("days", [[], [TODAY, TODAY], [date(2026, 2, 27), date(2026, 3, 2)]])
def test_days_must_be_of_one_season_and_in_order(days: list[date]) -> None:
    with pytest.raises(ValueError, match="days must"):
        chance_table([OAK], [KIND], days, climates={"wood": PLACE})


def test_a_taxon_of_the_first_frost_waits_for_it() -> None:
    late = replace(
        KIND,
        season=Season(
            source="own_judgement", anchor="first_frost", median=10.0, sd_days=10.0, prime_days=8.0
        ),
    )
    day = date(2025, 10, 28)
    early, missing = (
        replace(
            PLACE,
            seasons={2025: SeasonWeather(PLACE.usual.warmth, PLACE.usual.hard_freeze, frost, known_to=241)},
        )
        for frost in (Frost(230.0, 0.0, seen=True), frost_not_before(PLACE.usual.frost, 241.0))
    )
    seen, waiting = (
        chance_table([OAK], [late], [day], climates={"wood": climate}).prime[0, 0, 0]
        for climate in (early, missing)
    )
    assert seen > 2.0 * waiting


def test_of_what_was_picked_nothing_more_is_expected_that_season() -> None:
    """A weighed prime flush is gone; one that was only seen, and one that was left young, stand on."""
    day = TODAY - timedelta(days=1)
    seen = look(day, "prime")
    picked = replace(seen, finds=(replace(seen.finds[0], fresh_g=800.0),))
    young = look(day, "young")
    left_young = replace(young, finds=(replace(young.finds[0], fresh_g=30.0),))
    before, after = (chances([picked], start=start).expected_kg[0] for start in (day, TODAY))
    assert before == after == 0.0
    assert chances([picked], start=day - timedelta(days=1)).expected_kg[0] > 0.0
    for stands in (seen, left_young):
        assert chances([stands]).expected_kg[0] > 0.0
    # the tree beside it, and the next season, are not emptied
    assert chances([picked]).expected_kg[1] > 0.0
    assert chances([picked], start=date(2026, 9, 26)).expected_kg[0] > 0.0
    assert chances([picked]).prime == pytest.approx(chances([seen]).prime)
