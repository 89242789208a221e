"""A home in which the invented Saturday was lived, with the address of every kind of page on it."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, datetime, time
from pathlib import Path
from time import monotonic

from waitress.server import create_server

from underoak.desk.demo import SATURDAY, day_out, fresh_demo_home, load_world
from underoak.desk.draft_form import change_draft
from underoak.desk.kept_walks import kept_walks, walk_folder
from underoak.desk.list_finds import list_finds
from underoak.desk.pantry_shelf import shelf
from underoak.desk.plan_walk import plan_walk
from underoak.desk.put_up_haul import HaulQuestion, put_up_haul
from underoak.desk.record_batch import BatchNote, record_batches
from underoak.desk.tell_spot import known_spots
from underoak.desk.vet_find import vet_find
from underoak.desk.walk_plan import WalkWish
from underoak.desk.walk_sheets import write_walk_sheets
from underoak.ledger.database import open_ledger
from underoak.ledger.ground import trees
from underoak.model.plain import as_plain
from underoak.settings import Home
from underoak.web.doorway import Doorway

PLACE = "Fiddler's Hollow"
EVENING = datetime.combine(SATURDAY, time(17))


def live(folder: Path) -> Home:
    """Load the invented valley and run its Saturday quickly."""
    home = fresh_demo_home(folder)
    load_world(home, seed=1)
    spend_saturday(home)
    return home


def spend_saturday(home: Home) -> None:
    """The Saturday of a loaded valley: walks, finds, verdicts, kitchen, jars, and questions begun."""
    for hours in (2.0, 3.0):
        wish = WalkWish(day=SATURDAY, hours=hours, place=PLACE, seconds=1.0)
        walk = plan_walk(home, wish, today=SATURDAY, clock=monotonic)
        write_walk_sheets(walk, walk_folder(home, walk.plan.answer_id))
    _, noted = day_out(home, PLACE, seed=1, minutes=200.0)
    for each in noted:
        vet_find(home, each.find.id, each.document, today=SATURDAY)
    plan = put_up_haul(home, HaulQuestion(day=SATURDAY, now=EVENING, seconds=0.0))
    tasks = [task.id for task in plan.schedule.tasks]
    made = record_batches(home, BatchNote(tasks=tasks[:2]), day=SATURDAY)
    done = {
        task: {"batch": one.batch.id, "jars": [jar.code for jar in one.jars]}
        for task, one in zip(tasks, made, strict=False)
    }
    document = {"plan": as_plain(plan), "ticked": [f"{tasks[0]}:0"], "done": done}
    change_draft(home, "kitchen", SATURDAY.isoformat(), lambda _: document)
    _begin_vetting(home)


def _begin_vetting(home: Home) -> None:
    """One find on which the questions have begun."""
    document = {
        "format": "underoak observations 1",
        "target": last_find(home, "armillaria_mellea_group")[1],
        "bodies_in_lot": 4,
        "ground": {"treated": "no", "roadside": "no", "flooded_or_dumped": "no"},
        "bodies": [
            {
                "id": "1",
                "kind": "cluster",
                "stems": 3,
                "age": "mature",
                "condition": {"wormy": "no", "soaked": "no", "frozen": "no", "rotten": "no"},
                "observations": {"form": {"look": "seen", "states": ["cap_and_stem"], "stems": 3}},
            }
        ],
    }
    change_draft(home, "vetting", last_find(home, "armillaria_mellea_group")[0], lambda _: document)


def last_find(home: Home, taxon_id: str) -> tuple[str, str]:
    """Id and taxon of the last find of a kind on the Saturday."""
    finds = [f.find for v in list_finds(home, today=SATURDAY, day=SATURDAY) for f in v.finds]
    return next((f.id, f.taxon_id) for f in reversed(finds) if f.taxon_id == taxon_id)


def addresses(home: Home) -> dict[str, str]:
    """Name and address of every kind of page, on a home that was lived in."""
    connection = open_ledger(home.ledger)
    try:
        tree = trees(connection)[0].id
    finally:
        connection.close()
    spot, jar = known_spots(home)[0].spot.id, shelf(home, today=SATURDAY).jars[0].jar
    honey, walks = last_find(home, "armillaria_mellea_group")[0], [one.id for one in kept_walks(home)]
    other = last_find(home, "hericium_group")[0]
    return {
        "week": "/",
        "why": f"/why/{spot}/grifola_frondosa/{SATURDAY}",
        "outlook": "/outlook",
        "map": "/map",
        "spot": f"/map/spot/{spot}",
        "tree": f"/map/tree/{tree}",
        "walk": "/walk",
        "walk-plan": f"/walk/plan/{walks[0]}",
        "walk-compare": f"/walk/compare?walk={walks[0]}&walk={walks[1]}",
        "finds": "/finds",
        "day": f"/finds/day/{SATURDAY}",
        "day-form": "/finds/new",
        "find": f"/finds/one/{honey}",
        "vetting": "/vetting",
        "vetting-lot": f"/vetting/{other}",
        "vetting-question": f"/vetting/{honey}",
        "vetting-measure": f"/vetting/{honey}?ask=cap_width_cm",
        "vetting-body": f"/vetting/{honey}?new=1",
        "kitchen": "/kitchen",
        "pantry": "/pantry",
        "jar": f"/pantry/jar/{jar.code}",
        "forward": f"/pantry/forward/batch/{jar.batch_id}",
        "labels": "/pantry/labels",
        "season": "/season",
        "ill": "/ill",
        "ill-answered": "/ill?who=Mara&since=2026-10-03T22:30&ate_0=honeys&ate_at_0=2026-10-03T12:00",
        "book": "/book",
        "entry": "/book/armillaria_mellea_group",
        "ground": "/ground",
        "telephones": "/ground/telephones",
        "wood": "/ground/wood",
        "spot-form": "/ground/spot",
        "car-park": "/ground/car-park",
        "settings": "/settings",
        "phones": "/phones",
        "pair": "/pair",
        "sorry": "/walk/compare",
        "refused": "/there-is-no-such-page",
    }


@contextmanager
def served(folder: Path, *, today: date = SATURDAY) -> Iterator[str]:
    """Serve a folder the way ``underoak serve`` does, on a free port; the address of its first page."""
    server = create_server(lambda *_: [], host="127.0.0.1", port=0, threads=8)
    port = int(server.effective_port)
    server.application = Doorway(
        folder, today=lambda: today, now=lambda: datetime.combine(today, time(22, 45)), port=port
    )
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    try:
        yield f"http://127.0.0.1:{port}"
    finally:
        server.close()
        thread.join(timeout=0.2)
