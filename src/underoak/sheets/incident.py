"""The page for the poison centre and the hospital."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Any

from underoak.sheets.pdf import compile_typst

NOT_WRITTEN = "Nothing is written down. That does not mean that nothing was eaten: ask everybody."


def write_incident(folder: Path, incident: Any, now: datetime, paper: str) -> Path:
    """Write ``ill-MOMENT.pdf`` and hand back its path."""
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / f"ill-{now:%Y-%m-%d-%H%M}.pdf"
    path.write_bytes(compile_typst("incident", incident_content(incident, now, paper)))
    return path


def incident_content(incident: Any, now: datetime, paper: str) -> dict[str, Any]:
    """Everything on the page as plain data for the template, the call first."""
    began = f"{incident.began_at:%Y-%m-%d %H:%M}" if incident.began_at else "not known, or none yet"
    return {
        "title": "Possible mushroom poisoning",
        "paper": paper,
        "number": incident.poison_help,
        "first": incident.first_sentence,
        "cautions": list(incident.warnings),
        "facts": [
            ["Who", incident.who],
            ["First symptom", began],
            ["Symptoms", incident.symptoms or "not written down"],
            ["Page made", f"{now:%Y-%m-%d %H:%M}"],
        ],
        "parts": [
            {"heading": "Eaten in the month before", "lines": [*meal_lines(incident)] or [NOT_WRITTEN]},
            {"heading": "Harm classes that the hours fit (no diagnosis)", "lines": [*fit_lines(incident)]},
            {"heading": "What it could have been", "lines": [*suspect_lines(incident)]},
            {"heading": "Evidence and kept bodies", "lines": [*proof_lines(incident)] or ["None on record."]},
            {"heading": "Notes", "lines": list(incident.notes)},
        ],
    }


def meal_lines(incident: Any) -> list[str]:
    """One line a meal, the latest first."""
    lines = []
    for meal in incident.meals:
        first = meal.moments[0]
        when = f"{first:%Y-%m-%d %H:%M}" if meal.known_time else f"{first:%Y-%m-%d}, hour not known"
        batch = f", batch {meal.batch_id}" if meal.batch_id else ""
        reaction = f"; {meal.reaction}" if meal.reaction else ""
        lines.append(f"{when}: {meal.what}, {meal.person}{batch}{reaction}")
    return lines


def fit_lines(incident: Any) -> list[str]:
    """One line a harm class, and always what no time rules out."""
    lines = [
        f"{fit.words}: {_hours(fit.hours)} after a meal; "
        f"published {fit.window_h[0]:.3g} to {fit.window_h[1]:.3g} h ({'; '.join(fit.sources)})"
        for fit in incident.fits
    ]
    never = ", ".join(incident.onset.never_ruled_out)
    return [*lines, f"Not ruled out by any hours: {never}. Other meals may not be written down."]


def _hours(hours: tuple[float, float]) -> str:
    low, high = hours
    return f"{low:.1f} h" if high - low < 0.05 else f"{low:.0f} to {high:.0f} h"


def suspect_lines(incident: Any) -> list[str]:
    """What was eaten and its look-alikes, those that fit the hours in front."""
    if not incident.suspects:
        return ["Not known: no named kind is written down. Any kind is possible."]
    lines = []
    for one in incident.suspects[:14]:
        instead = f" instead of {one.instead_of.replace('_', ' ')}" if one.instead_of else ", as it was named"
        fits = f"; fits the hours: {', '.join(one.fits)}" if one.fits else ""
        lines.append(f"{one.scientific_name}{instead}: {', '.join(one.harms)}{fits}")
    more = len(incident.suspects) - 14
    return [*lines, f"and {more} more in the book"] if more > 0 else lines


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
