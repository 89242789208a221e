"""What was learned so far, and the forecasts' own record to show beside them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from underoak.ledger.connection import Ledger

if TYPE_CHECKING:
    from collections.abc import Mapping

    from underoak.book.load import Book
    from underoak.outlook.learned import Learned


@dataclass(frozen=True, slots=True)
class TrackRecord:
    """What an outlook was learned from, and how it did in seasons it did not know.

    ``learned_on`` is None while nothing was learned; ``words`` say it all for a person.
    """

    learned_on: date | None = None
    judged_on: date | None = None
    seasons: tuple[int, ...] = ()
    model_log_score: float | None = None
    best_rule: str = ""
    best_rule_log_score: float | None = None
    climatology: tuple[str, ...] = ()
    words: tuple[str, ...] = ()


def track_record(connection: Ledger, book: Book, *, today: date) -> tuple[Mapping[str, Learned], TrackRecord]:
    """What was learned by taxon id, and the record; both empty before the first learning.

    What was learned against another version of the book is not used: its numbers are departures from it.
    """
    from underoak.ledger.learned import latest_judgement, latest_learned
    from underoak.outlook.learned import learned_from

    kept = latest_learned(connection, until=today, book_version=book.version)
    learned = {taxon_id: learned_from(document) for taxon_id, (_, document) in kept.items()}
    judged = latest_judgement(connection, until=today)
    plain = tuple(book.taxa[taxon_id].scientific_name for taxon_id, one in learned.items() if one.climatology)
    learned_on = max((day for day, _ in kept.values()), default=None)
    if judged is None:
        words = (_learning_words(learned_on), "Nobody has judged the forecasts yet (underoak judge).")
        return learned, TrackRecord(learned_on, climatology=plain, words=words)
    return learned, _judged(learned_on, plain, *judged)


def _judged(learned_on: date | None, plain: tuple[str, ...], day: date, document: Any) -> TrackRecord:
    model, *rules = document["scores"]
    best = max(rules, key=lambda score: float(score["log_score"]))
    seasons = tuple(int(season) for season in document["seasons"])
    gain = best["gain"]
    words = [
        _learning_words(learned_on),
        f"Judged on {day} by leaving out each of {len(seasons)} seasons ({seasons[0]} to {seasons[-1]}): "
        f"{model['log_score']:.2f} nats a visit; "
        f"the best plain rule ({best['name']}) {best['log_score']:.2f}; "
        f"gain {gain['mean']:+.2f} ({_bound(gain['low'])} to {_bound(gain['high'])}).",
    ]
    if plain:
        words.append(
            f"For {', '.join(plain)} the model did not beat your own plain rates, so those are shown."
        )
    return TrackRecord(
        learned_on=learned_on,
        judged_on=day,
        seasons=seasons,
        model_log_score=float(model["log_score"]),
        best_rule=str(best["name"]),
        best_rule_log_score=float(best["log_score"]),
        climatology=plain,
        words=tuple(words),
    )


def _learning_words(learned_on: date | None) -> str:
    if learned_on is None:
        return "Nothing was learned from your seasons yet (underoak learn): the book's values stand."
    return f"Learned from your own seasons on {learned_on}."


def _bound(value: float | None) -> str:
    return "unknown" if value is None else f"{value:+.2f}"
