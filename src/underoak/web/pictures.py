"""Small pictures inside a page. Colours come from the style sheet; no meaning is in colour alone."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from typing import TYPE_CHECKING

from markupsafe import Markup, escape

if TYPE_CHECKING:
    from underoak.desk.around_week import SeasonSpan, WeatherDay

_WIDTH = 720


def _svg(height: int, title: str, words: str, parts: Sequence[str], name: str) -> Markup:
    head = (
        f'<svg class="picture {name}" viewBox="0 0 {_WIDTH} {height}" role="img" '
        f'aria-labelledby="{name}-title {name}-words"><title id="{name}-title">{escape(title)}</title>'
        f'<desc id="{name}-words">{escape(words)}</desc>'
    )
    return Markup(head + "".join(parts) + "</svg>")  # noqa: S704 - every text in it is escaped above


def weather_strip(days: Sequence[WeatherDay], today: date) -> Markup:
    """Rain as bars and the span of the day's temperature, one column a day; forecast days are dashed."""
    step = (_WIDTH - 100) / max(len(days), 1)
    wettest = max([d.rain_mm for d in days if d.rain_mm is not None] + [10.0])
    temperatures = [t for d in days for t in (d.tmin_c, d.tmax_c) if t is not None] or [0.0, 10.0]
    low, high = min(temperatures), max(temperatures) + 0.1
    parts = [
        f'<text x="0" y="38">{high:.0f} °C</text><text x="0" y="88">{low:.0f} °C</text>',
        f'<text x="0" y="120">{wettest:.0f} mm</text>',
    ]
    for number, day in enumerate(days):
        x = 96 + number * step
        soon = " soon" if day.forecast else ""
        if day.tmin_c is not None and day.tmax_c is not None:
            top = 24 + 60 * (high - day.tmax_c) / (high - low)
            bottom = 24 + 60 * (high - day.tmin_c) / (high - low)
            parts.append(
                f'<rect class="warmth{soon}" x="{x + step * 0.3:.1f}" y="{top:.1f}" '
                f'width="{step * 0.4:.1f}" height="{max(bottom - top, 1.0):.1f}"/>'
            )
        if day.rain_mm:
            height = 60 * day.rain_mm / wettest
            parts.append(
                f'<rect class="rain{soon}" x="{x + step * 0.2:.1f}" y="{160 - height:.1f}" '
                f'width="{step * 0.6:.1f}" height="{height:.1f}"/>'
            )
        if day.day == today:
            parts.append(f'<path class="today" d="M{x:.1f} 18V162"/>')
        if day.day == today or (day.day.weekday() == 0 and abs((day.day - today).days) > 3):
            words = "today" if day.day == today else f"{day.day.day} {day.day:%b}"
            end = ' text-anchor="end"' if x > _WIDTH - 90 else ""
            parts.append(f'<text x="{min(x, _WIDTH - 4):.1f}" y="182"{end}>{words}</text>')
    rain = sum(d.rain_mm or 0.0 for d in days if not d.forecast)
    words = f"{rain:.0f} mm of rain in the observed days shown; temperatures from {low:.0f} to {high:.0f} °C."
    return _svg(190, "Rain and temperature by day", words, parts, "weather")


def season_strip(spans: Sequence[SeasonSpan], today: date) -> Markup:
    """When each gathered kind usually stands here: dark the middle two thirds, light nearly all."""
    if not spans:
        return Markup("")
    left, first = 330, date(min(s.centre for s in spans).year, 3, 1)
    scale = (_WIDTH - left - 10) / 366.0

    def x(day: date) -> float:
        return left + min(max((day - first).days, 0), 366) * scale

    height = 30 + 26 * len(spans)
    parts = []
    for month in range(12):
        start = date(first.year + (first.month + month - 1) // 12, (first.month + month - 1) % 12 + 1, 1)
        parts.append(f'<path class="grid" d="M{x(start):.1f} 18V{height}"/>')
        even = " even" if month % 2 else ""
        parts.append(f'<text class="small{even}" x="{x(start) + 2:.1f}" y="14">{start:%b}</text>')
    for row, span in enumerate(spans):
        y = 24 + 26 * row
        wide, middle = timedelta(days=2 * span.sd_days), timedelta(days=span.sd_days)
        parts.append(f'<text x="0" y="{y + 16}">{escape(span.common_name)}</text>')
        for reach, name in ((wide, "season-wide"), (middle, "season-middle")):
            a, b = x(span.centre - reach), x(span.centre + reach)
            parts.append(
                f'<rect class="{name}" x="{a:.1f}" y="{y}" width="{max(b - a, 2):.1f}" height="18" rx="4"/>'
            )
    if first <= today <= first + timedelta(days=366):
        parts.append(f'<path class="today" d="M{x(today):.1f} 16V{height}"/>')
    words = "; ".join(
        f"{s.common_name}: around {s.centre.day} {s.centre:%B}, give or take {s.sd_days:.0f} days"
        for s in spans
    )
    return _svg(height + 6, "When each kind usually stands here", words, parts, "seasons")


def chance_curve(chances: Sequence[float], first: date, asked: date) -> Markup:
    """The chance over a whole season, with the day that was asked about."""
    top = max([*chances, 0.01])
    step = (_WIDTH - 50) / max(len(chances) - 1, 1)
    points = " ".join(
        f"{46 + n * step:.1f},{150 - 120 * chance / top:.1f}" for n, chance in enumerate(chances)
    )
    at = 46 + min(max((asked - first).days, 0), len(chances) - 1) * step
    parts = [
        f'<text x="0" y="34">{100 * top:.0f} %</text><text x="0" y="152">0</text>',
        f'<polyline class="curve" points="{points}"/>',
        f'<path class="today" d="M{at:.1f} 24V152"/>',
    ]
    for month in range(12):
        day = date(first.year + (first.month + month - 1) // 12, (first.month + month - 1) % 12 + 1, 1)
        parts.append(f'<text class="small" x="{46 + (day - first).days * step:.1f}" y="170">{day:%b}</text>')
    best = first + timedelta(days=max(range(len(chances)), key=lambda n: chances[n]))
    words = f"Highest around {best.day} {best:%B}, {100 * top:.0f} %."
    return _svg(176, "Chance of a prime flush over the season", words, parts, "curve-picture")
