"""Learn from all seasons that are over, and say how good the forecasts would have been."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from math import exp
from typing import TYPE_CHECKING

from underoak.errors import NoAnswer

if TYPE_CHECKING:
    from underoak.desk.season_record import SeasonRecord
    from underoak.outlook.backtest import Judgement
    from underoak.outlook.learned import Learned
    from underoak.outlook.leave_out import TaxonCase
    from underoak.settings import Home


@dataclass(frozen=True, slots=True)
class TaxonLearned:
    """One taxon: from how much, what moved against the book, which weather terms are on and why."""

    taxon_id: str
    taxon: str
    looks: int
    finds: int
    later_days: float
    inhabited_odds: float
    returns_odds: float
    prime_days_times: float
    weather_terms: tuple[str, ...]
    weather_why: str
    shows: str


@dataclass(frozen=True, slots=True)
class Learning:
    """What one run of learning gave; kept in the ledger with its day."""

    made_on: date
    seasons: tuple[int, ...]
    visits: int
    taxa: tuple[TaxonLearned, ...]
    judgement: Judgement | None
    notes: tuple[str, ...]


def learn_seasons(
    home: Home, *, today: date, progress: Callable[[str, int, int], None] = lambda *_: None
) -> Learning:
    """Fit every gathered taxon that was ever found to the seasons before today's, judge, and keep both.

    Kinds that were looked for and never found stay with the book and the memory of each spot.

    Parameters
    ----------
    home, today : the home, and the day it is; today's own season is followed day by day instead
    progress : called with what is being done, how many steps are done and how many there are

    Raises
    ------
    NoAnswer   when no season is over yet
    """
    from underoak.book.load import load_book
    from underoak.desk.season_record import gathered_taxa, season_record
    from underoak.ledger.database import open_ledger, writing
    from underoak.ledger.learned import store_judgement, store_learned
    from underoak.outlook.season import season_of

    book = load_book()
    connection = open_ledger(home.ledger)
    try:
        record = season_record(connection, home.settings.where, today=today, seasons_before=season_of(today))
        cases = record.cases(gathered_taxa(book))
        if not cases:
            raise NoAnswer("no gathered taxon of the book was ever looked for at a known spot")
        learned, taxa, judgement = _learn(cases, record, progress)
        with writing(connection):
            for one in learned:
                store_learned(
                    connection, one.taxon_id, one.document(), made_on=today, book_version=book.version
                )
            if judgement is not None:
                store_judgement(connection, judgement, made_on=today, book_version=book.version)
    finally:
        connection.close()
    seasons = tuple(sorted({season for case in cases for season in case.seasons}))
    return Learning(
        made_on=today,
        seasons=seasons,
        visits=len(record.visits),
        taxa=tuple(replace(t, taxon=book.taxa[t.taxon_id].scientific_name) for t in taxa),
        judgement=judgement,
        notes=_notes(seasons, len(cases) - len(taxa)),
    )


def _learn(
    cases: Sequence[TaxonCase],
    record: SeasonRecord,
    progress: Callable[[str, int, int], None],
) -> tuple[list[Learned], list[TaxonLearned], Judgement | None]:
    from underoak.outlook.backtest import judge
    from underoak.outlook.looks import NONE

    found = [case for case in cases if (case.looks.outcome != NONE).any()]
    steps, done = len(cases) + 2 * len(found), 0

    def step(what: str) -> None:
        nonlocal done
        progress(what, done, steps)
        done += 1

    gates = {}
    for case in found:
        step(f"weather of {case.known.taxon.id}")
        gates[case.known.taxon.id] = _weather_gate(case, len(record.visits))
    terms = {taxon_id: gate[0] for taxon_id, gate in gates.items()}
    judgement = None
    if len({season for case in cases for season in case.seasons}) >= 2:
        judgement = judge(
            cases,
            record.visits,
            rained=record.rained,
            terms=terms,
            progress=lambda taxon_id: step(f"left-out seasons of {taxon_id}"),
        )
    rulings = {t.taxon_id: t.ruling for t in judgement.taxa} if judgement else {}
    fits, told = [], []
    for case in found:
        taxon_id = case.known.taxon.id
        step(f"all seasons of {taxon_id}")
        learned = _fit(case, terms[taxon_id])
        learned = replace(learned, climatology=rulings.get(taxon_id) == "climatology")
        fits.append(learned)
        told.append(_told(learned, gates[taxon_id][1], rulings.get(taxon_id, "untried")))
    return fits, told, judgement


def _fit(case: TaxonCase, terms: tuple[str, ...]) -> Learned:
    from underoak.outlook.fit import fit
    from underoak.outlook.record import taxon_record

    record = taxon_record(
        case.known,
        spots=case.spots,
        looks=case.looks,
        reports=case.reports,
        climates=case.climates,
        terms=terms,
    )
    return fit(case.known.taxon.id, record)


def _weather_gate(case: TaxonCase, visits: int) -> tuple[tuple[str, ...], str]:
    """Weather terms that are on, and why they are on or off."""
    from underoak.outlook.backtest import FEWEST_FINDS, weather_gain
    from underoak.outlook.weather_terms import TERMS

    finds, seasons = int(case.hits.sum()), len(case.seasons)
    if finds < FEWEST_FINDS:
        return (), f"off: {finds} prime finds, {FEWEST_FINDS} are needed before weather is tried"
    with_weather = [s for s in case.seasons if all(s in c.seasons for c in case.climates.values())]
    if len(with_weather) < max(3, seasons):
        return (), f"off: weather is known for {len(with_weather)} of {seasons} seasons"
    gain = weather_gain(case, visits, TERMS)
    said = f"{gain.mean:+.3f} nats a visit ({gain.low:+.3f} to {gain.high:+.3f}) in left-out seasons"
    return (TERMS, f"on: {said}") if gain.low > 0.0 else ((), f"off: {said}")


def _told(learned: Learned, weather_why: str, ruling: str) -> TaxonLearned:
    shows = {
        "model": "the model: it beat the plain rates",
        "climatology": "your own plain rates: the model did not beat them",
        "untried": "the model, untried: too few finds to judge it",
    }
    return TaxonLearned(
        taxon_id=learned.taxon_id,
        taxon=learned.taxon_id,
        looks=learned.looks,
        finds=learned.finds,
        later_days=learned.mean("timing"),
        inhabited_odds=exp(learned.mean("inhabited")),
        returns_odds=exp(learned.mean("returns")),
        prime_days_times=exp(learned.mean("log_prime")),
        weather_terms=learned.terms,
        weather_why=weather_why,
        shows=shows[ruling],
    )


def _notes(seasons: tuple[int, ...], never_found: int) -> tuple[str, ...]:
    notes = []
    if len(seasons) < 2:
        notes.append("One season only: nothing could be left out, so the forecasts are not judged yet.")
    if never_found:
        notes.append(
            f"{never_found} kinds were looked for and never found; they stay with the book and what each "
            "spot's blanks say."
        )
    return tuple(notes)
