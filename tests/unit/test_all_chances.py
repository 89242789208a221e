"""Every chance of an outlook is kept with the answer, within bounds, and comes back for the review."""

from __future__ import annotations

import json
from datetime import date, timedelta

import numpy as np
import pytest

from tests.unit.test_outlook_forecast import KIND, MAPLE, OAK, PLACE, TODAY, look
from tests.unit.test_this_week import KIND as MAITAKE
from tests.unit.test_this_week import TODAY as WEEKS_TODAY
from tests.unit.test_this_week import stocked  # noqa: F401 - a fixture
from underoak.desk import all_chances as module
from underoak.desk.all_chances import PARTS, all_chances, kept_chances, shortened
from underoak.desk.review_answers import looked_at, spot_forecasts
from underoak.desk.this_week import this_week
from underoak.ledger.answers import given_answers
from underoak.ledger.database import open_ledger
from underoak.model.plain import as_plain
from underoak.outlook.forecast import ChanceTable, chance_table
from underoak.settings import Home

DAYS = [TODAY + timedelta(days=n) for n in range(3)]


def table() -> ChanceTable:
    found = (look(TODAY - timedelta(days=1), "prime"),)
    return chance_table([OAK, MAPLE], [KIND], DAYS, climates={"wood": PLACE}, visits=found)


def document(spots: int = 2) -> dict[str, object]:
    kept = all_chances([OAK, MAPLE][:spots], [KIND], table())  # type: ignore[list-item]
    plain: dict[str, object] = json.loads(json.dumps(as_plain({"days": DAYS, "chances": kept})))
    return plain


def test_all_chances_come_back_to_five_places() -> None:
    rows = list(kept_chances(document()))
    assert len(rows) == 2 * len(DAYS)
    whole = table()
    for (day, spot, taxon, prime, found), (s, d) in zip(rows, np.ndindex(2, 3), strict=True):
        assert (day, spot, taxon) == (DAYS[d], ("oak", "maple")[s], "kind")
        assert prime == pytest.approx(whole.prime[s, 0, d], abs=0.5 / PARTS)
        assert found == pytest.approx(whole.found[s, 0, d], abs=1e-4)


def test_only_what_was_looked_at_is_asked_of_an_answer() -> None:
    rows = list(kept_chances(document(), {("maple", DAYS[1]), ("oak", date(2020, 1, 1))}))
    assert [(row[0], row[1]) for row in rows] == [(DAYS[1], "maple")]


def test_a_large_ledger_keeps_the_likeliest_pairs_and_says_how_many_it_left_out(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(module, "MOST_PAIRS", 1)
    kept = all_chances([OAK, MAPLE], [KIND], table())  # type: ignore[list-item]
    assert kept.pairs == ((0, 0),), "prime was found at the oak"
    assert kept.left_out == 1
    assert all_chances([], [KIND], table()).pairs == ()  # type: ignore[list-item]


def test_fractions_are_cut_to_four_digits_and_nothing_else_changes() -> None:
    assert shortened({"a": [0.123456, 1234.56, 3, True, None, "0.123456"]}) == {
        "a": [0.1235, 1235.0, 3, True, None, "0.123456"]
    }


def test_a_stored_week_holds_every_known_spot_taxon_and_day(stocked: Home) -> None:  # noqa: F811
    week = this_week(stocked, today=WEEKS_TODAY)
    connection = open_ledger(stocked.ledger)
    (answer,) = given_answers(connection, "week", until=WEEKS_TODAY)
    forecasts = list(spot_forecasts([answer]))
    taxa = {row.taxon_id for row in week.woods}
    assert {(f.spot_id, f.taxon_id, f.day) for f in forecasts} == {
        (spot, taxon, day) for spot in ("oak", "two") for taxon in taxa for day in week.days
    }
    best = week.spots[0].chance
    same = next(
        f for f in forecasts if (f.spot_id, f.taxon_id, f.day) == (best.spot_id, best.taxon_id, best.day)
    )
    assert best.taxon_id == MAITAKE
    assert (same.prime, same.found) == pytest.approx((best.prime, best.found), abs=1e-4)
    seen = [look(WEEKS_TODAY, spot="two")]
    judged = list(spot_forecasts([answer], looked_at(seen)))
    assert {(f.spot_id, f.day) for f in judged} == {("two", WEEKS_TODAY)}
    assert len(judged) == len(taxa)
