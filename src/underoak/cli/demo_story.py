"""The demo: one invented autumn Saturday from weather to jar, told stage by stage."""

from __future__ import annotations

import math
import time as clock
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import datetime, time
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING

from underoak.cli.story import Teller
from underoak.desk.demo import SATURDAY, NotedFind, day_out, fresh_demo_home, load_world

if TYPE_CHECKING:
    from underoak.desk.this_week import Week
    from underoak.desk.vet_find import VettedFind
    from underoak.settings import Home

#: About how long each solver takes here. They stop by their rounds, not by a clock: the story is the same
#: on every computer.
WALK_SECONDS, KITCHEN_SECONDS = 8.0, 5.0
#: Lines of one chapter: what fits a screen.
SCREEN = 24


@dataclass(slots=True)
class Story:
    """What happened so far, and what is handed back at the end."""

    home: str
    place: str = ""
    week_best_chance: float = 0.0
    walk_kg: float = 0.0
    walk_bound_kg: float = 0.0
    verdicts: dict[str, str] = field(default_factory=dict)
    jars: list[str] = field(default_factory=list)
    files: list[str] = field(default_factory=list)


def tell_demo(folder: Path, *, seed: int, teller: Teller) -> Story:
    """Make the invented home in ``folder`` and run the whole job on it; what came of it."""
    home = fresh_demo_home(folder)
    story = Story(home=str(folder))
    teller.tell(
        "An invented Saturday, from weather to jar",
        (
            "Every place, person, tree and day here is invented.",
            "Nothing shown says that a mushroom may be eaten.",
            f"The home is made in {folder}; each step below is a command you can run on it yourself.",
        ),
    )
    _load(home, story, seed, teller)
    _week(home, story, teller)
    minutes = _walk(home, story, teller)
    noted = _day(home, story, seed, minutes, teller)
    _vet(home, story, noted, teller)
    _kitchen(home, story, teller)
    _pantry(home, story, teller)
    _review(home, teller)
    _end(home, story, teller)
    return story


def _load(home: Home, story: Story, seed: int, teller: Teller) -> None:
    with teller.progress("Reading the invented files", 3.0):
        loaded = load_world(home, seed=seed)
    lines = [f"{each.kind:9}{each.file:22}{each.understood[0] if each.understood else ''}" for each in loaded]
    teller.tell("1. What the household has on file   (underoak load KIND FILE)", clipped(lines))
    story.files += [str(home.folder / "files" / each.file) for each in loaded]


def _week(home: Home, story: Story, teller: Teller) -> None:
    from underoak.cli.week import week_lines
    from underoak.desk.this_week import this_week

    with teller.progress("Working out the week", 4.0):
        week = this_week(home, today=SATURDAY)
    story.place = _best_place(week)
    story.week_best_chance = max(max(row.best_chance) for row in week.woods)
    teller.tell("2. When, and which woods?   (underoak week)", clipped(week_lines(week)))


def _best_place(week: Week) -> str:
    """The wood with most to expect today among those where gathering is allowed."""
    totals: dict[str, float] = {}
    for row in week.woods:
        if row.permission == "allowed":
            totals[row.place] = totals.get(row.place, 0.0) + row.expected_kg[0]
    return max(totals, key=lambda place: totals[place])


def _walk(home: Home, story: Story, teller: Teller) -> float:
    from underoak.cli.walk import walk_lines
    from underoak.desk.plan_walk import plan_walk
    from underoak.desk.walk_plan import WalkWish
    from underoak.desk.walk_sheets import write_walk_sheets

    wish = WalkWish(day=SATURDAY, hours=3.5, leaves=time(9), place=story.place, seconds=math.inf)
    with teller.progress("Looking for the best walk", WALK_SECONDS) as bar:
        started = clock.monotonic()
        walk = plan_walk(
            home,
            wish,
            today=SATURDAY,
            clock=clock.monotonic,
            tell=lambda p: bar.share(
                (clock.monotonic() - started) / WALK_SECONDS, f"{p.kg:.2f} kg, at most {p.bound_kg:.2f}"
            ),
        )
    files = write_walk_sheets(walk, home.sheets)
    story.walk_kg, story.walk_bound_kg = walk.plan.kg, walk.plan.bound_kg
    story.files += [str(path) for path in files]
    teller.tell("3. Which way do we walk?   (underoak walk)", clipped(walk_lines(walk.plan, [])))
    return walk.plan.minutes


def _day(home: Home, story: Story, seed: int, minutes: float, teller: Teller) -> tuple[NotedFind, ...]:
    visit, noted = day_out(home, story.place, seed=seed, minutes=minutes)
    total_kg = sum(find.fresh_g or 0.0 for find in visit.finds) / 1000.0
    lines = [
        f"{visit.day}, {story.place}: {len(visit.searches)} spots looked at, {total_kg:.1f} kg, "
        "each find in a paper bag of its own"
    ]
    lines += [
        f"{_name(each):28}{each.find.fresh_g:>6.0f} g   {each.words or 'all characters noted'}"
        for each in noted
    ]
    teller.tell("4. The day   (underoak visit)", clipped(lines))
    return noted


def _vet(home: Home, story: Story, noted: tuple[NotedFind, ...], teller: Teller) -> None:
    from underoak.desk.vet_find import vet_find

    with teller.progress("Vetting each find", 2.0):
        vetted = [(each, vet_find(home, each.find.id, each.document, today=SATURDAY)) for each in noted]
    story.verdicts = {each.find.id: answer.verdict.state for each, answer in vetted}
    lines = [line for each, answer in vetted for line in _verdict_lines(each, answer)]
    lines.append(
        "'consistent' still waits for a person who knows. The book has not been reviewed by a mycologist."
    )
    teller.tell("5. What is this, and what could it be instead?   (underoak vet FIND)", clipped(lines))


def _verdict_lines(each: NotedFind, answer: VettedFind) -> Iterator[str]:
    verdict = answer.verdict
    yield f"{verdict.state:11} {_name(each)}, {each.find.fresh_g:.0f} g"
    if verdict.state in ("refused", "open"):
        reasons = [reason.words for reason in verdict.reasons if reason.state == verdict.state]
        yield from (f"            - {words[:110]}" for words in reasons[:3])


def _name(each: NotedFind) -> str:
    """The Latin name that somebody had in mind."""
    from underoak.book.load import load_book

    return load_book().taxa[each.find.taxon_id].scientific_name


def _kitchen(home: Home, story: Story, teller: Teller) -> None:
    from underoak.cli.kitchen import plan_lines
    from underoak.desk.put_up_haul import HaulQuestion, put_up_haul
    from underoak.desk.record_batch import BatchNote, record_batches

    opens = datetime.combine(SATURDAY, time.fromisoformat(home.settings.kitchen.evening_starts))
    with teller.progress("Planning the kitchen", KITCHEN_SECONDS):
        plan = put_up_haul(home, HaulQuestion(day=SATURDAY, now=opens, seconds=math.inf))
    story.files += plan.files
    lines = [line for line in plan_lines(plan) if "begin by" not in line]
    teller.tell("6. How do we save it tonight?   (underoak kitchen)", clipped(lines))
    tasks = tuple(task.id for task in plan.schedule.tasks)
    made = record_batches(home, BatchNote(tasks=tasks), day=SATURDAY)
    story.jars = [jar.code for batch in made for jar in batch.jars]


def _pantry(home: Home, story: Story, teller: Teller) -> None:
    from underoak.cli.pantry import back_lines, shelf_lines
    from underoak.desk.pantry_shelf import shelf, write_labels
    from underoak.desk.trace_jar import trace_back

    if not story.jars:
        teller.tell(
            "7. The pantry   (underoak jars)", ["Nothing was let through tonight, so no jar was filled."]
        )
        return
    written = write_labels(home, today=SATURDAY)
    story.files += written.files
    teller.tell("7. The pantry   (underoak jars)", clipped(shelf_lines(shelf(home, today=SATURDAY))))
    teller.tell(
        f"8. From the jar back to the tree   (underoak trace {story.jars[0]})",
        clipped(back_lines(trace_back(home, story.jars[0]))),
    )


def _review(home: Home, teller: Teller) -> None:
    from underoak.cli.review import review_lines
    from underoak.desk.review_season import review_season

    lines = review_lines(review_season(home, SATURDAY.year))
    teller.tell("9. What did the season bring?   (underoak review)", clipped(lines))


def _end(home: Home, story: Story, teller: Teller) -> None:
    wanted = [path for path in story.files if "/sheets/" in Path(path).as_posix()]
    teller.tell(
        "Written",
        (
            *wanted,
            "",
            "Go on:",
            f"  .venv/bin/underoak serve --home {home.folder} --today {SATURDAY}   the pages in a browser",
            f"  .venv/bin/underoak week --home {home.folder} --today {SATURDAY}    any command, on that day",
            "  .venv/bin/underoak new our-home                     a home of your own",
            "  docs/tour.md                                        what happened here, file by file",
        ),
    )


def clipped(lines: Iterable[str], most: int = SCREEN) -> list[str]:
    """At most one screen of lines, no wider than it, and a word where more was left out."""
    taken = list(islice(lines, most + 1))
    if len(taken) > most:
        taken = [*taken[: most - 1], "… the command by itself shows all of it"]
    return [line if len(line) <= 126 else line[:125] + "…" for line in taken]
