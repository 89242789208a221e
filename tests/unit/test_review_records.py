"""Memory of trees, lateness, frost, weather, colour: worked examples small enough to count by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from scipy import stats

from underoak.book.load import load_book
from underoak.model.visits import Find, FlushStage, Report, Search, Visit
from underoak.model.weather import Station, WeatherSeries
from underoak.review.colour import ColouredFind, colour_tests
from underoak.review.lateness import from_frost, lateness
from underoak.review.noted import compass_point, noted
from underoak.review.onset import SeasonOnset, season_onsets
from underoak.review.shift import shift_of
from underoak.review.tree_memory import next_looks, tree_memories
from underoak.review.weather_answer import SUMMER, WATER, rain_before_mm, weather_answers

HEN = "grifola_frondosa"


def visit(
    day: date, spot: str, stage: FlushStage | None = None, grams: float = 1000.0, note: str = ""
) -> Visit:
    name = f"{day}-{spot}"
    finds = (Find(name, spot, HEN, stage, None, grams, note),) if stage else ()
    return Visit(name, day, "wood", 60.0, ("Ada",), (Search(spot, 0.9),), finds)


def test_years_fruited_are_counted_of_years_looked_at_in_season() -> None:
    visits = [
        visit(date(2022, 10, 3), "oak", "prime", 2000.0, "side: NE"),
        visit(date(2023, 10, 1), "oak"),
        visit(date(2024, 10, 8), "oak", "past", 500.0, "side: E"),
        visit(date(2025, 6, 1), "oak"),  # months before any hen: says nothing
        visit(date(2022, 10, 3), "elm"),
    ]
    oak, elm = tree_memories(visits, {HEN: load_book().taxa[HEN].memory})
    assert (oak.looked, oak.fruited) == ((2022, 2023, 2024), (2022, 2024))
    assert (oak.kg, oak.first, oak.last) == (2.5, (10, 3), (10, 8))
    assert oak.side is not None
    assert oak.side.mean_deg == pytest.approx(67.5)
    assert (elm.looked, elm.fruited, elm.first) == ((2022,), (), None)
    looks = next_looks(oak, 2026)
    assert looks == (date(2026, 9, 26), date(2026, 10, 15))
    assert next_looks(elm, 2026) is None


def test_chance_of_return_is_the_books_until_seasons_move_it() -> None:
    """Reference: scipy.stats.beta with the book's chance as four seasons."""
    memory = load_book().taxa[HEN].memory
    assert memory is not None
    days = [date(y, 10, 3) for y in (2021, 2022, 2023, 2024, 2025)]
    (tree,) = tree_memories([visit(day, "oak", "prime") for day in days], {HEN: memory})
    posterior = stats.beta(4 * memory.returns + 5, 4 * (1 - memory.returns))
    assert tree.returns.value == pytest.approx(posterior.mean())
    assert (tree.returns.low, tree.returns.high) == pytest.approx(posterior.interval(0.95))
    assert tree.book_returns == memory.returns


def report(day: date, taxon_id: str | None = HEN, *, present: bool = True) -> Report:
    return Report(str(day), day, "Grifola frondosa", taxon_id, None, None, None, present)


def test_lateness_needs_three_reports_and_seasons_that_agree() -> None:
    visits, reports = [], []
    for year, late in ((2021, 8), (2022, 9), (2023, 10), (2024, 9)):
        first = date(year, 9, 20)
        reports += [report(first + timedelta(days=n)) for n in range(5)]
        visits += [visit(first + timedelta(days=2 + late), f"oak {year}", "prime")]
    reports += [
        report(date(2020, 9, 1)),
        report(date(2021, 1, 1), present=False),
        report(date(2021, 1, 1), None),
    ]
    visits.append(visit(date(2020, 9, 9), "oak 2020", "prime"))
    (row,) = lateness(visits, reports)
    assert [season.season for season in row.seasons] == [2021, 2022, 2023, 2024]
    assert [season.days_late.value for season in row.seasons] == [8, 9, 10, 9]
    assert row.days_late is not None
    expected = stats.ttest_1samp([8, 9, 10, 9], 0.0)
    interval = expected.confidence_interval(0.95)
    assert row.days_late.low == pytest.approx(interval.low)
    assert row.days_late.high == pytest.approx(interval.high)
    assert row.adjusted_p == pytest.approx(expected.pvalue)
    assert row.shown
    assert not lateness(visits[:2], reports)[0].shown


def test_each_wood_is_compared_for_itself_where_there_are_several() -> None:
    visits, reports = [], []
    for year in (2022, 2023):
        first = date(year, 9, 20)
        reports += [report(first + timedelta(days=n)) for n in range(5)]
        for place, late in (("early wood", 1), ("late wood", 11)):
            one = visit(first + timedelta(days=2 + late + year % 2), f"{place} oak", "prime")
            visits.append(replace(one, place_id=place))
    rows = {row.place_id: row.days_late.value for row in lateness(visits, reports) if row.days_late}
    assert rows == {None: 6.5, "early wood": 1.5, "late wood": 11.5}


def test_days_from_frost_are_negative_before_it() -> None:
    visits = [visit(date(y, 10, 1 + y % 3), "oak", "prime") for y in (2021, 2022, 2023)]
    frosts = {y: date(y, 10, 20) for y in (2021, 2022, 2023, 2024)}
    (row,) = from_frost(visits, frosts)
    assert dict(row.seasons) == {2021: -17.0, 2022: -19.0, 2023: -18.0}
    assert row.shown
    (alone,) = from_frost(visits, {2021: date(2021, 10, 20)})
    assert not alone.shown


@pytest.mark.parametrize("seed", range(4))
def test_shift_ends_where_the_exact_test_stops_rejecting(seed: int) -> None:
    """Reference: scipy.stats.mannwhitneyu, exact, at shifts just inside and outside of the bounds."""
    rng = np.random.default_rng(seed)
    one, other = rng.normal(3.0, 2.0, 7), rng.normal(0.0, 2.0, 9)
    found = shift_of(one.tolist(), other.tolist())
    assert found.low is not None
    assert found.high is not None

    def p(shift: float) -> float:
        return float(stats.mannwhitneyu(one - shift, other, method="exact").pvalue)

    assert p(found.low + 1e-6) > 0.05 >= p(found.low - 1e-6)
    assert p(found.high - 1e-6) > 0.05 >= p(found.high + 1e-6)


def test_shift_of_few_days_has_no_interval_and_of_many_has_one() -> None:
    assert shift_of([5.0], [1.0, 2.0]).low is None
    many = shift_of(list(map(float, range(100))), [x + 0.5 for x in range(100)])
    assert many.low is not None
    assert many.low < many.value < (many.high or 0.0)


def series(seasons: range) -> WeatherSeries:
    """Dry but for one rain a year on 1 September, of ever more mm; summers ever warmer."""
    first = date(seasons[0], 1, 1)
    days = [first + timedelta(days=n) for n in range((date(seasons[-1], 12, 31) - first).days + 1)]
    rain = [10.0 * (day.year - first.year) if (day.month, day.day) == (9, 1) else 0.0 for day in days]
    warm = [15.0 + (day.year - first.year if day.month in (7, 8) else 0.0) for day in days]
    values = {
        "rain_mm": np.array(rain),
        "tmin_c": np.array(warm) - 5.0,
        "tmax_c": np.array(warm) + 5.0,
    }
    for name in ("dewpoint_c", "wind_m_s", "radiation_mj_m2"):
        values[name] = np.full(len(days), np.nan)
    station = Station("s", "Invented", 41.5, -74.5, 100.0)
    return WeatherSeries(station, first, values, np.zeros(len(days), dtype=bool), {})


def test_seasons_that_come_earlier_with_rain_answer_to_it_and_few_do_not() -> None:
    seasons = range(2015, 2025)
    onsets = {HEN: [SeasonOnset(year, 205.0 - n, 3) for n, year in enumerate(seasons)]}
    weather = series(seasons)
    answers = weather_answers(onsets, weather, np.zeros(weather.days))
    rain = next(row for row in answers if row.driver == WATER)
    assert rain.association is not None
    assert rain.association.statistic == -1.0
    assert rain.shown
    assert {row.seasons for row in answers if row.driver == SUMMER} == {10}
    few = weather_answers({HEN: onsets[HEN][:4]}, weather, np.zeros(weather.days))
    assert all(row.association is None and not row.shown for row in few)
    assert rain_before_mm(weather, date(2016, 9, 5)) == 10.0
    assert rain_before_mm(weather, date(2015, 1, 3)) is None


def test_onset_is_the_middle_of_the_spots() -> None:
    visits = [
        visit(date(2024, 10, 1), "a", "prime"),
        visit(date(2024, 10, 9), "a", "prime"),
        visit(date(2024, 10, 3), "b", "young"),
        visit(date(2024, 10, 20), "c", "prime"),
    ]
    assert season_onsets(visits)[HEN] == (SeasonOnset(2024, 216.0, 3),)


@pytest.mark.parametrize(
    ("words", "degrees"),
    [("N", 0.0), ("nne", 22.5), ("south-west", 225.0), ("north west", 315.0), ("225°", 225.0), ("360", 0.0)],
)
def test_sides_are_read(words: str, degrees: float) -> None:
    assert noted(f"deep in moss; side: {words}; 3 fans").side_deg == degrees


@pytest.mark.parametrize("words", ["side: up", "side: 400", "shade: somewhat", "age: ripe", "colour: #fff"])
def test_marked_facts_that_make_no_sense_are_named(words: str) -> None:
    assert noted(words).unread == (words,)


def test_free_text_is_never_guessed_at() -> None:
    assert noted("on the north side, an old brown one in deep shade") == noted("")
    assert [compass_point(b) for b in (0.0, 44.0, 200.0, 359.0)] == ["N", "NE", "S", "N"]


def coloured(colour: str, shade: str, count: int) -> list[ColouredFind]:
    return [ColouredFind(HEN, colour, shade, None, 5.0 if colour == "brown" else 50.0)] * count


def test_colour_against_shade_is_fishers_and_ordered_by_darkness() -> None:
    finds = [*coloured("brown", "open", 5), *coloured("tan", "deep", 5), *coloured("tan", "open", 1)]
    shade, rain = colour_tests(finds)
    assert (shade.rows, shade.columns, shade.table) == (("tan", "brown"), ("open", "deep"), ((1, 5), (5, 0)))
    assert shade.association is not None
    assert shade.association.p == pytest.approx(stats.fisher_exact(np.array([[1, 5], [5, 0]])).pvalue)
    assert shade.ordered is not None
    assert shade.ordered.statistic == pytest.approx(
        stats.kendalltau([3] * 5 + [2] * 6, [0] * 5 + [2] * 5 + [0]).statistic
    )
    assert rain.ordered is not None
    assert rain.ordered.statistic == pytest.approx(-1.0)


def test_few_finds_and_colours_without_order_claim_nothing() -> None:
    (few, _) = colour_tests(coloured("brown", "open", 3) + coloured("tan", "deep", 2))
    assert few.association is None
    assert few.ordered is None
    (odd, _) = colour_tests(coloured("violet", "open", 4) + coloured("tan", "deep", 4))
    assert odd.association is not None
    assert odd.ordered is None
