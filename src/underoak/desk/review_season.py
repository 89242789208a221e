"""What the seasons taught: everything the ledger says up to the end of one season, and what to change."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from underoak.book.load import Book, load_book
from underoak.book.methods import load_methods
from underoak.desk import review_answers as answers
from underoak.desk.last_verdicts import LastVerdict, last_verdicts
from underoak.desk.own_yields import made_yields
from underoak.desk.review_finds import coloured_finds, sides, unread_notes
from underoak.desk.review_weather import review_weather
from underoak.desk.track_record import track_record
from underoak.errors import NoAnswer
from underoak.ledger.answers import given_answers
from underoak.ledger.connection import Ledger
from underoak.ledger.database import open_ledger
from underoak.ledger.learned import latest_judgement
from underoak.ledger.pantry import batches, batches_with, jars
from underoak.ledger.places import places, spots
from underoak.ledger.reports import reports
from underoak.ledger.seasons import seasons
from underoak.ledger.shelf import batches_with_thrown, lots_of_finds
from underoak.model.method import Method
from underoak.model.quantities import counted
from underoak.model.visits import SeasonedVisits, Visit
from underoak.review.by_season import parts
from underoak.review.calibration import calibration
from underoak.review.catch_rate import catch_rates, place_contrasts, rates_by
from underoak.review.colour import colour_tests
from underoak.review.expectation import expectation
from underoak.review.findings import Findings, Names, Rates
from underoak.review.kitchen_losses import Fate, fates
from underoak.review.lateness import from_frost, lateness
from underoak.review.next_year import NextYear, next_year
from underoak.review.own_yields import OwnYield
from underoak.review.skipped_checks import skipped_checks
from underoak.review.tree_memory import tree_memories
from underoak.settings import Home


@dataclass(frozen=True, slots=True)
class Review:
    """One season, 1 March to the end of February, and what all seasons up to it taught.

    ``record`` says how the outlook did in seasons left out, ``judgement`` is the day and document of the
    newest judgement, None before the first; ``notes`` say what was left aside and why.
    """

    year: int
    visits: int
    findings: Findings
    next_year: NextYear
    names: Names
    record: tuple[str, ...]
    judgement: tuple[date, Any] | None
    notes: tuple[str, ...]


def review_season(home: Home, year: int, *, toward_deg: float | None = None) -> Review:
    """The season that began in March of ``year``, from the ledger alone.

    ``toward_deg`` is a side of the trunk, degrees clockwise from north, that somebody stated before looking.

    Raises NoAnswer when no visit of that season is written down.
    """
    connection = open_ledger(home.ledger)
    try:
        until = date(year + 1, 3, 1) - timedelta(days=1)
        every = SeasonedVisits(seasons(connection, until=until))
        season = every.of(year)
        if not season:
            raise NoAnswer(
                f"no visit is written down for {year}", remedy="load visits, or choose another --year"
            )
        book, methods = load_book(), load_methods()
        made, booked = made_yields(connection, book, methods, until)
        findings = _findings(
            connection, home, book, every, year=year, until=until, made=made, toward_deg=toward_deg
        )
        _, record = track_record(connection, book, today=until)
        judgement = latest_judgement(connection, until=until)
        names = _names(connection, book, methods)
    finally:
        connection.close()
    return Review(
        year=year,
        visits=len(season),
        findings=findings,
        next_year=next_year(findings, names),
        names=names,
        record=record.words,
        judgement=judgement,
        notes=(*unread_notes(every), *_booked_words(booked)),
    )


def _findings(
    connection: Ledger,
    home: Home,
    book: Book,
    every: SeasonedVisits,
    *,
    year: int,
    until: date,
    made: tuple[OwnYield, ...],
    toward_deg: float | None,
) -> Findings:
    season = every.of(year)
    week, walk = (given_answers(connection, kind, until=until) for kind in ("week", "walk"))
    verdicts = last_verdicts(connection, until)
    weather = review_weather(connection, home.settings.where, every, until=until)
    place_ids = {place.name: place.id for place in places(connection)}
    return Findings(
        season=year,
        rates=_rates(season),
        before=_rates(every.of(year - 1)),
        places=place_contrasts(every),
        walks=expectation(answers.walk_promises(walk, place_ids), every),
        weeks=expectation(answers.week_promises(week), every),
        lateness=lateness(every, reports(connection, until=until)),
        frost=from_frost(every, weather.first_frosts),
        weather=weather.answers,
        weather_words=weather.words,
        trees=tree_memories(every, {taxon.id: taxon.memory for taxon in book.taxa.values()}),
        sides=sides(every, toward_deg),
        colours=colour_tests(coloured_finds(every, verdicts, weather.series)),
        forecasts=calibration(answers.spot_forecasts(week, answers.looked_at(every)), every),
        checks=skipped_checks([verdict.vetted for verdict in verdicts.values()]),
        fates=_fates(connection, season, verdicts),
        yields=made,
    )


def _rates(season: SeasonedVisits) -> Rates:
    return parts(season, _rates_of)[0] if season else _rates_of(())


def _rates_of(visits: Sequence[Visit]) -> Rates:
    return Rates(
        by_place_and_taxon=catch_rates(visits),
        by_place=rates_by(visits, "place"),
        by_taxon=rates_by(visits, "taxon"),
        by_month=rates_by(visits, "month"),
        by_party=rates_by(visits, "party"),
    )


def _fates(
    connection: Ledger, season: Sequence[Visit], verdicts: Mapping[str, LastVerdict]
) -> tuple[Fate, ...]:
    lots = lots_of_finds(connection, [find.id for visit in season for find in visit.finds])
    ids = batches_with(connection, lots)
    picked = answers.picked_finds(season, verdicts, lots)
    lost = ids & batches_with_thrown(connection)  # other jars change no fate
    return fates(picked, batches(connection, ids), jars(connection, batch_ids=lost))


def _booked_words(booked: int) -> list[str]:
    if not booked:
        return []
    return [
        f"Booked with the plan's weights, not weighed, so they teach nothing: {counted(booked, 'batch')}. "
        "Say what each jar weighs when you write a batch down."
    ]


def _names(connection: Ledger, book: Book, methods: Mapping[str, Method]) -> Names:
    known = {place.id: place.name for place in places(connection)}
    trees = {s.id: f"{s.name} ({known.get(s.place_id, s.place_id)})" for s in spots(connection)}
    taxa = {t.id: t.common_names[0] if t.common_names else t.scientific_name for t in book.taxa.values()}
    questions = {key: character.question for key, character in book.characters.items()}
    ways = {method.id: method.name for method in methods.values()}
    return Names({**questions, **ways, **taxa, **trees, **known})
