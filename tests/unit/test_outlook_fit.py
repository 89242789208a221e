"""What the fit learns, and that its slopes are exact."""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np
import pytest

from underoak.model.book import Habitat, Memory, Season, Weight
from underoak.model.ground import Spot
from underoak.model.visits import Find, FlushStage, Report, Search, Visit
from underoak.outlook.drivers import SeasonWeather, climate_without_station
from underoak.outlook.fit import fit, starting_values
from underoak.outlook.forecast import chance_table
from underoak.outlook.knowledge import knowledge_of
from underoak.outlook.learned import Learned, learned_from
from underoak.outlook.posterior import Posterior
from underoak.outlook.record import TaxonRecord, taxon_record
from underoak.outlook.reports import report_days
from underoak.outlook.season_evidence import season_evidence
from underoak.outlook.season_rows import own_points
from underoak.outlook.sightings import sightings_of
from underoak.outlook.simulate import habit_of, invented_world
from underoak.outlook.taxon_outlook import spot_columns
from underoak.outlook.weather_terms import TERMS

PLACE = climate_without_station(latitude_deg=41.5, elevation_m=100.0)


@dataclass(frozen=True)
class Kind:
    """An invented taxon."""

    season: Season
    memory: Memory
    habitat: Habitat
    weight: Weight | None = None
    id: str = "kind"


KIND = Kind(
    Season(source="own_judgement", anchor="day_of_year", median=270.0, sd_days=20.0, prime_days=8.0),
    Memory(source="own_judgement", inhabited=0.3, returns=0.6, detection=0.8),
    Habitat(source="own_judgement", hosts={"oak": 1.0}, substrate=("soil",), habit=("single",)),
)


def oaks(places: int, each: int) -> list[Spot]:
    return [
        Spot(f"p{p}s{n}", f"p{p}", f"oak {n}", -74.0, 41.5, "oak") for p in range(places) for n in range(each)
    ]


def record_of(
    spots: list[Spot],
    visits: tuple[Visit, ...],
    reports: tuple[Report, ...] = (),
    *,
    terms: tuple[str, ...] = (),
    pushed: bool = False,
) -> TaxonRecord:
    columns = spot_columns(spots)
    climate = PLACE
    if pushed:
        rng = np.random.default_rng(5)
        climate = replace(
            PLACE,
            seasons={
                season: SeasonWeather(
                    rng.uniform(0.7, 1.5, 366),
                    rng.uniform(0.0, 0.3, 366),
                    PLACE.usual.frost,
                    365,
                    rng.normal(0.0, 1.0, (366, len(TERMS))),
                )
                for season in range(2015, 2019)
            },
        )
    dated = report_days(
        "kind",
        KIND.season,
        reports,
        latitude_deg=41.5,
        elevation_m=100.0,
        frost=PLACE.usual.frost,
        until=date(2100, 1, 1),
    )
    return taxon_record(
        knowledge_of(KIND),
        spots=columns,
        looks=sightings_of(visits).looks_for("kind", columns.position),
        reports=dated,
        climates=dict.fromkeys(columns.place_ids, climate),
        terms=terms,
    )


def look(day: date, place: str, found: dict[str, FlushStage], spots: list[Spot]) -> Visit:
    here = [spot.id for spot in spots if spot.place_id == place]
    finds = tuple(Find(f"{day}-{s}", s, "kind", stage) for s, stage in found.items())
    return Visit(f"{place}-{day}", day, place, searches=tuple(Search(s, 0.9) for s in here), finds=finds)


@pytest.mark.parametrize("pushed", [False, True])
def test_slopes_of_the_log_posterior_equal_finite_differences(*, pushed: bool) -> None:
    spots = oaks(2, 4)
    world = invented_world(
        spots,
        [replace(habit_of(KIND, PLACE), inhabited=0.8)],
        range(2015, 2018),
        climates=dict.fromkeys(("p0", "p1"), PLACE),
        seed=3,
        reports_per_season=3,
    )
    assert sum(len(visit.finds) for visit in world.visits) > 10
    terms = TERMS if pushed else ()
    posterior = Posterior(record_of(spots, world.visits, world.reports, terms=terms, pushed=pushed))
    theta = np.random.default_rng(1).normal(0.0, 0.5, len(posterior.prior_sd)) * posterior.prior_sd
    _, slope = posterior.value_and_slope(theta)
    for k in range(len(theta)):
        step = np.zeros(len(theta))
        step[k] = 1e-4 * posterior.prior_sd[k]
        up, down = (posterior.value_and_slope(theta + sign * step)[0] for sign in (1.0, -1.0))
        assert slope[k] == pytest.approx((up - down) / (2.0 * step[k]), rel=1e-5, abs=1e-6)


def test_likelihood_of_the_fit_is_the_forecasts_own() -> None:
    """At the book's values and one spot, fit and forecast must agree on what the looks weigh."""
    spots = oaks(1, 1)
    visits = (
        look(date(2015, 9, 20), "p0", {}, spots),
        look(date(2015, 10, 4), "p0", {"p0s0": "prime"}, spots),
    )
    posterior = Posterior(record_of(spots, visits))
    value, _ = posterior.value_and_slope(np.zeros(len(posterior.prior_sd)))
    onset = knowledge_of(KIND).onset(PLACE, 2015, "p0")
    fruited, idle = season_evidence(
        # the fit's points hold the spot's own timing only: half the variance of place and spot together
        [replace(onset, season_sd=0.0, own_sd=onset.own_sd / np.sqrt(2.0))],
        [PLACE.of(2015)],
        np.zeros(1, np.intp),
        looks=sightings_of(visits).looks_for("kind", spot_columns(spots).position),
        row_of_look=np.zeros(2, np.intp),
        detection=KIND.memory.detection,
    )
    psi, phi = KIND.memory.inhabited, KIND.memory.returns
    lives = np.logaddexp(np.log(phi) + fruited[0], np.log1p(-phi) + idle[0])
    whole = np.logaddexp(np.log(psi) + lives, np.log1p(-psi) + idle[0])
    assert value == pytest.approx(float(np.logaddexp.reduce(whole + own_points()[1])), abs=1e-3)


def test_fit_is_the_same_twice_and_from_another_start() -> None:
    spots = oaks(2, 6)
    world = invented_world(
        spots, [habit_of(KIND, PLACE)], range(2015, 2019), climates=dict.fromkeys(("p0", "p1"), PLACE), seed=8
    )
    record = record_of(spots, world.visits)
    first, second = fit("kind", record), fit("kind", record)
    assert np.array_equal(first.means, second.means)
    assert np.array_equal(first.covariance, second.covariance)
    elsewhere = {name: 0.5 * value + 0.1 for name, value in starting_values(first).items()}
    third = fit("kind", record, start=elsewhere)
    assert third.means == pytest.approx(first.means, abs=0.02)


def test_blanks_alone_leave_timing_to_the_prior_and_lower_the_chance_to_live_there() -> None:
    spots = oaks(1, 8)
    visits = tuple(
        look(date(year, 9, day), "p0", {}, spots) for year in (2015, 2016, 2017) for day in (10, 20, 30)
    )
    learned = fit("kind", record_of(spots, visits))
    prior = dict(zip(learned.names, Posterior(record_of(spots, visits)).prior_sd, strict=True))
    at = learned.names.index("timing")
    assert np.sqrt(learned.covariance[at, at]) == pytest.approx(prior["timing"], rel=0.1)
    assert learned.mean("inhabited") < -0.5


def lagging_woods() -> tuple[list[Spot], list[Visit]]:
    """Two woods of six oaks over five seasons; the second runs two weeks behind the first."""
    spots, visits = oaks(2, 6), []
    for season in range(2015, 2020):
        for place, late in (("p0", 0), ("p1", 14)):
            for off in range(-14, 29, 7):
                found: dict[str, FlushStage] = {}
                if 0 <= off - late <= 7:
                    found = {f"{place}s{n}": "prime" for n in range(3)}
                elif off - late > 7:
                    found = {f"{place}s{n}": "past" for n in range(3)}
                visits.append(look(date(season, 9, 20) + timedelta(days=off), place, found, spots))
    return spots, visits


def best_day(
    learned: Learned, spots: list[Spot], visits: list[Visit], reports: list[Report], spot: int
) -> int:
    days = [date(2020, 8, 20) + timedelta(days=n) for n in range(90)]
    table = chance_table(
        spots,
        [KIND],
        days,
        climates=dict.fromkeys(("p0", "p1"), PLACE),
        visits=visits,
        reports=reports,
        learned={"kind": learned},
    )
    return int(table.prime[spot, 0].argmax())


def test_a_woods_that_runs_late_stays_late_when_the_whole_region_reports_early() -> None:
    spots, visits = lagging_woods()
    learned = fit("kind", record_of(spots, tuple(visits)))
    assert learned.mean("place:p1") - learned.mean("place:p0") > 4.0
    usual = [best_day(learned, spots, visits, [], spot) for spot in (0, 6)]
    early = [
        Report(f"r{n}", date(2020, 9, 1) + timedelta(days=n % 10), "kind", "kind", None, None)
        for n in range(30)
    ]
    moved = [best_day(learned, spots, visits, early, spot) for spot in (0, 6)]
    assert usual[1] - usual[0] >= 5
    assert moved[0] < usual[0]
    assert moved[1] < usual[1]
    assert moved[1] - moved[0] >= 4, "reports move the season, never the woods"


def test_reports_count_by_their_days_never_by_their_number() -> None:
    spots, visits = lagging_woods()
    learned = fit("kind", record_of(spots, tuple(visits)))
    some, many = (
        [Report(f"r{n}", date(2020, 9, 20), "kind", "kind", None, None) for n in range(count)]
        for count in (30, 600)
    )
    shift = best_day(learned, spots, visits, many, 0) - best_day(learned, spots, visits, some, 0)
    assert abs(shift) <= 1


def test_what_one_wood_shows_of_the_season_counts_in_the_other() -> None:
    """Prime found two weeks early in one wood moves the other wood's days forward, a little."""
    spots, visits = lagging_woods()
    learned = fit("kind", record_of(spots, tuple(visits)))
    early = look(date(2020, 9, 6), "p0", {f"p0s{n}": "prime" for n in range(3)}, spots)
    before = best_day(learned, spots, visits, [], 6)
    after = best_day(learned, spots, [*visits, early], [], 6)
    assert before - 16 < after < before


def test_learned_survives_being_written_down() -> None:
    spots = oaks(1, 3)
    learned = fit("kind", record_of(spots, (look(date(2015, 9, 20), "p0", {"p0s0": "prime"}, spots),)))
    again = learned_from(json.loads(json.dumps(learned.document())))
    assert again.names == learned.names
    assert np.array_equal(again.means, learned.means)
    assert np.array_equal(again.covariance, learned.covariance)
    damaged = learned.document() | {"means": [0.0]}
    with pytest.raises(ValueError, match="means"):
        learned_from(damaged)


def test_invented_worlds_repeat_by_seed_and_show_what_stands() -> None:
    spots = oaks(1, 30)
    habit = replace(habit_of(KIND, PLACE), inhabited=0.9, returns=0.9)
    one, two, other = (
        invented_world(
            spots, [habit], range(2015, 2019), climates={"p0": PLACE}, seed=seed, visits_per_season=40
        )
        for seed in (1, 1, 2)
    )
    assert one == two
    assert one != other
    assert all(flush.young < flush.prime < flush.past for flush in one.flushes)
    standing = {(f.spot_id, f.season): f for f in one.flushes}
    looked = found = 0
    for visit in one.visits:
        number = (visit.day - date(visit.day.year, 3, 1)).days
        for search in visit.searches:
            flush = standing.get((search.spot_id, visit.day.year))
            if flush and flush.prime <= number < flush.past and search.thoroughness == 0.9:
                looked += 1
                found += any(find.spot_id == search.spot_id for find in visit.finds)
    assert looked > 60
    assert found / looked == pytest.approx(KIND.memory.detection, abs=0.12)
