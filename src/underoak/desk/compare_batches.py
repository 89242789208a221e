"""Two batches put up side by side: who tastes what, and what the answers show."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time

from underoak.errors import NoAnswer, UserMistake
from underoak.ledger.codes import batch_meant
from underoak.ledger.database import open_ledger
from underoak.ledger.pantry import batches, jars, kept_lots
from underoak.ledger.servings import known_kinds
from underoak.model.kitchen import Batch
from underoak.review.comparison import (
    ComparisonResult,
    Portion,
    TestKind,
    evaluate,
    tasting_plan,
    tastings_needed,
)
from underoak.settings import Home
from underoak.sheets.pdf import compile_typst
from underoak.sheets.wording import AGAINST_ADVICE, EATING_CAUTIONS


@dataclass(frozen=True, slots=True)
class Tasting:
    """A planned comparison with its sheets."""

    kind: TestKind
    batches: tuple[str, str]
    portions: tuple[Portion, ...]
    tastings_needed: int
    cautions: tuple[str, ...]
    files: tuple[str, ...] = ()


def plan_tasting(
    home: Home,
    pair: tuple[str, str],
    *,
    kind: TestKind,
    tasters: Sequence[str],
    today: date,
    seed: int = 1,
    paper: str = "a4",
) -> Tasting:
    """Deal the samples and write the tasters' sheets and, on a page of its own, the key.

    Raises
    ------
    UserMistake   for unknown or equal batches or people
    NoAnswer      when a batch must not be eaten: made against the advice, over its day, or of a kind that one
                  of the tasters has not had before

    **Fails towards** not tasting: a first taste is no comparison.
    """
    pair = _check(home, pair, tasters, today)
    plan = Tasting(
        kind=kind,
        batches=pair,
        portions=tasting_plan(kind, tasters, seed=seed),
        tastings_needed=tastings_needed(kind),
        cautions=EATING_CAUTIONS,
    )
    path = home.sheets / f"tasting-{pair[0]}-{pair[1]}-{today}.pdf"
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(compile_typst("tasting", _content(plan, paper)))
    return replace(plan, files=(str(path),))


def judge_tasting(
    kind: TestKind, correct: int, tastings: int, *, alpha: float = 0.05, two_sided: bool = False
) -> ComparisonResult:
    """What the answers show; see `underoak.review.comparison.evaluate`."""
    return evaluate(kind, correct, tastings, alpha=alpha, two_sided=two_sided)


def _check(home: Home, pair: tuple[str, str], tasters: Sequence[str], today: date) -> tuple[str, str]:
    """The two batches by their whole ids, if they may be tasted."""
    adults = {person.name for person in home.settings.people if not person.child}
    strangers = [name for name in tasters if name not in adults]
    if strangers:
        raise UserMistake(
            f"{', '.join(strangers)} cannot taste",
            expected="adults of the household: " + ", ".join(sorted(adults)),
        )
    connection = open_ledger(home.ledger)
    try:
        first, second = (batch_meant(connection, name) or name for name in pair)
        if first == second:
            raise UserMistake("a batch is not compared with itself", expected="two batches")
        made, lots = batches(connection), kept_lots(connection)
        known = known_kinds(connection, tasters, datetime.combine(today, time.max))
        for name in (first, second):
            if name not in made:
                raise UserMistake(f"there is no batch {name!r}", expected="one that was made")
            _check_batch(made[name], {i: lot.taxon_id for i, lot in lots.items()}, known)
            days = [jar.use_by for jar in jars(connection) if jar.batch_id == name and jar.state == "kept"]
            if not days or any(day is None or day < today for day in days):
                raise NoAnswer(f"batch {name} has no jar within its day", remedy="throw out what is over")
        return first, second
    finally:
        connection.close()


def _check_batch(batch: Batch, taxon_of: dict[str, str], known: frozenset[str]) -> None:
    if batch.against_advice:
        raise NoAnswer(f"batch {batch.id} is not tasted: {AGAINST_ADVICE}")
    new = sorted({taxon_of[lot_id] for lot_id, _ in batch.lots} - known)
    if new:
        raise NoAnswer(
            f"batch {batch.id} holds {', '.join(new)}, which not every taster has had before",
            remedy="a first taste comes alone: a small cooked portion, a day before anything else",
        )


def _content(plan: Tasting, paper: str) -> dict[str, object]:
    return {
        "title": f"Tasting: batches {plan.batches[0]} and {plan.batches[1]}",
        "paper": paper,
        "cautions": list(plan.cautions),
        "needed": f"{plan.tastings_needed} tastings find a difference that three in ten really notice.",
        "portions": [
            {"taster": p.taster, "codes": list(p.codes), "question": p.question} for p in plan.portions
        ],
        "key": [
            {
                "taster": p.taster,
                "words": ", ".join(
                    f"{code} = {plan.batches[0] if side == 'A' else plan.batches[1]}"
                    for code, side in zip(p.codes, p.batches, strict=True)
                ),
            }
            for p in plan.portions
        ],
    }
