"""How good the outlook would have been in each season, had it not known it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from underoak.errors import NoAnswer
from underoak.model.quantities import counted

if TYPE_CHECKING:
    from underoak.outlook.backtest import Judgement
    from underoak.settings import Home


@dataclass(frozen=True, slots=True)
class JudgedOutlook:
    """A judgement with the names of its taxa and the day it was made."""

    made_on: date
    judgement: Judgement
    names: dict[str, str]


def judge_outlook(
    home: Home, *, today: date, progress: Callable[[str, int, int], None] = lambda *_: None
) -> JudgedOutlook:
    """Judge the outlook on all visits up to today, and keep the judgement.

    Weather terms are those that the last learning switched on.

    Raises
    ------
    NoAnswer   with fewer than two seasons of visits: none can be left out
    """
    from underoak.book.load import load_book
    from underoak.desk.season_record import gathered_taxa, season_record
    from underoak.ledger.database import open_ledger, writing
    from underoak.ledger.learned import latest_learned, store_judgement
    from underoak.outlook.backtest import judge
    from underoak.outlook.learned import learned_from

    book = load_book()
    connection = open_ledger(home.ledger)
    try:
        record = season_record(connection, home.settings.where, today=today)
        cases = record.cases(gathered_taxa(book))
        seasons = {season for case in cases for season in case.seasons}
        if len(seasons) < 2:
            raise NoAnswer(
                f"visits of {counted(len(seasons), 'season')} only; "
                "a season can be left out when there are two",
                remedy="load earlier visits, or ask again next year",
            )
        kept = latest_learned(connection, until=today, book_version=book.version)
        done = iter(range(len(cases)))
        judgement = judge(
            cases,
            record.visits,
            rained=record.rained,
            terms={taxon_id: learned_from(d).terms for taxon_id, (_, d) in kept.items()},
            progress=lambda taxon_id: progress(taxon_id, next(done), len(cases)),
        )
        with writing(connection):
            store_judgement(connection, judgement, made_on=today, book_version=book.version)
    finally:
        connection.close()
    names = {t.taxon_id: book.taxa[t.taxon_id].scientific_name for t in judgement.taxa}
    return JudgedOutlook(today, judgement, names)
