"""The page for the poison centre and the hospital."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Any

from underoak.model.book import DANGER_WORDS, HARM_WORDS, harm_words
from underoak.sheets.pdf import compile_typst

#: Kinds that are listed by name; the worst are.
MOST_SUSPECTS = 14
NOT_WRITTEN = "Nothing is written down. That does not mean that nothing was eaten: ask everybody."


def write_incident(folder: Path, incident: Any, now: datetime, paper: str) -> Path:
    """Write ``ill-MOMENT.pdf`` and hand back its path."""
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / f"ill-{now:%Y-%m-%d-%H%M}.pdf"
    path.write_bytes(compile_typst("incident", incident_content(incident, now, paper)))
    return path


def incident_content(incident: Any, now: datetime, paper: str) -> dict[str, Any]:
    """Everything on the page as plain data for the template, the call first."""
    return {
        "title": "Possible mushroom poisoning",
        "paper": paper,
        "number": incident.poison_help,
        "first": incident.first_sentence,
        "cautions": list(incident.warnings),
        "facts": [
            ["Who", incident.who],
            ["First symptom", began_words(incident)],
            ["Symptoms", incident.symptoms or "not written down"],
            ["Page made", moment_words(now)],
        ],
        "parts": [
            *({"heading": heading, "lines": lines} for heading, lines in incident_parts(incident)),
            {"heading": "Notes", "lines": list(incident.notes)},
        ],
    }


def incident_parts(incident: Any) -> tuple[tuple[str, list[str]], ...]:
    """Heading and lines of each part, the same on screen, paper and in the terminal."""
    return (
        ("Eaten in the month before", meal_lines(incident) or [NOT_WRITTEN]),
        ("What it could have been", suspect_lines(incident)),
        ("Poisons that the hours fit (no diagnosis)", fit_lines(incident)),
        ("Evidence and kept bodies", proof_lines(incident) or ["None on record."]),
    )


def began_words(incident: Any) -> str:
    """When the first symptom began, as far as somebody told."""
    return moment_words(incident.began_at) if incident.began_at else "not known, or none yet"


def moment_words(moment: datetime) -> str:
    """A moment with the name of its month, which no country reads another way: 3 October 2026, 22:30."""
    return f"{day_words(moment)}, {moment:%H:%M}"


def day_words(moment: datetime) -> str:
    """A day with the name of its month."""
    return f"{moment.day} {moment:%B %Y}"


def meal_lines(incident: Any) -> list[str]:
    """One line a meal, the latest first."""
    lines = []
    for meal in incident.meals:
        first = meal.moments[0]
        when = moment_words(first) if meal.known_time else f"{day_words(first)}, hour not known"
        batch = f", batch {meal.batch_id}" if meal.batch_id else ""
        reaction = f"; {meal.reaction}" if meal.reaction else ""
        lines.append(f"{when}: {meal.what}, {meal.person}{batch}{reaction}")
    return lines


def fit_lines(incident: Any) -> list[str]:
    """One line a harm class, and always what no time rules out."""
    lines = [
        f"{fit.words[:1].upper()}{fit.words[1:]}: {_hours(fit.hours)} after a meal; "
        f"{'published' if fit.published else 'our own judgement, nothing published was found'}: "
        f"{_window(fit.window_h)}"
        for fit in incident.fits
    ]
    never = " or ".join(HARM_WORDS[harm].partition(",")[0] for harm in incident.onset.never_ruled_out)
    return [f"No hours rule out {never}. Other meals may not be written down.", *lines]


def _hours(hours: tuple[float, float]) -> str:
    low, high = hours
    return f"{low:.1f} h" if high - low < 0.05 else f"{low:.0f} to {high:.0f} h"


def _window(hours: tuple[float, float]) -> str:
    """Hours of a window in what a person reads: minutes below an hour, days from three on."""
    low, high = hours
    if high <= 1.0:
        return f"{60 * low:.0f} to {60 * high:.0f} minutes"
    if high > 72.0:
        return f"{low:g} hours to {high / 24:.0f} days"
    return f"{60 * low:.0f} minutes to {high:g} hours" if 0.0 < low < 1.0 else f"{low:g} to {high:g} hours"


def suspect_lines(incident: Any) -> list[str]:
    """What was eaten and its look-alikes: the deadly ones in front, then those that fit the hours."""
    if not incident.suspects:
        return ["Not known: no named kind is written down. Any kind is possible."]
    lines = [f"{meal.what}: any kind is possible" for meal in incident.meals if meal.taxon_id is None]
    lines += [_suspect(one) for one in incident.suspects[:MOST_SUSPECTS]]
    more = len(incident.suspects) - MOST_SUSPECTS
    return [*lines, f"and {more} more in the book"] if more > 0 else lines


def _suspect(one: Any) -> str:
    named = f"{one.common_name} ({one.scientific_name})" if one.common_name else one.scientific_name
    instead = f" instead of {one.instead_of_name}" if one.instead_of else ", as it was named"
    fits = "; fits the hours" if one.fits else ""
    harm = harm_words(one.harms)
    grave = f"{DANGER_WORDS[one.danger]} ({harm})" if one.danger != "none" else harm
    return f"{named}{instead}: {grave}{fits}"


def proof_lines(incident: Any) -> list[str]:
    """Where each batch came from, what was seen, and where an uncooked body is kept."""
    lines = []
    for proof in incident.proofs:
        kept = "; ".join(proof.specimens) or "no uncooked body is on record: look for one"
        lines.append(
            f"Batch {proof.batch_id}, {proof.kind}: {proof.find}; {proof.verdict}. Kept body: {kept}"
        )
        lines += [f"  {seen}" for seen in proof.seen[:4]]
        lines += [f"  Made against advice: {why}" for why in proof.against_advice]
    return lines
