"""``underoak walk``: plan a walk, print it and write its sheets."""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date, datetime
from datetime import time as clock_time
from pathlib import Path
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import click

from underoak.cli.output import Day, day_or_clock, home_option, json_option, show, today_option
from underoak.errors import UserMistake

if TYPE_CHECKING:
    from underoak.desk.walk_plan import WalkPlan


class Clock(click.ParamType[Any]):
    """A time of day written HH:MM."""

    name = "time"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """The time, or a click error that says what was expected."""
        try:
            return datetime.strptime(str(value), "%H:%M").time()  # noqa: DTZ007 - a time of day has no zone
        except ValueError:
            self.fail(f"{value!r} is no time of day; write it HH:MM", param, ctx)


#: What a search by rounds is guessed to take, for its progress [s].
ROUNDS_TAKE_S = 60.0
#: Where, when and with whom; and how long to search. A walk and what is packed for it ask alike.
_OUTING = (
    click.option("--place", default=None, metavar="NAME", help="Which wood; needed when there are several."),
    click.option(
        "--day", type=Day(), default=None, metavar="YYYY-MM-DD", help="The day out; today by default."
    ),
    click.option("--hours", type=float, default=3.0, show_default=True, help="How long you want to be out."),
    click.option(
        "--from",
        "car_park",
        default=None,
        metavar="CARPARK",
        help="Where you park; by default the nearest from which something is reached.",
    ),
    click.option(
        "--party", default="", metavar="NAME,NAME", help="Who walks; the whole household by default."
    ),
)
_SEARCH = (
    click.option("--seed", type=int, default=0, show_default=True, help="Same seed and --rounds, same walk."),
    click.option(
        "--seconds",
        type=click.FloatRange(1.0, 600.0),
        default=20.0,
        show_default=True,
        help="How long to search.",
    ),
    click.option(
        "--rounds",
        type=click.IntRange(1, 10_000),
        default=None,
        metavar="N",
        help="Search so many rounds, however long they take, instead of --seconds.",
    ),
)


def outing_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Ask for wood, day, hours, car park and party."""
    return _with(_OUTING, command)


def search_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Ask for seed and seconds of the search."""
    return _with(_SEARCH, command)


def effort_told(told: dict[str, Any]) -> dict[str, Any]:
    """Seconds and rounds of a `underoak.desk.walk_plan.WalkWish` as the options tell them."""
    if told["rounds"] is None:
        return {"seconds": told["seconds"]}
    return {"seconds": math.inf, "rounds": told["rounds"]}


def _with(options: tuple[Callable[[Any], Any], ...], command: Callable[..., Any]) -> Callable[..., Any]:
    for option in reversed(options):
        command = option(command)
    return command


@click.command()
@home_option
@outing_options
@click.option(
    "--start",
    type=Clock(),
    default=None,
    show_default="09:00; with --here the clock's",
    metavar="HH:MM",
    help="When you leave; with --here, what the time is.",
)
@click.option(
    "--for", "taxa", multiple=True, metavar="MUSHROOM", help="What you want; everything gathered by default."
)
@search_options
@click.option("--paper", type=click.Choice(["a4", "us-letter"]), default="us-letter", show_default=True)
@click.option("--sheets/--no-sheets", default=True, help="Write map, PDF, GPX and GeoJSON into the home.")
@click.option(
    "--goal",
    type=click.Choice(["expected", "something", "poor-day"]),
    default="expected",
    show_default=True,
    help="Most expected, most surely something for the children, or most on a poor day.",
)
@click.option("--days", default=None, metavar="DAY,DAY", help="Several days in one plan, such as sat,sun.")
@click.option("--cars", type=click.IntRange(1, 6), default=1, show_default=True, help="Cars, with --days.")
@click.option("--must-see", multiple=True, metavar="SPOT", help="A spot the walk has to visit.")
@click.option("--avoid", multiple=True, metavar="SPOT|TRAIL", help="A spot or a trail to stay away from.")
@click.option(
    "--no-go",
    type=click.Path(path_type=Path),
    default=None,
    metavar="FILE.geojson",
    help="Areas where nobody is to walk.",
)
@click.option(
    "--here", type=(float, float), default=None, metavar="LON LAT", help="On the way: where you are now."
)
@click.option("--left", type=float, default=None, metavar="MINUTES", help="With --here: the time you have.")
@click.option("--bag", type=float, default=0.0, metavar="KG", help="With --here: what the bag holds.")
@click.option("--done", type=int, default=0, metavar="TURNS", help="With --here: turns of the plan walked.")
@today_option
@json_option
def walk(home: Path, *, day: date | None, today: date | None, as_json: bool, **told: Any) -> None:
    """The loop that brings most home, within time, daylight, bag, kitchen and permission.

    Where nobody is known to allow gathering, a walk to look is planned, and whom to ask is said.
    """
    from underoak.desk.plan_walk import plan_walk
    from underoak.desk.walk_limits import no_go_areas
    from underoak.desk.walk_plan import WalkWish
    from underoak.settings import load_home

    house, now = load_home(home), day_or_clock(today)
    wish = WalkWish(
        day=day or now,
        hours=told["hours"],
        leaves=told["start"] or clock_time(9),
        place=told["place"],
        car_park=told["car_park"],
        party=tuple(name.strip() for name in told["party"].split(",") if name.strip()),
        taxa=told["taxa"],
        goal=told["goal"].replace("-", "_"),
        seed=told["seed"],
        **effort_told(told),
        must_see=told["must_see"],
        avoid=told["avoid"],
        no_go=no_go_areas(told["no_go"]) if told["no_go"] else (),
    )
    if told["here"]:
        _rest(house, wish, now, told, as_json=as_json)
        return
    if told["days"]:
        _several(house, wish, now, told, as_json=as_json)
        return
    with _search(wish.seconds, quiet=as_json) as tell:
        planned = plan_walk(house, wish, today=now, clock=time.monotonic, tell=tell)
    show(planned.plan, walk_lines(planned.plan, _sheets([planned], house, told)), as_json=as_json)


def _rest(house: Any, wish: Any, now: date, told: dict[str, Any], *, as_json: bool) -> None:
    from underoak.desk.walk_rest import OnTheWay, plan_rest

    if told["left"] is None or told["days"]:
        raise UserMistake(
            "the rest of one walk is planned", where="--here", expected="--left MINUTES, and no --days"
        )
    longitude_deg, latitude_deg = told["here"]
    at = told["start"] or datetime.now(ZoneInfo(house.settings.where.timezone)).time()
    here = OnTheWay(longitude_deg, latitude_deg, at, told["left"], told["bag"], told["done"])
    plan = plan_rest(house, wish, here, today=now, clock=time.monotonic).plan
    show(plan, walk_lines(plan, []), as_json=as_json)


def _several(house: Any, wish: Any, now: date, told: dict[str, Any], *, as_json: bool) -> None:
    from underoak.desk.plan_days import days_lines, days_named, plan_days

    days = days_named(told["days"], now)
    with _search(wish.seconds, quiet=as_json) as tell:
        plan, walks = plan_days(
            house, wish, days=days, cars=told["cars"], today=now, clock=time.monotonic, tell=tell
        )
    files = _sheets(list(walks), house, told)
    lines = days_lines(plan)
    for one in plan.walks:
        lines += ["", *walk_lines(one, [])]
    show(plan, [*lines, *(f"Written: {path}" for path in files)], as_json=as_json)


def _sheets(walks: list[Any], house: Any, told: dict[str, Any]) -> list[Path]:
    from underoak.desk.walk_sheets import write_walk_sheets

    if not told["sheets"]:
        return []
    return [path for walk in walks for path in write_walk_sheets(walk, house.sheets, paper=told["paper"])]


@contextmanager
def _search(seconds: float, *, quiet: bool) -> Iterator[Callable[[Any], None]]:
    """A progress bar for a search of so many seconds, where somebody watches."""
    from underoak.cli.story import Teller

    began, seconds = time.monotonic(), seconds if math.isfinite(seconds) else ROUNDS_TAKE_S
    with Teller(quiet=quiet).progress("searching", seconds) as bar:

        def tell(progress: Any) -> None:
            most = f", at most {progress.bound_kg:.2f} kg" if progress.bound_kg < 1e6 else ""
            bar.share((time.monotonic() - began) / seconds, f"{progress.kg:.2f} kg found{most}")

        yield tell


def walk_lines(plan: WalkPlan, files: list[Path]) -> Iterator[str]:
    """The walk as text: figures, turns, what was left out, cautions."""
    from underoak.desk.walk_sheets import facts
    from underoak.sheets.promise_chart import promise_lines
    from underoak.sheets.wording import BEARINGS

    yield f"{plan.place}, {plan.day}"
    yield from (f"  {fact}" for fact in facts(plan))
    yield "Turns"
    for line in plan.turns:
        kg = f"  {1000 * line.kg:5.0f} g" if line.kg >= 0.0005 else ""
        look = f"  look at {', '.join(line.spots)}" if line.spots else ""
        yield f"  {line.turn.number:2d}  {line.at}  {line.turn.words}, {line.turn.length_m:.0f} m{kg}{look}"
    if plan.turns:
        yield f"  {BEARINGS}"
    if plan.promises:
        yield "What it may bring"
        yield from (f"  {words}" for words in promise_lines(plan.promises))
    if plan.left_out:
        yield "Not on this walk"
        yield from (f"  {words}" for words in plan.left_out)
    yield from (f"Note: {words}" for words in plan.notes)
    yield from (f"Caution: {words}" for words in plan.cautions)
    yield from (f"Written: {path}" for path in files)
