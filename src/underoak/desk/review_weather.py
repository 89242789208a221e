"""The weather that the review needs: first frosts, and what came before each season's finds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from underoak.desk.place_weather import nearest_series
from underoak.errors import NoAnswer
from underoak.ledger.connection import Ledger
from underoak.model.household import Whereabouts
from underoak.model.visits import Visit
from underoak.model.weather import WeatherSeries
from underoak.review.onset import season_onsets
from underoak.review.weather_answer import WeatherAnswer, weather_answers
from underoak.weather.frost import station_first_frosts
from underoak.weather.gaps import fill_gaps
from underoak.weather.ground_state import ground_state


@dataclass(frozen=True, slots=True)
class ReviewWeather:
    """The home's station, its first frosts by season and the answers tried; ``words`` say what is missing."""

    series: WeatherSeries | None
    first_frosts: dict[int, date]
    answers: tuple[WeatherAnswer, ...]
    words: str = ""


def review_weather(
    connection: Ledger, where: Whereabouts, visits: Sequence[Visit], *, until: date
) -> ReviewWeather:
    """Weather up to ``until`` from the station nearest to the home; never raises for missing weather."""
    series = nearest_series(connection, where, today=until)
    if series is None:
        return ReviewWeather(
            None, {}, (), "Which weather the seasons answer to: no usable station is loaded."
        )
    frosts = {f.year: f.day for f in station_first_frosts(series) if f.valid and f.day and f.day <= until}
    try:
        filled = fill_gaps(series)
        ground = ground_state(filled, latitude_deg=where.latitude_deg, elevation_m=where.elevation_m)
        answers = weather_answers(season_onsets(visits), filled, ground.eto_mm)
    except NoAnswer as error:
        return ReviewWeather(series, frosts, (), f"Which weather the seasons answer to: {error}.")
    return ReviewWeather(filled, frosts, answers)
