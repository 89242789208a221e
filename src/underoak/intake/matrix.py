"""Read characters back from a DELTA text that was exported and edited."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from underoak.errors import BadData
from underoak.intake.reading import Reading
from underoak.model.characters import Character, Look
from underoak.model.problem import Problem
from underoak.model.strict import validate_document

_CHARACTER = re.compile(r"#(\d+)\.\s*<(\w+)>")
_STATE = re.compile(r"(\d+)\.\s*<(\w+)>")
_ITEM = re.compile(r"#\s*[^<]*<(\w+)>\s*/\s*$")
_ATTRIBUTE = re.compile(r"(\d+),(\S+)")
_SHOWN = re.compile(r"(\d+)(?:<(\w+)>)?$")
_RANGE = re.compile(r"(?:\((\d*\.?\d+)-\))?(\d*\.?\d+)(?:-(\d*\.?\d+))?(?:\(-(\d*\.?\d+)\))?$")


@dataclass
class _Sheet:
    """What the file says, with its faults."""

    where: str
    characters: dict[int, tuple[str, dict[int, str]]] = field(default_factory=dict)
    items: dict[str, dict[str, Any]] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)

    def wrong(self, line: int, what: str, expected: str = "") -> None:
        """Note a fault."""
        self.problems.append(Problem(what, f"{self.where}, line {line}", expected))


def read_matrix(
    text: str, where: str, characters: Mapping[str, Character], taxa: Mapping[str, Look]
) -> Reading[dict[str, Look]]:
    """What each taxon shows according to the file, all else as in the book.

    Parameters
    ----------
    characters   the book's characters; the file must name the same ids, in any order
    taxa         what each known taxon shows now: its source, fading and ages are kept

    Raises BadData when the text holds no character list or no items at all. Every other fault is a
    problem with its line; taxa with a fault are left out of the records.
    """
    sheet = _Sheet(where)
    _read_lines(sheet, text, characters)
    if not sheet.characters or not sheet.items:
        missing = "*CHARACTER LIST" if not sheet.characters else "*ITEM DESCRIPTIONS"
        raise BadData([Problem(f"no {missing} in it", where, "a DELTA text that 'underoak book' exported")])
    looks: dict[str, Look] = {}
    for taxon_id, told in sheet.items.items():
        if taxon_id not in taxa:
            sheet.problems.append(Problem(f"no such taxon: {taxon_id}", where, "an id of the book"))
            continue
        document = {**taxa[taxon_id].model_dump(mode="json"), **told}
        look, problems = validate_document(Look, document, f"{where}, {taxon_id}")
        sheet.problems.extend(problems)
        if look is not None:
            looks[taxon_id] = look
    changed = sum(look != taxa[name] for name, look in looks.items())
    understood = (f"{len(looks)} taxa, {changed} of them changed", f"{len(sheet.characters)} characters")
    return Reading(looks, tuple(sheet.problems), understood)


def _read_lines(sheet: _Sheet, text: str, characters: Mapping[str, Character]) -> None:
    section, number, taxon = "", 0, ""
    for line_number, raw in enumerate(text.splitlines(), 1):
        line = raw.strip()
        if line.startswith("*"):
            section = line[1:].strip()
        elif section == "CHARACTER LIST" and line:
            number = _character_line(sheet, line_number, line, number, characters)
        elif section == "ITEM DESCRIPTIONS" and line.startswith("#"):
            taxon = _item_line(sheet, line_number, line)
        elif section == "ITEM DESCRIPTIONS" and line:
            for name, kind, value in _attributes(sheet, line_number, line, characters):
                if taxon:
                    sheet.items[taxon][kind][name] = value


def _character_line(
    sheet: _Sheet, line_number: int, line: str, number: int, characters: Mapping[str, Character]
) -> int:
    if head := _CHARACTER.match(line):
        number, name = int(head[1]), head[2]
        if name not in characters:
            sheet.wrong(line_number, f"no such character: {name}", "an id of characters.toml")
        sheet.characters[number] = (name, {})
    elif state := _STATE.match(line):
        name, states = sheet.characters.get(number, ("", {}))
        if name in characters and state[2] not in characters[name].states:
            offered = ", ".join(characters[name].states)
            sheet.wrong(line_number, f"{name} has no state {state[2]}", f"one of: {offered}")
        states[int(state[1])] = state[2]
    return number


def _item_line(sheet: _Sheet, line_number: int, line: str) -> str:
    head = _ITEM.match(line)
    if head is None:
        sheet.wrong(line_number, "an item without its id", "# Latin name <id>/")
        return ""
    if head[1] in sheet.items:
        sheet.wrong(line_number, f"{head[1]} stands there twice")
    sheet.items[head[1]] = {"states": {}, "measures": {}}
    return head[1]


def _attributes(
    sheet: _Sheet, line_number: int, line: str, characters: Mapping[str, Character]
) -> Iterator[tuple[str, str, Any]]:
    for token in line.split():
        match = _ATTRIBUTE.fullmatch(token)
        name, states = sheet.characters.get(int(match[1]), ("", {})) if match else ("", {})
        if match is None or not name:
            sheet.wrong(line_number, f"cannot be read: {token}", "number,state<constancy>/… or number,range")
        elif name in characters:
            measured = bool(characters[name].unit)
            value = _range(match[2]) if measured else _shown(match[2], states)
            if value is None:
                expected = "(5-)10-40(-80)" if measured else "state numbers with <constancy>"
                sheet.wrong(line_number, f"{name}: cannot be read: {match[2]}", expected)
            else:
                yield name, "measures" if measured else "states", value


def _range(text: str) -> list[float] | None:
    match = _RANGE.match(text)
    if match is None:
        return None
    low = float(match[2])
    high = float(match[3]) if match[3] else low
    return [float(match[1]) if match[1] else low, low, high, float(match[4]) if match[4] else high]


def _shown(text: str, states: Mapping[int, str]) -> dict[str, str] | None:
    parts = text.split("/")
    told: dict[str, str] = {}
    for part in parts:
        match = _SHOWN.match(part)
        if match is None or int(match[1]) not in states:
            return None
        told[states[int(match[1])]] = match[2] or ("always" if len(parts) == 1 else "usually")
    return told
