"""Why a chance is what it is: each part of the knowledge left out in turn, and what that changes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from math import log
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from underoak.model.outlook import Reason
from underoak.outlook.forecast import Basis
from underoak.outlook.looks import NONE, PAST, PRIME, YOUNG, Looks
from underoak.outlook.season import AUTUMN_STARTS, SEASON_DAYS, day_number, day_of_season, season_of
from underoak.outlook.sightings import as_sightings
from underoak.outlook.weather_terms import TERM_WORDS

if TYPE_CHECKING:
    from underoak.model.ground import Spot
    from underoak.outlook.drivers import SeasonWeather
    from underoak.outlook.learned import Learned
    from underoak.outlook.season_prior import Frost
    from underoak.outlook.taxon_outlook import Forecastable

FloatArray = npt.NDArray[np.float64]

#: A part that moves the odds by less is no reason, and no more than these are told.
SMALLEST_RATIO, MOST_REASONS = 1.15, 3
#: Weather terms are told by their mean of so many days, and where they move the log hazard by this much.
TERM_DAYS, LEAST_PUSH = 10, 0.05
_SEEN = {YOUNG: "found young", PRIME: "found prime", PAST: "found past its prime"}


class Explanation:
    """Reasons for every spot, taxon and day of a forecast; computed once, asked often.

    Method
    ------
    The chance is built up in steps: the taxon's season alone, then earlier seasons, this season's visits
    and reports, the weather. The size of a step is the ratio of odds with and without it; the date's is
    against the mean of the days on which the taxon fruits at all (a twentieth of its peak or more), the
    host's against a fitting tree of usual size.
    """

    def __init__(
        self,
        spots: Sequence[Spot],
        taxa: Sequence[Forecastable],
        days: Sequence[date],
        basis: Basis,
    ) -> None:
        self._spots, self._taxa, self._days = spots, taxa, days
        self._climates, self._learned = basis.climates, basis.learned
        self._plain = {taxon_id for taxon_id, one in basis.learned.items() if one.climatology}
        season = season_of(days[0])
        position = {spot.id: n for n, spot in enumerate(spots)}
        seen = as_sightings(basis.visits)
        basis = replace(basis, visits=seen)
        self._looks = [seen.looks_for(taxon.id, position) for taxon in taxa]
        usual = {place: climate.without_weather() for place, climate in basis.climates.items()}
        earlier = seen.until(season - 1, SEASON_DAYS)
        alone = replace(basis, climates=usual, visits=(), reports=())
        year = [date(season, 3, 1) + timedelta(days=n) for n in range(SEASON_DAYS - 1)]
        curve = alone.table(spots, taxa, year, with_interval=False).prime
        self._peak = curve.argmax(axis=2)

        def odds(basis: Basis) -> FloatArray:
            chance = basis.table(spots, taxa, days, with_interval=False).prime
            return chance / (1.0 - chance)

        steps = [
            _mean_odds(curve)[:, :, None],
            odds(alone),
            odds(replace(alone, visits=earlier)),
            odds(replace(alone, visits=seen, reports=basis.reports)),
            odds(basis),
        ]
        names = ("date", "memory", "visits", "weather")
        self._ratios = {name: steps[n + 1] / steps[n] for n, name in enumerate(names)}
        self._ratios["host"] = np.repeat(self._host_ratio(alone)[:, :, None], len(days), axis=2)

    def ratios(self, spot: int, taxon: int, day: int) -> dict[str, float]:
        """Ratio of odds of every step, by name: date, host, memory, visits, weather."""
        return {name: float(ratio[spot, taxon, day]) for name, ratio in self._ratios.items()}

    def reasons(self, spot: int, taxon: int, day: int) -> tuple[Reason, ...]:
        """The two or three parts that matter most, largest first; positions as in the forecast."""
        steps = self.all_steps(spot, taxon, day)
        large = [s for s in steps if max(s.odds_ratio, 1.0 / s.odds_ratio) >= SMALLEST_RATIO]
        return tuple(large[:MOST_REASONS])

    def all_steps(self, spot: int, taxon: int, day: int) -> tuple[Reason, ...]:
        """Every part that moved the chance at all, largest first."""
        ratios = self.ratios(spot, taxon, day)
        if self._taxa[taxon].id in self._plain:
            moved = ratios["date"] * ratios["memory"] * ratios["visits"] * ratios["weather"]
            return (Reason("your own plain rate at this time and spot: the model did no better", moved),)
        order = sorted(ratios, key=lambda name: -abs(log(ratios[name])))
        return tuple(
            Reason(getattr(self, f"_{name}_words")(spot, taxon, day), ratios[name])
            for name in order
            if abs(log(ratios[name])) > 1e-6
        )

    def _host_ratio(self, alone: Basis) -> FloatArray:
        """Odds of each spot against a fitting host of usual size, (spots, taxa)."""
        first = self._days[:1]
        ratios = np.ones((len(self._spots), len(self._taxa)))
        for t, taxon in enumerate(self._taxa):
            if taxon.habitat.hosts:
                best = max(taxon.habitat.hosts, key=lambda host: taxon.habitat.hosts[host])
                fitting = [replace(spot, host_group=best, diameter_cm=None) for spot in self._spots]
                tables = [
                    alone.table(spots, [taxon], first, with_interval=False)
                    for spots in (self._spots, fitting)
                ]
                pair = [table.prime[:, 0, 0] for table in tables]
                ratios[:, t] = pair[0] * (1.0 - pair[1]) / (pair[1] * (1.0 - pair[0]))
        return ratios

    def _date_words(self, spot: int, taxon: int, day: int) -> str:
        peak = int(self._peak[spot, taxon])
        season = season_of(self._days[day])
        off = day_number(self._days[day]) - peak
        when = _say(day_of_season(season, peak))
        if abs(off) <= 3:
            return f"about its usual peak here, {when}"
        return f"{abs(off)} days {'before' if off < 0 else 'after'} its usual peak here, {when}"

    def _host_words(self, spot: int, taxon: int, day: int) -> str:  # noqa: ARG002
        where = self._spots[spot]
        host = where.host_group.replace("_", " ")
        trunk = f", trunk {where.diameter_cm:.0f} cm" if where.diameter_cm is not None else ""
        if where.host_group == "unknown":
            return f"nobody noted what tree stands here{trunk}"
        more = self._ratios["host"][spot, taxon, 0] >= 1.0
        return f"{host}{trunk}: {'likelier' if more else 'less likely'} than a usual fitting tree"

    def _memory_words(self, spot: int, taxon: int, day: int) -> str:
        looks = self._looks[taxon]
        mine = (looks.spot == spot) & (looks.season < season_of(self._days[day]))
        seasons = sorted({int(season) for season in looks.season[mine]})
        found = sorted({int(season) for season in looks.season[mine & (looks.outcome != NONE)]})
        if not found:
            return f"looked for in {_count(len(seasons), 'earlier season')}, never found"
        years = ", ".join(str(season) for season in found)
        return f"found here in {len(found)} of {_count(len(seasons), 'season')} looked at ({years})"

    def _visits_words(self, spot: int, taxon: int, day: int) -> str:
        looks, today = self._looks[taxon], self._days[day]
        season = season_of(today)
        mine = looks.where((looks.spot == spot) & (looks.season == season) & (looks.day <= day_number(today)))
        if not len(mine.day):
            for_it = self._ratios["visits"][spot, taxon, day] > 1.0
            return f"what was seen elsewhere this season speaks {'for' if for_it else 'against'} this day"
        seen = np.flatnonzero(mine.outcome != NONE)
        if len(seen):
            last = int(seen[-1])
            words = f"{_SEEN[int(mine.outcome[last])]} on {_say(day_of_season(season, int(mine.day[last])))}"
            return words + _blanks_after(mine, last)
        when = _say(day_of_season(season, int(mine.day[-1])))
        return (
            f"looked at {_count(len(mine.day), 'time')} this season, last on {when}, and nothing stood there"
        )

    def _weather_words(self, spot: int, taxon: int, day: int) -> str:
        climate, today = self._climates[self._spots[spot].place_id], self._days[day]
        season, number = season_of(today), day_number(today)
        weather, usual = climate.of(season), climate.usual
        block = self._taxa[taxon].season
        if block is not None and block.anchor == "first_frost":
            return _frost_words(weather, usual.frost, season)
        learned_words = _term_words(weather, self._learned.get(self._taxa[taxon].id), number)
        if learned_words:
            return learned_words
        froze = np.flatnonzero(weather.hard_freeze[AUTUMN_STARTS : number + 1] == 1.0)
        if len(froze):
            return f"hard freeze on {_say(day_of_season(season, AUTUMN_STARTS + int(froze[-1])))}"
        if climate.open_years(season, number) and np.all(weather.warmth[number - 9 : number + 1] == 1.0):
            years = len(climate.futures)
            return f"how the weather went on after this date in {_count(years, 'past year')}"
        if weather.warmth[max(0, number - 9) : number + 1].mean() > 1.0:
            return "the ground is warmer than usual: what stands passes sooner"
        return "the ground is cooler than usual: what stands keeps longer"


def _term_words(weather: SeasonWeather, learned: Learned | None, day: int) -> str:
    """The weather term that moves the chance of onset most over the last known days; empty without one."""
    if learned is None or not learned.terms:
        return ""
    until = min(day, weather.known_to) + 1
    departure = weather.terms_named(learned.terms)[max(until - TERM_DAYS, 0) : until].sum(axis=0) / TERM_DAYS
    push = departure * np.array([learned.mean(f"term:{name}") for name in learned.terms])
    strongest = int(np.argmax(np.abs(push)))
    if abs(push[strongest]) < LEAST_PUSH:
        return ""
    above, below = TERM_WORDS[learned.terms[strongest]]
    way = "hastens" if push[strongest] > 0.0 else "holds back"
    return f"{above if departure[strongest] > 0.0 else below}: it {way} flushes, as your seasons taught"


def _frost_words(weather: SeasonWeather, usual: Frost, season: int) -> str:
    frost = weather.frost
    if not frost.seen:
        return f"no frost up to {_say(day_of_season(season, weather.known_to))}"
    off = round(frost.mean_day - usual.mean_day)
    when = _say(day_of_season(season, frost.mean_day))
    return f"first frost on {when}, {_count(abs(off), 'day')} {'later' if off > 0 else 'earlier'} than usual"


def _mean_odds(curve: FloatArray) -> FloatArray:
    """Odds (spots, taxa) of the mean chance over the days on which the taxon fruits at all."""
    on = curve >= curve.max(axis=2, keepdims=True) / 20.0
    mean = (curve * on).sum(axis=2) / on.sum(axis=2)
    odds: FloatArray = mean / (1.0 - mean)
    return odds


def _blanks_after(looks: Looks, last: int) -> str:
    since = len(looks.day) - last - 1
    return f", {_count(since, 'later look')} found nothing" if since else ""


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}{'' if number == 1 else 's'}"


def _say(day: date) -> str:
    return f"{day.day} {day:%B}"
