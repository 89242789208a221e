"""How long the rest of a walk takes to plan on the way, on the demo's woods."""

from __future__ import annotations

import tempfile
import time
from pathlib import Path

from underoak.desk.demo import SATURDAY, fresh_demo_home, load_world
from underoak.desk.plan_walk import plan_walk
from underoak.desk.walk_plan import WalkWish
from underoak.desk.walk_rest import OnTheWay, plan_rest

#: What is promised on the way [s].
PROMISED_S = 2.0


def main() -> None:
    """One line for each point of the walk: seconds of the whole answer, as a share of what is promised."""
    with tempfile.TemporaryDirectory() as folder:
        home = fresh_demo_home(Path(folder) / "home")
        load_world(home, seed=0)
        wish = WalkWish(day=SATURDAY, hours=3.5, place="Fiddler's Hollow", seconds=8.0)
        walk = plan_walk(home, wish, today=SATURDAY, clock=time.monotonic)
        turns = walk.plan.turns
        for done in range(3, len(turns) - 1, max(len(turns) // 5, 1)):
            turn = turns[done].turn
            left = 60.0 * wish.hours - turn.begins_min
            at = (walk.plan.leaves_at.replace(microsecond=0)).time().replace(hour=11)
            bag = sum(line.kg for line in turns[:done])
            here = OnTheWay(turn.longitude_deg, turn.latitude_deg, at, left, bag, done)
            began, busy = time.monotonic(), time.process_time()
            rest = plan_rest(home, wish, here, today=SATURDAY, clock=time.monotonic)
            seconds, busy = time.monotonic() - began, time.process_time() - busy
            kept = sum(line.kg for line in turns[done:])
            print(
                f"rest after turn {done}, {left:.0f} min left: {seconds:.2f} s, "
                f"{busy:.2f} s of them on the processor "
                f"({seconds / PROMISED_S:.2f} of what is promised), {rest.plan.kg:.2f} kg; "
                f"the old plan's rest {kept:.2f} kg"
            )


if __name__ == "__main__":
    main()
