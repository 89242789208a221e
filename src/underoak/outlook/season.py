"""The calendar of one season: days counted from 1 March, so that no autumn is cut at New Year."""

from __future__ import annotations

from datetime import date, timedelta

#: Days in the axis of one season (leap years included).
SEASON_DAYS = 366
#: 24 July: frosts before it belong to the spring (utah_climate_center, seen).
AUTUMN_STARTS = 145
_MARCH_FIRST = 60  # day of the year, 1 January = 1, in a common year


def season_of(day: date) -> int:
    """The season a day belongs to, named by the year of its March."""
    return day.year if day.month >= 3 else day.year - 1


def day_number(day: date) -> int:
    """Days since 1 March of the day's own season, 0 to 365."""
    return (day - date(season_of(day), 3, 1)).days


def day_of_season(season: int, number: float) -> date:
    """The day that stands ``number`` days after 1 March of the season."""
    return date(season, 3, 1) + timedelta(days=round(number))


def number_of_year_day(day_of_year: float) -> float:
    """Season day number of a day of the year (1 January = 1); January and February come last."""
    return (day_of_year - _MARCH_FIRST) % 365.0
