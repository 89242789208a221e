"""Other people's dated reports: what their timing says about a season, never their number."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from underoak.outlook.season import SEASON_DAYS, day_number, season_of
from underoak.outlook.season_prior import Frost, record_centre

if TYPE_CHECKING:
    from underoak.model.book import Season
    from underoak.model.visits import Report

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.intp]

#: However many reports there are, they count as at most this many: they copy each other and the weekends.
MOST_COUNTED = 20.0


@dataclass(frozen=True, slots=True)
class ReportDays:
    """Reports of one taxon: season and season day number (reports,).

    ``centre`` is the day number that the book expects in the middle of the region's records, ``sd_days``
    their spread.
    """

    season: IntArray
    day: FloatArray
    centre: float
    sd_days: float

    def where(self, keep: npt.NDArray[np.bool_]) -> ReportDays:
        """The reports for which ``keep`` (reports,) is true."""
        return ReportDays(self.season[keep], self.day[keep], self.centre, self.sd_days)

    def until(self, season: int, day: float) -> ReportDays:
        """The reports of one season that were made by a day number."""
        return self.where((self.season == season) & (self.day <= day))

    @property
    def weight(self) -> FloatArray:
        """What each report counts: n of one season count as n/(1 + n/20) in all."""
        _, which, count = np.unique(self.season, return_inverse=True, return_counts=True)
        weight: FloatArray = 1.0 / (1.0 + count[which.ravel()] / MOST_COUNTED)
        return weight

    def log_likelihood(self, shift: FloatArray, last_day: float = float(SEASON_DAYS)) -> FloatArray:
        """Log-likelihood (shifts, reports) of each report's day if records are ``shift`` days late.

        ``last_day`` is the last day number on which a report could have been made.
        """
        from scipy.special import log_ndtr

        z = (self.day - self.centre - shift[:, None]) / self.sd_days
        cut = log_ndtr((last_day + 1.0 - self.centre - shift[:, None]) / self.sd_days)
        parts: FloatArray = self.weight * (-0.5 * z * z - cut)
        return parts

    def whole_seasons(self, shift: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Log-likelihood and its slope (reports,) by each report's own shift (reports,), seasons over."""
        from scipy.special import log_ndtr

        z = (self.day - self.centre - shift) / self.sd_days
        c = (SEASON_DAYS + 1.0 - self.centre - shift) / self.sd_days
        mills = np.exp(-0.5 * c * c - log_ndtr(c)) / np.sqrt(2.0 * np.pi)
        return self.weight * (-0.5 * z * z - log_ndtr(c)), self.weight * (z + mills) / self.sd_days


def report_days(
    taxon_id: str,
    season: Season,
    reports: Iterable[Report],
    *,
    latitude_deg: float,
    elevation_m: float,
    frost: Frost,
    until: date,
) -> ReportDays:
    """Days of all reports of a taxon as present, up to ``until``.

    Method
    ------
    A report's day is normal around the middle of records, cut at the last day that could have been
    reported. n reports of one season weigh n/(1 + n/20) in all: their number tells of people, only their
    days tell of the season.

    Source
    ------
    Observer effort in presence-only records (weekends 1.5 times, rainy days 0.74 times): own measurement
    in the project's data. The weight is own judgement.
    """
    centre = record_centre(season, latitude_deg=latitude_deg, elevation_m=elevation_m, frost=frost)
    used = [r for r in reports if r.taxon_id == taxon_id and r.present and r.day <= until]
    return ReportDays(
        season=np.array([season_of(r.day) for r in used], dtype=np.intp),
        day=np.array([day_number(r.day) for r in used], dtype=np.float64),
        centre=centre,
        sd_days=season.sd_days,
    )
