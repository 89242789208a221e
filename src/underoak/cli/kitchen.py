"""``kitchen``: plan the evening; ``kitchen done``: write down what was made."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from underoak.cli.kitchen_figures import FIGURES
from underoak.cli.output import day_or_clock, home_option, json_option, show, today_option
from underoak.errors import UserMistake

if TYPE_CHECKING:
    from underoak.desk.put_up_haul import EveningPlan, PlannedProduct
    from underoak.desk.record_batch import MadeBatch
    from underoak.desk.record_bought import BoughtLot
    from underoak.kitchen.wishes import Hours
    from underoak.model.kitchen import Keeping
    from underoak.model.quantities import Units


@click.group(invoke_without_command=True)
@home_option
@today_option
@click.option(
    "--now", "clock", default=None, metavar="HH:MM", help="The hour; start of the evening by default."
)
@click.option("--haul", type=click.Path(path_type=Path), default=None, help="A CSV or JSON haul instead.")
@click.option("--picked", default="09:00", show_default=True, metavar="HH:MM", help="When it was picked.")
@click.option("--kept", multiple=True, metavar="HOURS@TEMP", help="How it was kept since, such as 3@8 in °C.")
@click.option("--kept-log", type=click.Path(path_type=Path), default=None, help="The same, from a logger.")
@click.option("--dirt", type=click.Choice(["clean", "some", "dirty"]), default="some", show_default=True)
@click.option("--hours", multiple=True, metavar="NAME=17:00-22:00", help="Who is in the kitchen tonight.")
@click.option("--tomorrow", multiple=True, metavar="NAME=9:00-12:00", help="Who is there tomorrow.")
@click.option("--like", multiple=True, metavar="METHOD=1.3", help="Liking of a method or kind; 0 is never.")
@click.option("--give-to", multiple=True, metavar="NAME", help="Who gets what does not fit.")
@click.option(
    "--eater", "eaters", multiple=True, metavar="NAME", help="Who eats tonight; all adults otherwise."
)
@click.option(
    "--no-alcohol",
    multiple=True,
    metavar="NAME",
    help="Asked: NAME drinks none for the days the book says, before and after.",
)
@click.option(
    "--canners", type=click.IntRange(0, 4), default=0, help="Pressure canners, for bought mushrooms only."
)
@click.option(
    "--seconds",
    type=click.FloatRange(0, 600),
    default=10.0,
    show_default=True,
    help="Time to search; 0 is the quick rule.",
)
@click.option("--paper", type=click.Choice(["a4", "us-letter"]), default="a4", show_default=True)
@json_option
@click.pass_context
def kitchen(
    context: click.Context,
    /,
    home: Path,
    *,
    today: date | None,
    clock: str | None,
    as_json: bool,
    **asked: Any,
) -> None:
    """What to do tonight with the haul: who does what when, amounts, jars, use-by days and cautions.

    Wild mushrooms are never canned here. A lot without a verdict of 'consistent' or 'confirmed' is set aside.
    """
    if context.invoked_subcommand:
        context.obj = (home, today)
        return
    from underoak.desk.put_up_haul import HaulQuestion, put_up_haul
    from underoak.settings import load_home

    place = load_home(home)
    day = day_or_clock(today)
    now = datetime.combine(day, _time(clock or place.settings.kitchen.evening_starts, "--now"))
    question = HaulQuestion(
        day=day,
        now=now,
        haul=asked["haul"],
        picked=_time(asked["picked"], "--picked"),
        kept=_kept(asked["kept"], asked["kept_log"]),
        dirt=asked["dirt"],
        hours=(
            *(_hours(text, day) for text in asked["hours"]),
            *(_hours(text, day + timedelta(days=1)) for text in asked["tomorrow"]),
        ),
        liking=dict(_liking(text) for text in asked["like"]),
        give_to=asked["give_to"],
        eaters=asked["eaters"],
        no_alcohol=asked["no_alcohol"],
        canners=asked["canners"],
        seconds=asked["seconds"],
        paper=asked["paper"],
    )
    answer = put_up_haul(place, question)
    show(answer, plan_lines(answer), as_json=as_json)


@kitchen.command()
@home_option
@click.argument("tasks", nargs=-1)
@click.option("--method", default=None, help="The method, when it was not a task of the plan.")
@click.option(
    "--lot", "lots", multiple=True, metavar="KIND=GRAMS", help="What went in, fresh grams; LOT=GRAMS too."
)
@click.option("--units", default=None, metavar="5x300", help="Jars or bags, and grams of product in each.")
@click.option("--stands", type=click.Choice(["freezer", "refrigerator", "cool_room", "room"]), default=None)
@click.option("--specimen", default="", metavar="WHERE", help="Where an uncooked body is kept.")
@click.option("--anyway", is_flag=True, help="Record what was done against the advice, under its warning.")
@click.option("--note", default="")
@today_option
@json_option
def done(home: Path, tasks: tuple[str, ...], *, today: date | None, as_json: bool, **made: Any) -> None:
    """Write down what was made: tasks of the last plan (T1 T2), or a method with its lots.

    Afterwards 'underoak kitchen' plans what is left.
    """
    from underoak.desk.record_batch import BatchNote, record_batches
    from underoak.settings import load_home

    parent = click.get_current_context().obj
    if parent and home == Path() and parent[0] != Path():
        home = parent[0]
    note = BatchNote(
        tasks=tasks,
        method=made["method"],
        lots=tuple(_lot(text) for text in made["lots"]),
        units=_units(made["units"]),
        stands=made["stands"],
        specimen=made["specimen"],
        anyway=made["anyway"],
        note=made["note"],
    )
    answer = record_batches(load_home(home), note, day=day_or_clock(today or (parent[1] if parent else None)))
    show(answer, _made_lines(answer), as_json=as_json)


@kitchen.command()
@home_option
@click.argument("what", metavar="KIND=GRAMS")
@click.option("--shop", required=True, metavar="NAME", help="Where it was bought.")
@click.option("--at", "clock", default="12:00", show_default=True, metavar="HH:MM", help="When, on that day.")
@click.option("--grown", is_flag=True, help="It was grown, not gathered: the package or the seller says so.")
@today_option
@json_option
def bought(
    home: Path, what: str, *, shop: str, clock: str, grown: bool, today: date | None, as_json: bool
) -> None:
    """Write down bought mushrooms, such as "oyster mushroom=800"; the kitchen plans them with the finds.

    They are never vetted here, and jars made of them lead back to the shop and the day.
    """
    from underoak.desk.record_bought import BoughtNote, record_bought
    from underoak.settings import load_home

    parent = click.get_current_context().obj
    if parent and home == Path() and parent[0] != Path():
        home = parent[0]
    day = day_or_clock(today or (parent[1] if parent else None))
    kind, grams = _lot(what)
    note = BoughtNote(kind, grams, shop, datetime.combine(day, _time(clock, "--at")), grown)
    place = load_home(home)
    answer = record_bought(place, note, now=datetime.combine(day, time.max))
    show(answer, _bought_lines(answer, place.settings.units), as_json=as_json)


for _figure in FIGURES:
    kitchen.add_command(_figure)


def plan_lines(plan: EveningPlan) -> Iterator[str]:
    """The evening as text: timeline, amounts, what is not kept, cautions."""
    from underoak.model.quantities import amount, counted, weight
    from underoak.sheets.run_sheet import begin_by_lines, grouped, not_kept_lines

    total = weight(sum(lot.fresh_g for lot in plan.lots), plan.units)
    yield f"Kitchen, {plan.day:%A %d %B %Y}, from {plan.now:%H:%M}: {counted(len(plan.lots), 'lot')}, {total}"
    yield from (f"  Begin by {line}" for line in begin_by_lines(plan.lots, plan.deadlines, plan.units))
    yield ""
    yield from _proof(plan)
    names = {p.task_id: f"{weight(p.fresh_g, plan.units)} {p.kind}: {p.method}" for p in plan.products}
    for task in plan.schedule.tasks:
        who = ", ".join(dict.fromkeys(name for step in task.steps for name in step.people))
        ends = f"{task.end:%H:%M}" if task.start.date() == task.end.date() else f"{task.end:%a %H:%M}"
        yield f"  {task.start:%a %H:%M}-{ends:<9}  {task.id:<4} {names[task.id]} ({who})"
    for alike in grouped(plan.products):
        yield from _product_lines(alike, plan.units)
    if plan.leftovers:
        yield ""
        yield "Not kept"
        yield from (f"  {line}" for line in not_kept_lines(plan.leftovers, plan.units))
    if plan.shopping:
        yield ""
        needs = (f"{n.what} {amount(n.amount, n.unit, plan.units)}" for n in plan.shopping)
        yield "Have ready: " + ", ".join(needs)
    yield ""
    yield from (f"Caution: {words}" for words in plan.cautions)
    yield from (f"Note: {note}" for note in plan.notes)
    yield from (f"Written: {path}" for path in plan.files)


def _proof(plan: EveningPlan) -> Iterator[str]:
    from underoak.model.quantities import percent, weight

    found = plan.schedule
    kept = f"{weight(found.kept_g, plan.units)} are put up or eaten"
    if not found.tasks:
        yield "Nothing of it can be put up or eaten; the reasons stand below."
    elif found.gap is None:
        yield f"{kept} ({found.made_by})"
    else:
        better = f"no plan can be more than {percent(found.gap, 1)} better by your likings"
        yield f"{kept} ({found.made_by}; {better})"


def _product_lines(alike: Sequence[PlannedProduct], units: Units) -> Iterator[str]:
    from underoak.model.quantities import weight
    from underoak.sheets.run_sheet import acid_line

    first = alike[0]
    low, high = (sum(p.product_g[end] for p in alike) for end in (0, 1))
    yield ""
    tasks = " ".join(p.task_id for p in alike)
    yield f"{first.kind} ({first.scientific_name}): {first.method} [{tasks}]"
    fresh = weight(sum(p.fresh_g for p in alike), units)
    amount = f"  {fresh} fresh, about {weight(low, units)} to {weight(high, units)}"
    if first.containers:
        amount += f" in {sum(p.containers for p in alike)} × {first.container.replace('_', ' ')}"
    use_by = min((p.use_by for p in alike if p.use_by), default=None)
    yield amount + (f"; use by {use_by}" if use_by else "")
    if first.acid:
        yield f"  {acid_line(first.acid.acid_g_l, first.acid.ph, first.acid.highest_ph)}"
    yield from (f"  {words}" for words in (*first.ends_when, *first.differing, *first.cautions))


def _bought_lines(bought: BoughtLot, units: Units) -> Iterator[str]:
    from underoak.model.quantities import weight

    yield f"{bought.kind}, {weight(bought.lot.fresh_g, units)} from {bought.lot.shop}: lot {bought.lot.id}"
    yield from (f"Caution: {words}" for words in bought.cautions)
    yield "Plan it with the finds of the day: underoak kitchen"


def _made_lines(made: tuple[MadeBatch, ...]) -> Iterator[str]:
    from underoak.model.quantities import counted

    for one in made:
        yield f"Batch {one.batch.id}: {one.method}, {counted(len(one.jars), 'unit')}"
        yield from (f"  {jar.code}  {jar.net_g:.0f} g  use by {jar.use_by or '-'}" for jar in one.jars)
        if one.jars and not one.batch.weighed and not one.bought:
            yield "  These grams are the plan's. Give what you weighed with --units: that teaches yields."
        yield from (f"  AGAINST ADVICE: {why}" for why in one.batch.against_advice)
        yield from (f"  Caution: {words}" for words in one.cautions)
        if not one.jars:
            yield f"  Who eats of it: underoak ate batch {one.batch.id} --person NAME"
    if any(one.jars for one in made):
        yield "Labels: underoak jars --labels"


def _time(text: str, where: str) -> time:
    try:
        return datetime.strptime(text, "%H:%M").time()  # noqa: DTZ007 - a time of day has no zone
    except ValueError as error:
        raise UserMistake(f"{text!r} is no time of day", where=where, expected="HH:MM") from error


def _kept(texts: tuple[str, ...], log: Path | None) -> tuple[Keeping, ...]:
    if log is None:
        return tuple(_keeping(text) for text in texts)
    if texts:
        raise UserMistake("two histories", where="--kept", expected="--kept or --kept-log")
    from underoak.desk.kitchen_figures import kept_from_log

    return kept_from_log(log)


def _keeping(text: str) -> Keeping:
    from underoak.model.kitchen import Keeping

    hours, _, temperature = text.partition("@")
    return Keeping(_number(hours, "--kept"), _number(temperature, "--kept"))


def _hours(text: str, day: date) -> Hours:
    from underoak.kitchen.wishes import Hours

    name, _, span = text.partition("=")
    start, _, end = span.partition("-")
    return Hours(
        name.strip(),
        datetime.combine(day, _time(start.strip(), "--hours")),
        datetime.combine(day, _time(end.strip(), "--hours")),
    )


def _liking(text: str) -> tuple[str, float]:
    name, _, factor = text.partition("=")
    liking = _number(factor, "--like")
    if not 0.0 <= liking <= 5.0:
        raise UserMistake(f"a liking of {liking:g}", where="--like", expected="0 to 5")
    return name.strip(), liking


def _lot(text: str) -> tuple[str, float]:
    name, _, grams = text.rpartition("=")
    return name.strip(), _number(grams, "--lot")


def _units(text: str | None) -> tuple[int, float] | None:
    if text is None:
        return None
    count, _, grams = text.lower().partition("x")
    number = _number(count, "--units")
    if number < 1 or number != int(number):
        raise UserMistake(
            f"{count!r} jars or bags", where="--units", expected="a whole number, such as 5x300"
        )
    return int(number), _number(grams, "--units")


def _number(text: str, where: str) -> float:
    try:
        return float(text)
    except ValueError as error:
        raise UserMistake(f"{text!r} is no number", where=where, expected="such as 300") from error
