"""How long a walk may last on a day: from leaving to a margin before sunset."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from underoak.errors import NoAnswer, UserMistake

#: Back at the car this long before sunset: it is dark under trees earlier. Common practice, no source.
MARGIN_MIN = 45.0


@dataclass(frozen=True, slots=True)
class WalkTime:
    """Moments of one day out, with their time zone; ``minutes`` is what the walk may take."""

    leaves_at: datetime
    back_by: datetime
    sunset_at: datetime | None
    minutes: float
    cut_by_dusk: bool


def walk_time(
    day: date, *, leaves: time, hours: float, latitude_deg: float, longitude_deg: float, timezone: str,
    margin_min: float = MARGIN_MIN,
) -> WalkTime:  # fmt: skip
    """The time there is.

    Raises
    ------
    UserMistake   for hours that are not above 0 and at most 16, or an unknown time zone
    NoAnswer      when it is too late, too early or never light on that day

    **Fails towards** coming back early: hours are cut at the margin before sunset.
    """
    from underoak.weather.daylight import sun_times

    if not 0.0 < hours <= 16.0:
        raise UserMistake(f"{hours:g} hours", where="--hours", expected="more than 0 and at most 16")
    try:
        zone = ZoneInfo(timezone)
    except (ZoneInfoNotFoundError, ValueError) as error:
        raise UserMistake(
            f"there is no time zone {timezone!r}", where="where.timezone in underoak.toml",
            expected="a name such as America/New_York",
        ) from error  # fmt: skip
    midnight = datetime.combine(day, time(0), tzinfo=zone)
    start = datetime.combine(day, leaves, tzinfo=zone)
    offset = start.utcoffset() or timedelta(0)
    sun = sun_times(
        day,
        latitude_deg=latitude_deg,
        longitude_deg=longitude_deg,
        utc_offset_h=offset.total_seconds() / 3600.0,
    )
    if sun.sunset_min is None or sun.dawn_min is None:
        raise NoAnswer(f"the sun does not rise and set at this place on {day}", remedy="choose another day")
    dawn, sunset = (midnight + timedelta(minutes=m) for m in (sun.dawn_min, sun.sunset_min))
    if start < dawn:
        raise NoAnswer(f"it is dark until {dawn:%H:%M}", remedy="leave later: --start HH:MM")
    latest = sunset - timedelta(minutes=margin_min)
    if latest <= start:
        raise NoAnswer(
            f"no daylight is left: the sun sets at {sunset:%H:%M} and the walk has to end by {latest:%H:%M}",
            remedy="leave earlier: --start HH:MM",
        )
    wanted = start + timedelta(hours=hours)
    back_by = min(wanted, latest)
    return WalkTime(start, back_by, sunset, (back_by - start).total_seconds() / 60.0, latest < wanted)
