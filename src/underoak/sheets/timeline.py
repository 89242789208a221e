"""The evening as a picture: one row a task, time to the right, who works and what only waits."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta
from xml.sax.saxutils import escape

from underoak.model.kitchen import Schedule, Task

_ROW, _LEFT, _WIDTH, _TOP = 34, 250, 960, 46
_FONT = 'font-family="Libertinus Serif, Georgia, serif"'


def timeline_svg(plan: Schedule, names: Mapping[str, str]) -> str:
    """SVG picture of a plan; ``names`` gives words for task ids.

    Filled bars are hands-on and carry a name, open dashed bars wait: no meaning is in colour alone.
    Nights in which nothing is begun are cut out of the picture.
    """
    tasks = sorted(plan.tasks, key=lambda t: (t.start, t.id))
    height = _TOP + _ROW * max(len(tasks), 1) + 40
    scale = _Scale.of(tasks)
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDTH} {height}" role="img" '
        f'font-size="13" {_FONT}>',
        "<title>Kitchen timeline</title>",
        f"<desc>{escape(_description(tasks, names))}</desc>",
        f'<rect width="{_WIDTH}" height="{height}" fill="#fff"/>',
    ]
    parts += _grid(scale, height)
    for number, task in enumerate(tasks):
        parts += _row(task, names.get(task.id, task.method_id), _TOP + number * _ROW, scale)
    legend = "filled: somebody works · dashed: it waits or cooks by itself"
    parts.append(f'<text x="{_LEFT}" y="{height - 12}">{legend}</text>')
    return "\n".join([*parts, "</svg>\n"])


class _Scale:
    """Moments to x, with long empty stretches cut to a gap."""

    def __init__(self, pieces: list[tuple[datetime, datetime]]) -> None:
        self.pieces = pieces
        worked = sum((b - a).total_seconds() for a, b in pieces) or 1.0
        self.per_second = (_WIDTH - _LEFT - 20 - 26 * (len(pieces) - 1)) / worked

    @classmethod
    def of(cls, tasks: list[Task]) -> _Scale:
        hour = timedelta(hours=1)
        moments = sorted(m for t in tasks for s in t.steps if s.hands_on or s.uses for m in (s.start, s.end))
        if not moments:
            return cls([])
        pieces = [(moments[0], moments[0])]
        for moment in moments:
            if moment - pieces[-1][1] > 4 * hour:
                pieces.append((moment, moment))
            pieces[-1] = (pieces[-1][0], max(moment, pieces[-1][1]))
        return cls([(a, max(b, a + hour)) for a, b in pieces])

    def x(self, moment: datetime) -> float:
        x = float(_LEFT)
        for start, end in self.pieces:
            inside = min(max(moment, start), end) - start
            if moment <= end:
                return x + inside.total_seconds() * self.per_second
            x += (end - start).total_seconds() * self.per_second + 26
        return x - 26


def _grid(scale: _Scale, height: int) -> list[str]:
    lines = []
    for start, end in scale.pieces:
        moment = (
            start.replace(minute=0) if start.minute == 0 else start.replace(minute=0) + timedelta(hours=1)
        )
        day = f"{start:%a} {start.day} {start:%b}"
        lines.append(f'<text x="{scale.x(start):.1f}" y="16" font-weight="bold">{day}</text>')
        while moment <= end:
            x = scale.x(moment)
            lines.append(f'<line x1="{x:.1f}" x2="{x:.1f}" y1="26" y2="{height - 30}" stroke="#bbb"/>')
            lines.append(f'<text x="{x + 2:.1f}" y="36">{moment:%H:%M}</text>')
            moment += timedelta(hours=1)
    return lines


def _row(task: Task, name: str, y: int, scale: _Scale) -> list[str]:
    parts = [f'<text x="6" y="{y + 20}">{escape(task.id)} {escape(_short(name, 36))}</text>']
    for step in task.steps:
        x, width = scale.x(step.start), max(scale.x(step.end) - scale.x(step.start), 2.0)
        look = (
            'fill="#d9e4d0" stroke="#222"'
            if step.hands_on
            else 'fill="none" stroke="#222" stroke-dasharray="4 3"'
        )
        who = ", ".join(step.people)
        told = f"{step.name} {step.start:%H:%M} to {step.end:%H:%M} {who}".strip()
        parts.append(
            f'<rect x="{x:.1f}" y="{y + 4}" width="{width:.1f}" height="24" {look}>'
            f"<title>{escape(told)}</title></rect>"
        )
        if who and width > 9 * len(who[:8]):
            parts.append(f'<text x="{x + 3:.1f}" y="{y + 20}">{escape(who)}</text>')
    return parts


def _short(text: str, most: int) -> str:
    return text if len(text) <= most else text[: most - 1] + "…"


def _description(tasks: list[Task], names: Mapping[str, str]) -> str:
    return "; ".join(f"{t.id} {names.get(t.id, t.method_id)} {t.start:%H:%M} to {t.end:%H:%M}" for t in tasks)
