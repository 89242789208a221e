"""The log that a telephone saved in the woods."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path
from typing import Any

from underoak.errors import BadData
from underoak.intake.reading import Reading, read_text
from underoak.model.ground import Place, Spot
from underoak.model.pack import (
    PACK_FORMAT,
    AnswerEntry,
    Entry,
    FindEntry,
    Noted,
    PackLog,
    SearchEntry,
    SpotEntry,
    conflicts,
)
from underoak.model.problem import Problem
from underoak.model.strict import validate_document

_EXPECTED = "the log that the page for the pack saves under Hand over"
#: Most conflicts that are told one by one.
MOST_TOLD = 12
#: Answers that are no character of the book, and the field of the value that each needs.
_PARTS = {"age": "age", "stems": "stems", "condition": "answer", "ground": "answer"}


def read_pack(
    path: Path,
    *,
    places: Sequence[Place],
    spots: Sequence[Spot],
    known: Sequence[Noted],
    taxon_id_of: Callable[[str], str | None],
    today: date,
) -> Reading[tuple[Noted, ...]]:
    """Entries of one telephone's log, with every fault at once.

    Parameters
    ----------
    path : JSON, saved by the page or pasted from its text field
    places, spots : what is known already
    known : entries of earlier logs, to tell conflicts
    taxon_id_of : id of the taxon a name means, None when the book does not know it
    today : no entry lies after it

    Raises
    ------
    BadData   when the file is no such log at all
    """
    log = _log(path)
    noted = tuple(Noted(log.pack, log.device, entry) for entry in log.entries)
    problems = [
        *_head_problems(log, places, path.name, today),
        *_entry_problems(log, spots, path.name, taxon_id_of),
    ]
    return Reading(noted, tuple(problems), tuple(_understood(log, noted, known)))


def _log(path: Path) -> PackLog:
    text = read_text(path, expected=_EXPECTED, long_lines=True)
    remedy = "save it again on the telephone, or copy the whole text"
    try:
        document: Any = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise BadData([Problem(f"this is no JSON: {error}", path.name, _EXPECTED, remedy)]) from error
    if not isinstance(document, dict) or document.get("format") != PACK_FORMAT:
        raise BadData([Problem("this is another kind of file", path.name, _EXPECTED, remedy)])
    log, problems = validate_document(PackLog, document, path.name)
    if log is None:
        raise BadData(problems)
    return log


def _head_problems(log: PackLog, places: Sequence[Place], file: str, today: date) -> list[Problem]:
    problems = []
    if log.pack.place_id not in {place.id for place in places}:
        problems.append(
            Problem(
                f"the place {log.pack.place_id!r} is not known here",
                f"{file}, pack.place_id",
                "a loaded place",
                "is this the home that wrote the page?",
            )
        )
    if log.pack.day > today:
        problems.append(Problem(f"{log.pack.day} lies ahead", f"{file}, pack.day", f"a day up to {today}"))
    return problems


def _entry_problems(
    log: PackLog, spots: Sequence[Spot], file: str, taxon_id_of: Callable[[str], str | None]
) -> list[Problem]:
    here = {spot.id for spot in spots if spot.place_id == log.pack.place_id}
    here |= {entry.spot_id for entry in log.entries if isinstance(entry, SpotEntry)}
    problems = []
    for number, entry in enumerate(log.entries, start=1):
        where = f"{file}, entry {number}"
        if isinstance(entry, FindEntry | SearchEntry) and entry.spot_id not in here:
            problems.append(
                Problem(f"no spot {entry.spot_id!r} is known at this place", where, "a known spot")
            )
        if isinstance(entry, FindEntry) and entry.taxon_id and taxon_id_of(entry.taxon_id) is None:
            problems.append(
                Problem(f"the book does not know {entry.taxon_id!r}", where, "an entry of the book")
            )
        if isinstance(entry, AnswerEntry):
            problems += _answer_problems(entry, where)
    return problems


def _answer_problems(entry: AnswerEntry, where: str) -> list[Problem]:
    """The value has just the field that the question asks for."""
    part = entry.name.split(".")[0]
    wanted = _PARTS.get(part, "observation")
    told = {
        name for name in ("observation", "answer", "age", "stems") if getattr(entry.value, name) is not None
    }
    if told - {wanted} or (wanted != "age" and not told):
        return [
            Problem(
                f"an answer to {entry.name!r} without {wanted}", where, f"value.{wanted} and nothing else"
            )
        ]
    if (part == "ground") != (entry.body == ""):
        return [
            Problem(
                "ground belongs to the bag, everything else to a body", where, "body 1, or none for ground"
            )
        ]
    return []


def _understood(log: PackLog, noted: Sequence[Noted], known: Sequence[Noted]) -> list[str]:
    kinds = [entry.kind for entry in log.entries]
    before = {(one.device, one.entry) for one in known if one.pack.id == log.pack.id}
    fresh = sum((one.device, one.entry) not in before for one in noted)
    lines = [
        f"telephone {log.device}, walk of {log.pack.day}: {len(noted)} entries, {fresh} of them new; "
        f"{kinds.count('find')} on bags, {kinds.count('search')} on spots with nothing, "
        f"{kinds.count('answer')} answers"
    ]
    found = [c for c in conflicts([*known, *noted]) if c.pack_id == log.pack.id]
    lines += [f"CONFLICT, both are kept: {conflict.words}" for conflict in found[:MOST_TOLD]]
    if len(found) > MOST_TOLD:
        lines.append(f"and {len(found) - MOST_TOLD} more conflicts: 'underoak pack --conflicts' lists all")
    return lines + _loose_ends(log.entries)


def _loose_ends(entries: Sequence[Entry]) -> list[str]:
    """Bags without a name, and photos that still lie on the telephone."""
    bags = {entry.bag: entry for entry in entries if isinstance(entry, FindEntry)}
    nameless = [bag for bag, entry in bags.items() if not entry.taxon_id and not entry.gone]
    photos = [name for entry in bags.values() if not entry.gone for name in entry.photos]
    lines = []
    if nameless:
        lines.append(f"bag {', '.join(nameless)} has no name: noted as searched, no find until it has one")
    if photos:
        lines.append(f"photos to add with 'underoak photo': {', '.join(photos)}")
    return lines
