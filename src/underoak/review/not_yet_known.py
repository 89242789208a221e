"""What the records do not carry yet, and how many it would take at least."""

from __future__ import annotations

from collections.abc import Iterator

from underoak.model.quantities import counted
from underoak.review.calibration import FEWEST_LOOKS
from underoak.review.findings import Findings
from underoak.review.lateness import FEWEST_SEASONS
from underoak.review.side_of_tree import FEWEST_DIRECTIONS
from underoak.review.weather_answer import FEWEST_SEASONS as FEWEST_WEATHER_SEASONS

#: Planned days with a visit, under which nothing is said of walk plans.
FEWEST_PLANS = 3


def not_yet_known(found: Findings) -> tuple[str, ...]:
    """One sentence for each question that was tried in vain or could not be tried."""
    rules = (_places, _timing, _weather, _trees, _forecasts, _plans)
    return tuple(words for rule in rules for words in rule(found))


def _places(found: Findings) -> Iterator[str]:
    if not any(row.adjusted_p <= 0.05 for row in found.places):
        yield (
            "Which place gives more an hour: no difference is shown yet, "
            "which does not show that there is none."
        )


def _timing(found: Findings) -> Iterator[str]:
    if not any(row.shown for row in found.lateness):
        most = max((len(row.seasons) for row in found.lateness), default=0)
        yield (
            f"Whether these woods run early or late: {counted(most, 'season')} can be compared at most; "
            f"{FEWEST_SEASONS} are the least, and they have to agree."
        )


def _weather(found: Findings) -> Iterator[str]:
    if found.weather_words:
        yield found.weather_words
    elif not any(row.shown for row in found.weather):
        seasons = max((row.seasons for row in found.weather), default=0)
        yield (
            f"Which weather the seasons answer to: {counted(seasons, 'season')} at most. Under "
            f"{FEWEST_WEATHER_SEASONS} nothing can be shown, and with few more only the plainest answer."
        )


def _trees(found: Findings) -> Iterator[str]:
    sides = max((row.side.n for row in found.sides), default=0)
    if sides < FEWEST_DIRECTIONS:
        yield (
            f"Which side of the trunk: {counted(sides, 'side')} noted at most for one kind; "
            f"{FEWEST_DIRECTIONS} are the least. Write 'side: NE' into the note of a find."
        )
    if not found.colours:
        yield (
            "What colour goes with: no colour is on record. Write 'colour: brown; shade: deep; age: young' "
            "into the note of a find; shade is open, half or deep."
        )


def _forecasts(found: Findings) -> Iterator[str]:
    if not found.forecasts.enough:
        yield (
            f"How good the outlook was: {counted(found.forecasts.looks, 'look')} at a spot on a day it gave "
            f"a chance for; {FEWEST_LOOKS} are the least. Ask for the week before you go."
        )


def _plans(found: Findings) -> Iterator[str]:
    days = found.walks.brought_share.n if found.walks.brought_share else 0
    if days < FEWEST_PLANS:
        yield (
            f"Whether walk plans promise too much: {counted(days, 'planned day')} with a visit on record; "
            f"{FEWEST_PLANS} are the least."
        )
