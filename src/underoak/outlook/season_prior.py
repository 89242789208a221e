"""When a flush begins, from the book alone: a spread of days moved to the place."""

from __future__ import annotations

from dataclasses import dataclass
from math import erf, exp, pi, sqrt
from typing import TYPE_CHECKING

from underoak.outlook.season import number_of_year_day

if TYPE_CHECKING:
    from underoak.model.book import Season

#: Share of the records' standard deviation that is left for the onset of one flush: records also
#: spread by how long fruit bodies stand and by who was out looking (own judgement).
ONSET_SHARE = 0.6
#: Of the records' standard deviation, what seasons, places and spots each differ by. Measured for one
#: polypore: the year explains 4 to 5 % of the variance of dates, hence 0.2 of the deviation.
SEASON_SHARE = PLACE_SHARE = SPOT_SHARE = 0.2
#: A flush shows itself this share of its prime days before it is prime (own judgement).
YOUNG_SHARE = 0.4
#: Height above the sea that the book's dates stand for, m (own judgement for the records used).
RECORDS_ELEVATION_M = 100.0
#: The law is a rule of thumb; no window is moved further than this.
LARGEST_SHIFT_DAYS = 25.0


@dataclass(frozen=True, slots=True)
class Frost:
    """The first frost of one autumn, as a season day number; ``seen`` when it has happened."""

    mean_day: float
    sd_days: float
    seen: bool = False


@dataclass(frozen=True, slots=True)
class Onset:
    """When a flush begins to show at a spot that fruits: season day number, and the parts of its spread.

    ``residual_sd`` is between flushes of the same spot and season, ``season_sd`` what all spots of a
    season share, ``own_sd`` what a place and spot keep over the seasons. ``young_days`` and
    ``prime_days`` are mean lengths of the two stages. ``term_effects`` are (weather term, effect on the
    log of the daily hazard) where they are switched on.
    """

    mean_day: float
    residual_sd: float
    season_sd: float
    own_sd: float
    young_days: float
    prime_days: float
    term_effects: tuple[tuple[str, float], ...] = ()


def seasonal_sign(day_of_year: float) -> float:
    """+1 while things come later northward (spring), -1 when they come earlier (autumn).

    It turns in a straight line between the June solstice (day 172) and the September equinox (day 265):
    dated records of a summer polypore from 36 to 43 N hardly move with latitude around day 215.
    """
    return min(1.0, max(-1.0, 1.0 - 2.0 * (day_of_year - 172.0) / (265.0 - 172.0)))


def bioclimatic_shift_days(
    day_of_year: float, *, latitude_deg: float, elevation_m: float, from_latitude_deg: float
) -> float:
    """Days by which a date of the season is later (+) or earlier (-) at a place.

    Parameters
    ----------
    day_of_year : 1 to 366
    latitude_deg, elevation_m : degrees north, metres
        The place.
    from_latitude_deg : degrees north
        Where the date was taken, at `RECORDS_ELEVATION_M`.

    Method
    ------
    4 days for each degree of latitude and each 122 m (400 ft), later in spring and earlier in autumn
    (`seasonal_sign`), at most 25 days. Longitude is left out: the book does not carry it.

    Source
    ------
    hopkins_1920 (second-hand); richardson_2019 (abstract seen), for leaf-out and leaf-fall.
    """
    northward = 4.0 * (latitude_deg - from_latitude_deg) + 4.0 * (elevation_m - RECORDS_ELEVATION_M) / 122.0
    shift = seasonal_sign(day_of_year) * northward
    return max(-LARGEST_SHIFT_DAYS, min(LARGEST_SHIFT_DAYS, shift))


def usual_frost(latitude_deg: float, elevation_m: float) -> Frost:
    """First frost where no weather record is at hand: day of the year 290 at 41.5 N and 100 m.

    Moved by the bioclimatic law, with a standard deviation of 12 days. From memory of inland stations
    of the north-eastern United States; a station's own autumns replace it.
    """
    shift = bioclimatic_shift_days(
        290.0, latitude_deg=latitude_deg, elevation_m=elevation_m, from_latitude_deg=41.5
    )
    return Frost(number_of_year_day(290.0 + shift), 12.0)


def frost_not_before(frost: Frost, number: float) -> Frost:
    """What is left of an unseen first frost when it has not come by season day ``number``.

    Mean and standard deviation of the normal truncated below (Johnson, Kotz & Balakrishnan 1994, from
    memory); a frost that was seen is returned as it is.
    """
    if frost.seen or frost.sd_days == 0.0:
        return frost
    z = (number - frost.mean_day) / frost.sd_days
    left = 0.5 * (1.0 - erf(z / sqrt(2.0)))
    if left < 1e-6:
        return Frost(number + 1.0, 1.0)
    mills = exp(-0.5 * z * z) / sqrt(2.0 * pi) / left
    return Frost(
        frost.mean_day + frost.sd_days * mills,
        frost.sd_days * sqrt(max(1.0 + z * mills - mills * mills, 1e-3)),
    )


def record_centre(season: Season, *, latitude_deg: float, elevation_m: float, frost: Frost) -> float:
    """Season day number of the middle of dated records of a taxon at a place; see `onset_prior`."""
    if season.anchor == "first_frost":
        return frost.mean_day + season.median
    shift = bioclimatic_shift_days(
        season.median,
        latitude_deg=latitude_deg,
        elevation_m=elevation_m,
        from_latitude_deg=season.at_latitude_deg,
    )
    return number_of_year_day(season.median + shift)


def onset_prior(season: Season, *, latitude_deg: float, elevation_m: float, frost: Frost) -> Onset:
    """Onset of a taxon's flush at a place, from the season block of the book.

    Parameters
    ----------
    season : Season
        Median and spread of dated records, by day of the year or around the first frost.
    latitude_deg, elevation_m : degrees north, metres
        The place.
    frost : Frost
        First frost there, usual or seen; only used where the book anchors on it.

    Method
    ------
    The median of records is the middle of what stands, so the onset lies half the prime days and all
    young days before it. Spread of one flush: `ONSET_SHARE` of the records' deviation in all, of which
    season, place and spot take their shares; an unseen frost adds its own.
    """
    centre = record_centre(season, latitude_deg=latitude_deg, elevation_m=elevation_m, frost=frost)
    anchor_sd = frost.sd_days if season.anchor == "first_frost" else 0.0
    sd = season.sd_days
    own = PLACE_SHARE**2 + SPOT_SHARE**2
    young = YOUNG_SHARE * season.prime_days
    return Onset(
        mean_day=centre - 0.5 * season.prime_days - young,
        residual_sd=sd * sqrt(ONSET_SHARE**2 - SEASON_SHARE**2 - own),
        season_sd=sqrt((SEASON_SHARE * sd) ** 2 + anchor_sd**2),
        own_sd=sd * sqrt(own),
        young_days=max(young, 1.0),
        prime_days=max(season.prime_days, 1.0),
    )
