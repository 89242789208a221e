"""Scores, plain rules and left-out seasons."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np
import pytest

from underoak.model.book import Habitat, Memory, Season, Weight
from underoak.model.ground import Spot
from underoak.outlook.backtest import Judgement, judge
from underoak.outlook.baselines import LastYear, RainRule, SpotRate, TenDayRate, rule_rain
from underoak.outlook.drivers import climate_without_station
from underoak.outlook.forecast import Basis, chance_table
from underoak.outlook.knowledge import knowledge_of
from underoak.outlook.learned import Learned
from underoak.outlook.leave_out import TaxonCase, by_model, folds
from underoak.outlook.looks import NONE, PRIME, Looks
from underoak.outlook.reasons import Explanation
from underoak.outlook.reports import report_days
from underoak.outlook.scores import brier, calibration, log_scores, reliability, season_bootstrap
from underoak.outlook.sightings import sightings_of
from underoak.outlook.simulate import World, habit_of, invented_world
from underoak.outlook.taxon_outlook import spot_columns

PLACE = climate_without_station(latitude_deg=41.5, elevation_m=100.0)
SEASON = Season(source="own_judgement", anchor="day_of_year", median=270.0, sd_days=14.0, prime_days=8.0)


MEMORY = Memory(source="own_judgement", inhabited=0.4, returns=0.7, detection=0.85)
HABITAT = Habitat(source="own_judgement", hosts={"oak": 1.0}, substrate=("soil",), habit=("single",))
WEIGHT = Weight(source="own_judgement", median_g=500.0, p90_g=1500.0)


@dataclass(frozen=True)
class Kind:
    """An invented taxon."""

    id: str = "kind"
    season: Season = SEASON
    memory: Memory = MEMORY
    habitat: Habitat = HABITAT
    weight: Weight = WEIGHT


KIND = Kind()
SPOTS = [Spot(f"p{p}s{n}", f"p{p}", "", -74.0, 41.5, "oak") for p in range(3) for n in range(6)]
CLIMATES = dict.fromkeys(("p0", "p1", "p2"), PLACE)


def some_looks(days: list[int], outcomes: list[int], *, season: int = 2020, spot: int = 0) -> Looks:
    n = len(days)
    return Looks(np.full(n, spot), np.full(n, season), np.array(days), np.array(outcomes), np.full(n, 0.9))


def case_of(world: World) -> TaxonCase:
    columns = spot_columns(SPOTS)
    reports = report_days(
        "kind",
        SEASON,
        world.reports,
        latitude_deg=41.5,
        elevation_m=100.0,
        frost=PLACE.usual.frost,
        until=date(2100, 1, 1),
    )
    looks = sightings_of(world.visits).looks_for("kind", columns.position)
    return TaxonCase(knowledge_of(KIND), columns, CLIMATES, looks, reports)


@pytest.fixture(scope="module")
def world() -> World:
    habit = replace(habit_of(KIND, PLACE), inhabited=0.8)
    return invented_world(SPOTS, [habit], range(2016, 2020), climates=CLIMATES, seed=11, visits_per_season=30)


@pytest.fixture(scope="module")
def judged(world: World) -> Judgement:
    return judge([case_of(world)], world.visits, rained={})


def test_scores_by_hand() -> None:
    chance, true = np.array([0.8, 0.4, 0.1]), np.array([True, False, False])
    assert log_scores(chance, true) == pytest.approx(np.log([0.8, 0.6, 0.9]))
    assert brier(chance, true) == pytest.approx((0.04 + 0.16 + 0.01) / 3.0)


def test_brier_score_equals_the_reference_library() -> None:
    """Reference: sklearn.metrics."""
    from sklearn.metrics import brier_score_loss, log_loss

    rng = np.random.default_rng(2)
    chance = rng.uniform(0.01, 0.99, 400)
    true = rng.random(400) < chance
    assert brier(chance, true) == pytest.approx(brier_score_loss(true, chance))
    assert -log_scores(chance, true).mean() == pytest.approx(log_loss(true, chance))


def test_calibration_equals_the_reference_library_and_finds_the_truth() -> None:
    """Reference: sklearn.linear_model.LogisticRegression without a penalty to speak of."""
    from sklearn.linear_model import LogisticRegression

    rng = np.random.default_rng(3)
    logit = rng.normal(-1.0, 1.5, 4000)
    true = rng.random(4000) < 1.0 / (1.0 + np.exp(-(0.3 + 0.7 * logit)))
    intercept, slope = calibration(1.0 / (1.0 + np.exp(-logit)), true)
    reference = LogisticRegression(C=1e6, tol=1e-10).fit(logit[:, None], true)
    assert intercept == pytest.approx(reference.intercept_[0], abs=1e-3)
    assert slope == pytest.approx(reference.coef_[0, 0], abs=1e-3)
    assert slope == pytest.approx(0.7, abs=0.1)


def test_calibration_stays_finite_where_forecasts_part_truths() -> None:
    chance = np.array([0.1, 0.2, 0.8, 0.9])
    assert np.all(np.isfinite(calibration(chance, chance > 0.5)))


def test_reliability_counts_every_forecast_once() -> None:
    chance = np.array([0.005, 0.03, 0.03, 0.6, 1.0 - 1e-9])
    bins = reliability(chance, np.array([False, True, False, True, True]))
    assert sum(b.forecasts for b in bins) == 5
    assert [b.share_true for b in bins] == [0.0, 0.5, 1.0, 1.0]


def test_bootstrap_draws_whole_seasons() -> None:
    even = season_bootstrap(np.array([2.0, 2.0, 2.0]), np.array([4.0, 4.0, 4.0]), seed=1)
    assert even.low == even.mean == even.high == 0.5
    uneven = season_bootstrap(np.array([0.0, 4.0]), np.array([4.0, 4.0]), seed=1)
    assert (uneven.low, uneven.mean, uneven.high) == (0.0, 0.5, 1.0)
    assert season_bootstrap(np.array([1.0]), np.array([2.0]), seed=1).low == -np.inf


def test_ten_day_rate_is_the_share_of_hits_shrunk_to_the_whole() -> None:
    rule = TenDayRate()
    rule.learn(some_looks([200] * 10 + [230] * 10, [PRIME] * 5 + [NONE] * 15))
    overall = 5.5 / 30.0
    chances = rule.chance(some_looks([203, 235], [NONE, NONE]), some_looks([], []))
    assert chances == pytest.approx([(5 + 5 * overall) / 15, 5 * overall / 15])


def test_spot_rate_favours_the_spot_that_gave() -> None:
    rule = SpotRate(TenDayRate())
    gave, blank = some_looks([200] * 6, [PRIME] * 3 + [NONE] * 3), some_looks([200] * 6, [NONE] * 6, spot=1)
    rule.learn(Looks(*(np.concatenate(pair) for pair in zip(columns(gave), columns(blank), strict=True))))
    chances = [rule.chance(some_looks([200], [NONE], spot=s), blank)[0] for s in (0, 1, 2)]
    assert chances[0] > chances[2] > chances[1]


def columns(looks: Looks) -> tuple[np.ndarray, ...]:
    return looks.spot, looks.season, looks.day, looks.outcome, looks.thoroughness


def test_last_year_remembers_spot_and_date() -> None:
    rule = LastYear()
    first = some_looks([200, 240], [PRIME, NONE], season=2019)
    second = some_looks([203, 241], [PRIME, NONE], season=2020)
    rule.learn(Looks(*(np.concatenate(pair) for pair in zip(columns(first), columns(second), strict=True))))
    gave, did_not, unknown = rule.chance(some_looks([206, 238, 150], [NONE] * 3), first)
    assert gave > unknown > did_not


def test_rain_rule_needs_rain_and_window() -> None:
    rain = np.zeros(60)
    rain[20] = 30.0
    wet = rule_rain(rain)
    assert not wet[26]
    assert wet[27]
    assert wet[41]
    assert not wet[42]
    rule = RainRule({(2020, day): day < 205 for day in range(190, 220)})
    days = list(range(195, 215))
    rule.learn(some_looks(days, [PRIME if day < 205 else NONE for day in days]))
    inside_wet, inside_dry, outside = rule.chance(some_looks([200, 206, 300], [NONE] * 3), some_looks([], []))
    assert inside_wet > inside_dry
    assert inside_wet > outside


def test_the_model_beats_every_plain_rule_on_a_household_that_fits_it(judged: Judgement) -> None:
    model, *rules = judged.scores
    best = max(rule.log_score for rule in rules)
    assert judged.finds > 10
    assert model.log_score > 0.9 * best, "at least a tenth nearer to 0"
    assert 0.5 < model.slope < 1.8
    assert judged.visits == 120
    assert model.kg_per_hour > 0.0
    assert sum(b.forecasts for b in judged.bins) == judged.looks


def test_a_left_out_season_is_not_known_to_the_forecast(world: World) -> None:
    """Changing what the last season's last visit found must not change any forecast of that season."""
    case = case_of(world)
    last = case.looks.season == 2019
    final = np.flatnonzero(last)[-1]
    changed = case.looks.outcome.copy()
    changed[final] = PRIME if changed[final] == NONE else NONE
    other = replace(case, looks=replace(case.looks, outcome=changed))
    assert by_model(other)[last] == pytest.approx(by_model(case)[last], rel=1e-9)


def test_reports_of_the_left_out_season_are_known_only_day_by_day(world: World) -> None:
    reports = invented_world(
        SPOTS, [habit_of(KIND, PLACE)], range(2016, 2020), climates=CLIMATES, seed=11, reports_per_season=6
    ).reports
    case = case_of(replace(world, reports=reports))
    late = case.reports.where(~((case.reports.season == 2019) & (case.reports.day > 200.0)))
    early_looks = (case.looks.season == 2019) & (case.looks.day <= 200)
    if not early_looks.any():
        pytest.skip("the invented household went out late that year")
    with_all, without_late = by_model(case), by_model(replace(case, reports=late))
    assert with_all[early_looks] == pytest.approx(without_late[early_looks], rel=1e-9)


def test_climatology_is_shown_where_the_model_earned_no_trust(world: World) -> None:
    learned = Learned("kind", (), np.zeros(0), np.zeros((0, 0)), (2016, 2017, 2018), 1, 1, climatology=True)
    days = [date(2019, 9, 20) + timedelta(days=n) for n in range(3)]
    tables = [
        chance_table(SPOTS, [KIND], days, climates=CLIMATES, visits=world.visits, learned=known)
        for known in ({"kind": learned}, {})
    ]
    rule = SpotRate(TenDayRate())
    looks = sightings_of(world.visits).looks_for("kind", spot_columns(SPOTS).position)
    rule.learn(looks.where(looks.season < 2019))
    order = np.argsort([rule.factor[s] for s in range(len(SPOTS))])
    shown = tables[0].prime[:, 0, 0]
    assert np.all(np.diff(shown[order]) >= -1e-12), "spots stand in the order of their own rates"
    assert not np.allclose(tables[0].prime, tables[1].prime)
    assert np.all((tables[0].low <= tables[0].prime) & (tables[0].prime <= tables[0].high))


def test_reasons_say_that_the_plain_rate_is_shown(world: World) -> None:
    learned = Learned("kind", (), np.zeros(0), np.zeros((0, 0)), (2016, 2017, 2018), 1, 1, climatology=True)
    basis = Basis(CLIMATES, world.visits, learned={"kind": learned})
    day = [date(2019, 9, 20)]
    reasons = Explanation(SPOTS, [KIND], day, basis).reasons(0, 0, 0)
    assert len(reasons) == 1
    assert "your own plain rate" in reasons[0].words


def test_seasons_are_left_out_one_by_one_and_in_a_long_record_ten_times() -> None:
    assert folds((2020, 2021, 2023)) == [(2020,), (2021,), (2023,)]
    long = folds(tuple(range(1990, 2026)))
    assert len(long) == 10
    assert sorted(season for fold in long for season in fold) == list(range(1990, 2026))
    assert max(len(fold) for fold in long) - min(len(fold) for fold in long) <= 1


def test_last_year_means_a_week_around_the_same_date_and_no_other_spot() -> None:
    """Worked by hand: spot, season, day, and what stood there."""
    seen = [(0, 2020, 100, PRIME), (0, 2020, 107, NONE), (1, 2020, 100, NONE), (0, 2021, 200, PRIME)]
    asked = [(0, 2021, 93), (0, 2021, 92), (0, 2021, 108), (1, 2021, 100), (2, 2021, 100), (0, 2022, 100)]
    spot, season, day, outcome = np.array(seen).T
    known = Looks(spot, season, day, outcome, np.ones(4))
    rule = LastYear(np.array([0.0, 1.0, 2.0]))
    spot, season, day = np.array(asked).T
    looks = Looks(spot, season, day, np.zeros(6, dtype=np.intp), np.ones(6))
    assert rule.chance(looks, known).tolist() == [2.0, 0.0, 1.0, 1.0, 0.0, 0.0]
