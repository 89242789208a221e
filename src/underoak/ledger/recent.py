"""The last days out, found without reading all of them."""

from __future__ import annotations

from datetime import date
from functools import lru_cache

from underoak.ledger.connection import Ledger
from underoak.ledger.seasons import MOST_SEASONS, SeasonVisits, seasons


def recent_days(connection: Ledger, most: int, until: date) -> list[date]:
    """The last days with a visit up to ``until``, latest first."""
    rows = connection.execute(
        "SELECT DISTINCT day FROM visit WHERE day <= ? ORDER BY day DESC LIMIT ?", (until.isoformat(), most)
    )
    return [date.fromisoformat(row[0]) for row in rows]


def find_ids_at(connection: Ledger, spot_id: str, most: int) -> list[str]:
    """Ids of the last finds at a spot, latest first."""
    rows = connection.execute(
        "SELECT find.id FROM find JOIN visit ON visit.id = visit_id WHERE spot_id = ? "
        "ORDER BY day DESC, find.id LIMIT ?",
        (spot_id, most),
    )
    return [row[0] for row in rows]


def looks_at(connection: Ledger, spot_id: str, most: int) -> list[tuple[date, float]]:
    """The last looks at a spot, with or without a find: day and thoroughness, latest first."""
    rows = connection.execute(
        "SELECT day, thoroughness FROM search JOIN visit ON visit.id = visit_id WHERE spot_id = ? "
        "ORDER BY day DESC LIMIT ?",
        (spot_id, most),
    )
    return [(date.fromisoformat(row[0]), row[1]) for row in rows]


def finds_by_spot(connection: Ledger) -> dict[str, tuple[int, str]]:
    """How many finds each spot has given, and the day of the last."""
    given: dict[str, tuple[int, str]] = {}
    for season in seasons(connection):
        for spot_id, (count, day) in _finds_of_season(season).items():
            before, last = given.get(spot_id, (0, ""))
            given[spot_id] = before + count, max(last, day)
    return given


@lru_cache(maxsize=MOST_SEASONS)
def _finds_of_season(season: SeasonVisits) -> dict[str, tuple[int, str]]:
    """The same of one season, kept for as long as it comes again unchanged; nobody may change it."""
    given: dict[str, tuple[int, str]] = {}
    for visit in season.visits:
        for find in visit.finds:
            before, last = given.get(find.spot_id, (0, ""))
            given[find.spot_id] = before + 1, max(last, visit.day.isoformat())
    return given


def walks(connection: Ledger, most: int) -> list[tuple[str, str, str, str]]:
    """Id, day of asking, day out and document of the last planned walks, latest first."""
    rows = connection.execute(
        "SELECT id, made_on, for_day, document FROM answer WHERE kind = 'walk' ORDER BY rowid DESC LIMIT ?",
        (most,),
    )
    return [tuple(row) for row in rows]


def walk(connection: Ledger, answer_id: str) -> tuple[str, str, str, str] | None:
    """The same of one planned walk, None where there is none."""
    row = connection.execute(
        "SELECT id, made_on, for_day, document FROM answer WHERE kind = 'walk' AND id = ?", (answer_id,)
    ).fetchone()
    return tuple(row) if row else None
