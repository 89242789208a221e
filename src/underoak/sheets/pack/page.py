"""Assemble the page for the pack: one HTML file with its style, script, map and tables inside."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from importlib import resources
from typing import TYPE_CHECKING, Any

from underoak.model.book import DANGER_WORDS
from underoak.model.plain import as_plain
from underoak.sheets.wording import (
    ALARM_CAUTION,
    EATING_CAUTIONS,
    NEVER_EATEN,
    PACK_CAUTIONS,
    POSITION_CAUTION,
)

if TYPE_CHECKING:
    from underoak.sheets.pack.cards import Card

#: The script in the order in which its parts build on each other.
SCRIPTS = (
    "compare", "judge", "likely", "elements", "keep", "noted", "clock", "where", "behind", "tally",
    "write_down", "questions", "look_closer", "hand_over", "start",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class WeekRow:
    """Chances of one kind at one place over the days of the outlook, 0 to 1."""

    place: str
    name: str
    chances: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class PackPage:
    """Everything that is on the page.

    ``pack`` is what the script works on beside the book's tables ``book`` (`engine_data`): plain values.
    ``map_svg`` is the drawing of the walk; ``turns`` are (number, time, words, walk, expected).
    """

    title: str
    facts: Sequence[str]
    cautions: Sequence[str]
    map_svg: str
    turns: Sequence[tuple[int, str, str, str, str]]
    notes: Sequence[str]
    days: Sequence[str]
    week: Sequence[WeekRow]
    cards: Sequence[Card]
    poison_help: str
    turn_back: str
    pack: Mapping[str, Any]
    book: Mapping[str, Any]


def pack_html(page: PackPage) -> str:
    """The whole file as text; the same page gives the same text.

    Nothing in it asks for anything outside: its own content policy forbids every connection.
    """
    from jinja2 import Environment, StrictUndefined

    folder = resources.files("underoak.sheets.pack")
    environment = Environment(
        autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    template = environment.from_string((folder / "page.html").read_text("utf-8"))
    return template.render(
        page=page,
        style=(folder / "page.css").read_text("utf-8"),
        script=script_text(*SCRIPTS),
        pack_json=json_in_script(page.pack),
        book_json=json_in_script(page.book),
        never_eaten=NEVER_EATEN,
        pack_cautions=PACK_CAUTIONS,
        eating_cautions=EATING_CAUTIONS,
        alarm_caution=ALARM_CAUTION.format(time=page.turn_back),
        position_caution=POSITION_CAUTION,
        danger_words=DANGER_WORDS,
    )


def script_text(*names: str) -> str:
    """Files of ``sheets/pack/script`` one after the other."""
    folder = resources.files("underoak.sheets.pack") / "script"
    return "\n".join((folder / f"{name}.js").read_text("utf-8") for name in names)


def json_in_script(value: Mapping[str, Any]) -> str:
    """JSON that cannot end the script element it stands in."""
    text = json.dumps(as_plain(dict(value)), ensure_ascii=False, separators=(",", ":"))
    return text.replace("<", "\\u003c").replace("\u2028", "\\u2028").replace("\u2029", "\\u2029")
