"""What missing rain does: it widens the interval of chances that lean on weather, and no others."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import pytest

from tests.unit.test_outlook_forecast import KIND, OAK, PLACE, TODAY, look
from underoak.desk.weather_note import WeatherNote, leaning
from underoak.model.weather import Station, WeatherSeries
from underoak.outlook.drivers import Climate, GroundFact, SeasonWeather, climate
from underoak.outlook.forecast import Basis, ChanceTable, chance_table
from underoak.outlook.learned import Learned
from underoak.outlook.reasons import Explanation
from underoak.outlook.season import SEASON_DAYS, day_number
from underoak.outlook.weather_terms import TERMS
from underoak.weather.ground_state import ground_state

#: Before the peak, where wetter ground means a higher chance.
DAYS = [TODAY + timedelta(days=n) for n in range(-16, -12)]
LITTER = TERMS.index("litter_wetness_10_days")
FIRST = date(2019, 1, 1)


def knowing(term: str, effect: float, *, climatology: bool = False) -> dict[str, Learned]:
    """A taxon whose only departure from the book is the effect of one weather term."""
    means, spread = np.array([effect]), np.zeros((1, 1))
    return {"kind": Learned("kind", (f"term:{term}",), means, spread, (2019,), 40, 35, climatology)}


def place(below: float, above: float, middle: float = 0.2) -> Climate:
    """A season with the litter at a departure that gaps leave open so far below and above."""
    terms = [np.zeros((SEASON_DAYS, len(TERMS))) for _ in range(3)]
    for table, value in zip(terms, (middle, middle - below, middle + above), strict=True):
        table[:, LITTER] = value
    usual = PLACE.usual
    weather = SeasonWeather(usual.warmth, usual.hard_freeze, usual.frost, 365, terms[0])
    if below or above:
        weather = replace(weather, dry=terms[1], wet=terms[2])
    return replace(PLACE, seasons={2025: weather})


def table(here: Climate, learned: dict[str, Learned] | None = None) -> ChanceTable:
    on = knowing("litter_wetness_10_days", 0.8)
    return chance_table(
        [OAK],
        [KIND],
        DAYS,
        climates={"wood": here},
        visits=(look(TODAY - timedelta(days=365), "prime"),),
        learned=on if learned is None else learned,
    )


def logit(chance: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    odds: npt.NDArray[np.float64] = np.log(chance / (1.0 - chance))
    return odds


def test_a_gap_widens_the_interval_by_the_chances_at_the_dry_and_the_wet_end() -> None:
    """Worked by hand: root of the sum of the squares of two half-widths, on the logit."""
    sure, gap = table(place(0.0, 0.0)), table(place(0.9, 0.5))
    dry, wet = table(place(0.0, 0.0, middle=-0.7)), table(place(0.0, 0.0, middle=0.7))
    assert gap.prime == pytest.approx(sure.prime, abs=1e-15), "the chance itself stays"
    assert (gap.low < sure.low).all()
    assert (gap.high > sure.high).all()
    middle = logit(sure.prime)
    ends = np.stack([logit(dry.prime), logit(wet.prime)]) - middle
    up, down = np.maximum(ends.max(axis=0), 0.0), np.maximum(-ends.min(axis=0), 0.0)
    assert logit(gap.high) - middle == pytest.approx(np.hypot(logit(sure.high) - middle, up))
    assert middle - logit(gap.low) == pytest.approx(np.hypot(middle - logit(sure.low), down))


def test_a_wider_gap_widens_more_and_the_sign_of_the_effect_does_not_matter() -> None:
    widths = [np.log(t.high / t.low) for t in (table(place(g, g)) for g in (0.0, 0.3, 0.9, 2.0))]
    assert all((wide > narrow).all() for narrow, wide in pairwise(widths))
    drying = knowing("litter_wetness_10_days", -0.8)
    assert (table(place(0.9, 0.9), drying).high > table(place(0.0, 0.0), drying).high).all()


@pytest.mark.parametrize(
    "learned",
    [{}, knowing("cooling_10_days", 0.8), knowing("litter_wetness_10_days", 0.8, climatology=True)],
    ids=["weather off", "only a term without water on", "plain rate shown"],
)
def test_what_does_not_lean_on_water_is_as_before(learned: dict[str, Learned]) -> None:
    sure, gap = table(place(0.0, 0.0), learned), table(place(0.9, 0.9), learned)
    for name in ("prime", "low", "high"):
        assert getattr(gap, name).tobytes() == getattr(sure, name).tobytes()


def test_a_gap_after_the_last_asked_day_is_no_doubt_of_today() -> None:
    here = place(0.9, 0.9)
    weather = here.seasons[2025]
    assert weather.dry is not None
    assert weather.wet is not None
    known = np.arange(SEASON_DAYS)[:, None] <= day_number(DAYS[-1])
    late = replace(
        weather,
        dry=np.where(known, weather.terms, weather.dry),
        wet=np.where(known, weather.terms, weather.wet),
    )
    assert table(replace(here, seasons={2025: late})).low == pytest.approx(table(place(0.0, 0.0)).low)


def climate_of(missing: slice) -> Climate:
    """Invented weather of seven years, showers that differ by the year, with rain missing on some days."""
    days = (TODAY - FIRST).days + 1
    of_year = np.array([(FIRST + timedelta(days=n)).timetuple().tm_yday for n in range(days)], dtype=float)
    tmax = 16.0 - 14.0 * np.cos(2.0 * np.pi * (of_year - 20.0) / 365.0)
    rain = np.random.default_rng(3).gamma(0.2, 15.0, days)
    rain[missing] = np.nan
    values = {"rain_mm": rain, "tmax_c": tmax, "tmin_c": tmax - 9.0}
    none = np.zeros(days, dtype=bool)
    series = WeatherSeries(Station("s", "Invented"), FIRST, values, none, dict.fromkeys(values, none))
    ground = ground_state(series, latitude_deg=41.5, elevation_m=100.0)
    return climate(ground, latitude_deg=41.5, elevation_m=100.0, today=TODAY)


def test_missing_rain_opens_the_terms_of_water_and_leaves_the_others() -> None:
    weather, today = climate_of(slice(-20, None)).of(2025), day_number(TODAY)
    assert weather.dry is not None
    assert weather.wet is not None
    for name in ("litter_wetness_10_days", "rain_10_30_days"):
        at = TERMS.index(name)
        assert weather.dry[today, at] < weather.terms[today, at] <= weather.wet[today, at], name
    for name in ("cooling_10_days", "soil_warmth_10_days"):
        at = TERMS.index(name)
        assert (weather.dry[:, at] == weather.terms[:, at]).all()
        assert (weather.wet[:, at] == weather.terms[:, at]).all()
    assert not weather.open_by(today - 25, TERMS)


def test_a_record_without_gaps_leaves_nothing_open_once_its_start_is_forgotten() -> None:
    weather = climate_of(slice(0, 0)).of(2025)
    assert weather.dry is None
    assert weather.wet is None


NOTE = WeatherNote(rain_missing=20, ground=(GroundFact("litter_wetness", 0.5, 0.4, 0.1, 0.9),))


def test_the_words_say_whose_interval_it_widens() -> None:
    (off,) = leaning(NOTE, {"Hen": False, "Honey": False}).notes
    assert off == (
        "The rain that is missing widens no interval: no chance here leans on rain, for the weather terms "
        "are off."
    )
    (one,) = leaning(NOTE, {"Hen": False}).notes
    assert "the chance of Hen does not lean on rain" in one
    (some,) = leaning(NOTE, {"Hen": True, "Honey": False}).notes
    assert some == "The rain that is missing widens the interval of Hen; the others do not lean on rain."
    assert leaning(replace(NOTE, rain_missing=0), {"Hen": True}).notes == ()


def test_a_term_that_is_on_is_the_reason_that_is_told() -> None:
    here = place(0.0, 0.0, middle=1.2)
    past = (look(TODAY - timedelta(days=365), "prime"),)

    def words(effect: float) -> str:
        basis = Basis({"wood": here}, past, learned=knowing("litter_wetness_10_days", effect))
        steps = Explanation([OAK], [KIND], DAYS[:1], basis).all_steps(0, 0, 0)
        return " ".join(reason.words for reason in steps)

    assert "litter wetter than usual: it hastens flushes, as your seasons taught" in words(0.8)
    assert "litter wetter than usual: it holds back flushes" in words(-0.8)
    assert "litter" not in words(0.01)
