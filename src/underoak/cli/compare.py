"""``compare``: two batches side by side."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from underoak.cli.output import day_or_clock, home_option, json_option, show, today_option
from underoak.errors import UserMistake

if TYPE_CHECKING:
    from underoak.desk.compare_batches import Tasting
    from underoak.review.comparison import ComparisonResult


@click.command()
@home_option
@today_option
@click.argument("batches", nargs=-1, metavar="BATCH BATCH")
@click.option(
    "--test", "kind", type=click.Choice(["triangle", "paired"]), default="triangle", show_default=True
)
@click.option("--taster", "tasters", multiple=True, metavar="NAME", help="Who tastes; once a tasting.")
@click.option("--seed", type=int, default=1, show_default=True, help="Of the codes and orders.")
@click.option("--correct", type=int, default=None, help="Right answers, to judge a tasting.")
@click.option("--of", "tastings", type=int, default=None, help="All answers.")
@click.option("--alpha", type=float, default=0.05, show_default=True, help="Accepted share of false alarms.")
@click.option("--two-sided", is_flag=True, help="Paired test without an expected direction.")
@click.option("--paper", type=click.Choice(["a4", "us-letter"]), default="a4", show_default=True)
@json_option
def compare(
    home: Path,
    *,
    today: date | None,
    batches: tuple[str, ...],
    kind: Literal["triangle", "paired"],
    tasters: tuple[str, ...],
    seed: int,
    correct: int | None,
    tastings: int | None,
    alpha: float,
    two_sided: bool,
    paper: str,
    as_json: bool,
) -> None:
    """Whether two batches taste different.

    With two batches and tasters it writes the sheets; with --correct and --of it judges the answers.
    """
    from underoak.desk.compare_batches import judge_tasting, plan_tasting

    if correct is not None and tastings is not None:
        result = judge_tasting(kind, correct, tastings, alpha=alpha, two_sided=two_sided)
        show(result, _result_lines(result), as_json=as_json)
        return
    if len(batches) != 2 or not tasters:
        raise UserMistake(
            "nothing to compare", expected="two batches and --taster for each, or --correct and --of"
        )
    from underoak.settings import load_home

    plan = plan_tasting(
        load_home(home),
        (batches[0], batches[1]),
        kind=kind,
        tasters=tasters,
        today=day_or_clock(today),
        seed=seed,
        paper=paper,
    )
    show(plan, _plan_lines(plan), as_json=as_json)


def _result_lines(result: ComparisonResult) -> Iterator[str]:
    yield result.words


def _plan_lines(plan: Tasting) -> Iterator[str]:
    from underoak.model.quantities import counted

    tastings = counted(len(plan.portions), "tasting")
    yield f"{plan.kind} test of {plan.batches[0]} and {plan.batches[1]}, {tastings}"
    yield f"{plan.tastings_needed} tastings find a difference that three in ten really notice."
    for portion in plan.portions:
        yield f"  {portion.taster}: {' '.join(portion.codes)}  {portion.question}"
    yield from (f"Caution: {words}" for words in plan.cautions)
    yield from (f"Written: {path} (the key is on its last page)" for path in plan.files)
