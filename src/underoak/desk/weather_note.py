"""What weather an answer stands on, in figures and in words."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

from underoak.desk.doubtful_rain import DRY_DAYS

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from underoak.outlook.drivers import Climate, GroundFact
    from underoak.weather.blend import Blend

#: Further than this the page says so.
FAR_KM = 40.0
#: Weather older than this no longer says what state the ground is in.
STALE_DAYS = 3
#: Stations are compared, and gaps counted, over as many days before the last observed one.
LOOK_BACK_DAYS = 30
#: Wetness that gaps leave open by more than this is told.
OPEN_WETNESS = 0.15
STILL = "Season, hosts and your own visits still answer; frost is taken as usual for the place."


@dataclass(frozen=True, slots=True)
class StationShare:
    """A station of the blend: its distance from home, and its weight from 0 to 1."""

    name: str
    distance_km: float
    share: float


def named(stations: Sequence[StationShare]) -> str:
    """One station by its name; several with their distances and weights."""
    if len(stations) == 1:
        return stations[0].name
    return ", ".join(f"{s.name} ({s.distance_km:.0f} km, {100 * s.share:.0f} %)" for s in stations)


def shares(blend: Blend) -> tuple[StationShare, ...]:
    """The stations of a blend, nearest first."""
    return tuple(StationShare(s.station.name, s.distance_km, s.share) for s in blend.sources)


@dataclass(frozen=True, slots=True)
class WeatherNote:
    """What weather an answer stands on.

    ``station`` is the nearest of ``stations``, empty without usable weather; ``distance_km`` is from home,
    None where nobody noted where it stands. ``past_years`` are those whose days stand in after the last
    known one; ``ground`` is its state on the last observed day. ``rain_missing`` is how many of the last 60
    days have no reading of rain. ``notes`` say what is missing and what can still be said.
    """

    station: str = ""
    distance_km: float | None = None
    observed_to: date | None = None
    forecast_to: date | None = None
    stations: tuple[StationShare, ...] = ()
    past_years: tuple[int, ...] = ()
    ground: tuple[GroundFact, ...] = ()
    rain_missing: int = 0
    notes: tuple[str, ...] = ()

    @property
    def source(self) -> str:
        """The station, or all stations of the blend with distance and weight."""
        return named(self.stations) or self.station

    def telling(self, *words: str) -> WeatherNote:
        """The same note with more words."""
        return replace(self, notes=(*self.notes, *words))


def note_of(blend: Blend, climates: Sequence[Climate], doubted: Sequence[str], today: date) -> WeatherNote:
    """The note on the blend at home, the climates of the places, and stations whose rain is doubted."""
    series = blend.series
    observed = [n for n in range(series.days) if not series.forecast[n]]
    if not observed:
        return WeatherNote().telling(f"The stations have forecasts only, no observed day. {STILL}")
    last = series.first_day + timedelta(days=observed[-1])
    nearest = blend.sources[0]
    placed = nearest.station.latitude_deg is not None
    facts = next((climate.facts for climate in climates), ())
    note = WeatherNote(
        station=nearest.station.name,
        distance_km=nearest.distance_km if placed else None,
        observed_to=last,
        forecast_to=series.last_day if series.last_day > last else None,
        stations=shares(blend),
        past_years=tuple(sorted(next((climate.futures for climate in climates), {}))),
        ground=facts,
        rain_missing=_rain_missing(blend, observed),
    )
    told = note.telling(
        *_station_words(blend, observed), *_age_words(note, last, today), *_rain_words(observed, note)
    )
    return _doubting(told, doubted)


def _station_words(blend: Blend, observed: Sequence[int]) -> list[str]:
    words = []
    nearest = blend.sources[0]
    name = nearest.station.name
    if nearest.station.latitude_deg is None:
        words.append(f"Nobody noted where the station {name} stands; it is taken for yours.")
    elif nearest.distance_km > FAR_KM:
        words.append(
            f"The nearest station, {name}, is {nearest.distance_km:.0f} km away: showers may differ."
        )
    flat = [source.station.name for source in blend.sources if source.climb_m is None]
    if flat:
        words.append(
            f"Nobody noted how high {', '.join(flat)} stands; its temperatures are taken as they are."
        )
    if len(blend.sources) > 1:
        words.append(f"Weather is blended from {named(shares(blend))}{_differences(blend, observed)}.")
    return words


def _differences(blend: Blend, observed: Sequence[int]) -> str:
    import numpy as np

    told = []
    for quantity, words in (("rain_mm", "{:.1f} mm of rain"), ("tmin_c", "{:.1f} °C at night")):
        apart = blend.spread.get(quantity, np.zeros(0))
        known = apart[list(observed)[-LOOK_BACK_DAYS:]] if len(apart) else apart
        if np.isfinite(known).any():
            told.append(words.format(float(np.nanmean(known))))
    days = min(LOOK_BACK_DAYS, len(observed))
    return f"; over the last {days} days they differ by {' and '.join(told)} a day" if told else ""


def _age_words(note: WeatherNote, last: date, today: date) -> list[str]:
    words = []
    if last > today:
        words.append(f"The weather runs to {last}, after the day you stand on; later days count too.")
    years = note.past_years
    spread = f"go as they went in {len(years)} past years ({years[0]} to {years[-1]})" if years else ""
    age = (today - last).days
    if age > STALE_DAYS:
        since = f"the days since then {spread}" if years else "frost and warmth since then are taken as usual"
        words.append(
            f"The weather ends on {last}, {age} days ago: {since}. "
            "Load newer days with 'underoak load weather FILE'."
        )
    if note.forecast_to is None or note.forecast_to <= today:
        words.append(f"No forecast is loaded: the days ahead {spread or 'have the weather that is usual'}.")
    return words


def _rain_missing(blend: Blend, observed: Sequence[int]) -> int:
    import numpy as np

    rain = blend.series.values.get("rain_mm")
    days = list(observed)[-2 * LOOK_BACK_DAYS :]
    return len(days) if rain is None else int(np.isnan(rain[days]).sum())


def _unsure(note: WeatherNote) -> list[GroundFact]:
    """What of the ground the gaps leave open."""
    return [fact for fact in note.ground if fact.high - fact.low > OPEN_WETNESS]


def leaning(note: WeatherNote, leans: Mapping[str, bool]) -> WeatherNote:
    """The note with what gaps in the rain do to intervals; ``leans``: taxon name -> weather terms are on."""
    on = [name for name, is_on in leans.items() if is_on]
    if not note.rain_missing or not (on or _unsure(note)):
        return note
    gap = "The rain that is missing"
    if not on:
        whose = (
            "no chance here leans"
            if len(leans) > 1
            else f"the chance of {next(iter(leans), '')} does not lean"
        )
        return note.telling(f"{gap} widens no interval: {whose} on rain, for the weather terms are off.")
    rest = "; the others do not lean on rain" if len(on) < len(leans) else ""
    return note.telling(f"{gap} widens the interval of {', '.join(on)}{rest}.")


def _rain_words(observed: Sequence[int], note: WeatherNote) -> list[str]:
    """Gaps in the rain, where they leave the wetness of the ground open."""
    unsure = _unsure(note)
    if not note.rain_missing or not unsure:
        return []
    names = {"litter_wetness": "the litter", "root_wetness": "the root zone"}
    spans = [f"{names[f.name]} from {100 * f.low:.0f} to {100 * f.high:.0f} % wet" for f in unsure]
    days = min(len(observed), 2 * LOOK_BACK_DAYS)
    return [
        f"Rain is missing on {note.rain_missing} of the last {days} days and was filled with what is usual: "
        f"{' and '.join(spans)} would fit."
    ]


def _doubting(note: WeatherNote, doubted: Sequence[str]) -> WeatherNote:
    if not doubted:
        return note
    words = (
        f"Rain is zero on each of the last {DRY_DAYS} days or more at {', '.join(doubted)}: look "
        "whether the rain column was read. That rain is not used"
    )
    if len(doubted) < len(note.stations):
        return note.telling(f"{words}; the other stations' is.")
    dry = tuple(fact for fact in note.ground if not fact.name.endswith("wetness"))
    return replace(note, ground=dry).telling(
        f"{words}: the wetness of the ground is left out, and chances do not lean on rain."
    )
