"""After the forecast ends past years stand in: chances are averaged over them, their spread is told."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from tests.unit.test_outlook_drivers import ground
from tests.unit.test_outlook_forecast import KIND, OAK, PLACE, SEASON, TODAY, look
from underoak.model.visits import Visit
from underoak.outlook.drivers import Climate, SeasonWeather, climate
from underoak.outlook.forecast import Basis, ChanceTable, chance_table
from underoak.outlook.reasons import Explanation
from underoak.outlook.season import SEASON_DAYS, day_number
from underoak.outlook.season_prior import Frost

KNOWN_TO = day_number(TODAY) + 3
DAYS = [TODAY + timedelta(days=n) for n in range(10)]


def season(warmth: float = 1.0, *, freeze_day: int | None = None) -> SeasonWeather:
    """The usual season up to the last known day, then one that is warmer or freezes."""
    after = np.arange(SEASON_DAYS) > KNOWN_TO
    freeze = np.where(after, PLACE.usual.hard_freeze, 0.0)
    if freeze_day is not None:
        freeze[freeze_day] = 1.0
    return SeasonWeather(np.where(after, warmth, 1.0), freeze, PLACE.usual.frost, known_to=KNOWN_TO)


def place(*futures: SeasonWeather) -> Climate:
    years = {2019 + n: future for n, future in enumerate(futures)}
    return replace(PLACE, seasons={2025: season()}, running=2025, futures=years)


FUTURES = (season(0.7), season(1.0), season(2.2), season(freeze_day=KNOWN_TO + 2))


def table(here: Climate, visits: tuple[Visit, ...] = ()) -> ChanceTable:
    return chance_table([OAK], [KIND], DAYS, climates={"wood": here}, visits=visits)


def test_chances_are_the_mean_over_past_years() -> None:
    """The same numbers as the plain mean of one forecast for each year."""
    here = place(*FUTURES)
    each = [table(here.following(year)).prime for year in here.futures]
    assert table(here).prime == pytest.approx(np.mean(each, axis=0), rel=1e-9)


def test_days_with_weather_of_their_own_need_no_past_year() -> None:
    fan, plain = table(place(*FUTURES)), table(place())
    assert fan.prime[0, 0, :4] == pytest.approx(plain.prime[0, 0, :4], rel=1e-9)
    assert abs(fan.prime[0, 0, 9] / plain.prime[0, 0, 9] - 1.0) > 0.02
    known = chance_table([OAK], [KIND], DAYS[:4], climates={"wood": place(*FUTURES)})
    assert known.low == pytest.approx(table(place()).low[:, :, :4])


def test_years_that_differ_widen_the_interval_and_years_alike_do_not() -> None:
    found = (look(TODAY - timedelta(days=1), "prime"),)
    alike, differing = table(place(*[season()] * 4), found), table(place(*FUTURES), found)
    plain = table(place(), found)
    assert alike.low == pytest.approx(plain.low)
    assert alike.high == pytest.approx(plain.high)

    def logit_width(t: ChanceTable) -> float:
        low, high = t.low[0, 0, 9], t.high[0, 0, 9]
        return float(np.log(high / (1.0 - high)) - np.log(low / (1.0 - low)))

    assert logit_width(differing) > 1.2 * logit_width(plain)


def test_a_year_that_does_not_fit_what_was_seen_since_counts_less() -> None:
    """Prime found after the weather ended speaks against the year that had frozen it before."""
    frozen = season(2.5, freeze_day=KNOWN_TO + 1)
    here = place(season(), season(), frozen)
    visits = (look(DAYS[6], "prime"),)
    each = [table(here.following(year), visits).prime[0, 0, 9] for year in here.futures]
    leans = (each[0] - table(here, visits).prime[0, 0, 9]) / (each[0] - each[2])
    assert each[0] - each[2] > 0.1
    assert 0.0 < leans < 0.2, "a third if it counted like the others"


def test_too_few_years_or_an_earlier_season_change_nothing() -> None:
    assert table(place(*FUTURES[:2])).prime == pytest.approx(table(place()).prime)
    last_year = [date(2024, 9, 26)]
    climates = {"wood": place(*FUTURES)}, {"wood": place()}
    first, second = (chance_table([OAK], [KIND], last_year, climates=c).prime for c in climates)
    assert first == pytest.approx(second)


def test_places_use_the_years_they_share() -> None:
    other = replace(OAK, id="other", place_id="other")
    some = place(*FUTURES)
    fewer = replace(some, futures={year: some.futures[year] for year in (2019, 2020, 2021)})
    both = chance_table([OAK, other], [KIND], DAYS, climates={"wood": some, "other": fewer}).prime
    assert both[0] == pytest.approx(both[1])
    assert both[0] == pytest.approx(table(fewer).prime[0])


def test_frost_comes_in_some_years_and_not_in_others() -> None:
    """A kind tied to the first frost: nearer where every past year froze in time than where none did."""
    late = replace(KIND, season=SEASON.model_copy(update={"anchor": "first_frost", "median": 0.0}))
    day = DAYS[-1]

    def chance(*frosts: Frost) -> float:
        here = place(*[replace(season(), frost=frost) for frost in frosts])
        return float(chance_table([OAK], [late], [day], climates={"wood": here}).prime[0, 0, 0])

    now, never = Frost(float(KNOWN_TO + 2), 0.0, seen=True), Frost(265.0, 8.0)
    assert chance(now, now, now) > chance(now, now, never) > chance(never, never, never)


def test_the_reason_says_that_past_years_stand_in() -> None:
    warm = [season(1.0, freeze_day=KNOWN_TO + 1)] * 3
    explain = Explanation([OAK], [KIND], [DAYS[9]], Basis({"wood": place(*warm)}))
    words = " ".join(reason.words for reason in explain.all_steps(0, 0, 0))
    assert "in 3 past years" in words


def test_ground_carried_on_differs_only_after_the_last_known_day() -> None:
    """The same invented weather, four degrees warmer after it ends: warmth rises then and not before."""
    end, until = date(2023, 9, 20), date(2023, 9, 30)
    warm = ground(until, extra_c=4.0)
    here = climate(
        ground(end),
        latitude_deg=41.5,
        elevation_m=100.0,
        today=end,
        carried_on={2020: warm, 2021: ground(until)},
    )
    known = day_number(end)
    assert here.of(2023).known_to == known
    future = here.futures[2020]
    assert future.known_to == day_number(until)
    assert future.warmth[: known + 1] == pytest.approx(here.of(2023).warmth[: known + 1])
    assert np.all(future.warmth[known + 1 : known + 11] > 1.1)
    assert here.futures[2021].warmth[known + 1 : known + 11] == pytest.approx(1.0, abs=0.05)
    assert not future.frost.seen
    assert here.open_years(2023, known) == set()
    assert here.open_years(2023, known + 1) == {2020, 2021}
    assert here.open_years(2022, known + 1) == set()
