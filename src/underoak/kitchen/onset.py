"""Which harm classes the times of an illness fit: questions for a hospital, never a diagnosis."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from underoak.errors import UserMistake
from underoak.model.book import HarmClass
from underoak.model.onset import Onset, Window

#: Symptoms that begin in these hours after a meal are treated as amatoxin poisoning.
AMATOXIN_H = (6.0, 24.0)
#: What was eaten so long before counts: a month, the longest published window.
LOOK_BACK = timedelta(days=31)
#: Classes that no early symptom and no later meal can rule out.
NEVER_RULED_OUT: tuple[HarmClass, ...] = ("amatoxin", "orellanine", "gyromitrin")


@dataclass(frozen=True, slots=True)
class Fit:
    """A harm class whose window holds the hours from one meal to the first symptom.

    ``windows`` are the published ones of the class, each with its source.
    """

    harm: HarmClass
    words: str
    hours: float
    meal_at: datetime
    windows: tuple[Window, ...]


@dataclass(frozen=True, slots=True)
class OnsetAnswer:
    """What the times fit.

    ``amatoxin_warning`` is raised by the times, or because they are not known; its being false means nothing.
    """

    fits: tuple[Fit, ...]
    amatoxin_warning: bool
    meals: int
    shortest_h: float | None
    never_ruled_out: tuple[HarmClass, ...] = NEVER_RULED_OUT


def onset_answer(
    onsets: Sequence[Onset],
    *,
    began_at: datetime | None,
    meals: Sequence[datetime],
    alcohol_at: datetime | None = None,
) -> OnsetAnswer:
    """Harm classes whose published window holds the hours from a meal of the last 31 days to the symptoms.

    Parameters
    ----------
    onsets : the book's table
    began_at : when the first symptom began, local time; None where nobody knows, or there is none yet
    meals : when any mushroom was eaten, in any order; may be empty
    alcohol_at : when alcohol was drunk, if it was

    Returns
    -------
    OnsetAnswer; fits by meal, the latest meal first

    Raises
    ------
    UserMistake   when every meal written down is later than the first symptom

    Method
    ------
    hours = began - meal; a class fits where its window, the widest of all sources, holds the hours. Coprine
    fits only where alcohol was drunk before the symptoms.

    Source
    ------
    graeme_2014 Table 1, clinical_poisoning_handbook, diaz_2005 (seen), club_poison_table (second-hand);
    each in book/onsets.toml. Check: tests/unit/test_onset.py.

    **Fails towards** the warning: it is raised when any meal lies 6 to 24 h before the symptoms, whatever
    they are, and when the beginning or the meals are not known. Early symptoms never rule the amatoxins
    out, and an empty list never reassures.
    """
    before = sorted({m for m in meals if began_at is None or m <= began_at}, reverse=True)
    if meals and not before:
        raise UserMistake(
            "every meal written down is later than the first symptom",
            expected="a meal before the symptoms",
            remedy="check the times; if they are right, what was eaten before is not written down",
        )
    if began_at is None:
        return OnsetAnswer((), amatoxin_warning=True, meals=len(before), shortest_h=None)
    recent = [meal for meal in before if began_at - meal <= LOOK_BACK]
    hours = [(began_at - meal).total_seconds() / 3600.0 for meal in recent]
    drunk = alcohol_at is not None and alcohol_at <= began_at
    fits = tuple(
        Fit(onset.harm, onset.words, round(after, 2), meal, onset.windows)
        for meal, after in zip(recent, hours, strict=True)
        for onset in onsets
        if onset.widest_h[0] <= after <= onset.widest_h[1] and (drunk or not onset.after_alcohol)
    )
    return OnsetAnswer(
        fits=fits,
        amatoxin_warning=not recent or any(AMATOXIN_H[0] <= h <= AMATOXIN_H[1] for h in hours),
        meals=len(recent),
        shortest_h=min(hours, default=None),
    )
