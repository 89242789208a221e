"""Hosts known by their number on a hectare only add to what the trails promise."""

from __future__ import annotations

import pytest

from tests.unit.test_plan_walk import fill, plan
from tests.unit.test_walk_limits import square
from underoak.ledger.database import open_ledger, writing
from underoak.ledger.ground import store_host_patches
from underoak.model.ground import HostPatch
from underoak.settings import Home

pytestmark = pytest.mark.usefixtures("plain_kitchen")


def keep_patch(home: Home, stems_ha: float, *, without_trees: bool, east_m: float = 310.0) -> None:
    connection = open_ledger(home.ledger)
    with writing(connection):
        patch = HostPatch("p", "old oaks", ((square(east_m, 250, 100),),), "white_oak", stems_ha)
        store_host_patches(connection, [patch])
        if without_trees:
            connection.execute("DELETE FROM spot")
            connection.execute("DELETE FROM tree")
    connection.close()


def test_old_oaks_along_here_are_walked_to(home: Home) -> None:
    fill(home)
    keep_patch(home, 40.0, without_trees=True)
    some = plan(home)
    edges = {some.ground.network.edges[prize.edge].name for prize in some.problem.prizes}
    assert edges == {"Row 1"}
    assert some.plan.kg > 0.0
    assert not any("No host tree" in note for note in some.plan.notes)
    keep_patch(home, 80.0, without_trees=True)
    twice = plan(home)
    assert sum(p.kg for p in twice.problem.prizes) == pytest.approx(
        2 * sum(p.kg for p in some.problem.prizes)
    )
    assert max(p.chance for p in twice.problem.prizes) > max(p.chance for p in some.problem.prizes)


def test_beyond_the_place_no_patch_counts(home: Home) -> None:
    fill(home)
    before = sum(p.kg for p in plan(home).problem.prizes)
    keep_patch(home, 40.0, without_trees=False, east_m=5000.0)
    assert sum(p.kg for p in plan(home).problem.prizes) == pytest.approx(before)
