"""Which of our woods, for what, on which of the next ten days."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

from underoak.desk.all_chances import AllChances, all_chances, shortened
from underoak.desk.outlook_inputs import inputs_until
from underoak.desk.place_weather import place_climates
from underoak.desk.track_record import TrackRecord
from underoak.desk.weather_note import WeatherNote, leaning
from underoak.desk.week_rows import SpotDay, WoodOutlook, best_spots, wood_rows
from underoak.errors import NoAnswer, UserMistake
from underoak.model.quantities import counted

if TYPE_CHECKING:
    from collections.abc import Mapping

    from underoak.book.load import Book
    from underoak.ledger.connection import Ledger
    from underoak.model.book import Taxon
    from underoak.model.ground import Place, Spot
    from underoak.settings import Home

#: Days an outlook runs ahead.
DAYS_AHEAD = 10
#: Rows of the table of woods: what fits one screen.
MOST_WOODS = 10
#: South of this the book's seasons do not hold.
SOUTHERNMOST_DEG = 20.0


@dataclass(frozen=True, slots=True)
class Week:
    """The answer: woods and spots, best first, with the weather they stand on and what is missing.

    ``spot_kg`` are the expected kilograms of each known spot by id, all taxa together, one value a day;
    ``chances`` those of every known spot, taxon and day.
    """

    today: date
    days: tuple[date, ...]
    woods: tuple[WoodOutlook, ...]
    spots: tuple[SpotDay, ...]
    weather: WeatherNote
    notes: tuple[str, ...]
    book_version: str
    visits: int
    record: TrackRecord
    spot_kg: dict[str, tuple[float, ...]]
    chances: AllChances
    answer_id: str = ""


def this_week(home: Home, *, today: date, place: str | None = None, taxon: str | None = None) -> Week:
    """The outlook for the next ten days, kept in the ledger with its inputs.

    Parameters
    ----------
    home : Home
    today : day
        First day of the outlook. Visits up to it count; later ones are named and left out.
    place, taxon : name, or None for all
        A place by name or id; a taxon by any name of the book.

    Raises
    ------
    UserMistake   for an unknown place or taxon
    NoAnswer      when no place is known, the home lies outside the book's seasons, or the taxon is not
                  gathered or has no season in the book
    """
    from underoak.ledger.answers import store_answer
    from underoak.ledger.database import open_ledger, writing
    from underoak.model.plain import as_plain

    week = outlook_of(home, today=today, place=place, taxon=taxon)
    inputs = {"visits": week.visits, "weather": week.weather, "place": place, "taxon": taxon}
    connection = open_ledger(home.ledger)
    try:
        with writing(connection):
            answer_id = store_answer(
                connection,
                "week",
                made_on=today,
                for_day=today,
                book_version=week.book_version,
                inputs=inputs,
                document=shortened(as_plain(week)),
            )
    finally:
        connection.close()
    return replace(week, answer_id=answer_id)


def outlook_of(home: Home, *, today: date, place: str | None = None, taxon: str | None = None) -> Week:
    """The same outlook for looking at: nothing is stored. Parameters and errors as `this_week`."""
    from underoak.book.load import load_book
    from underoak.ledger.database import open_ledger

    connection = open_ledger(home.ledger)
    try:
        return _week(connection, home, load_book(), today=today, place=place, taxon=taxon)
    finally:
        connection.close()


def _week(
    connection: Ledger,
    home: Home,
    book: Book,
    *,
    today: date,
    place: str | None,
    taxon: str | None,
) -> Week:
    from underoak.ledger import places as ledger_places

    if home.settings.where.latitude_deg < SOUTHERNMOST_DEG:
        raise NoAnswer("the book's seasons are those of 20 to 66 degrees north, your home lies south of it")
    known = _chosen_places(ledger_places.places(connection), place)
    taxa, notes = _chosen_taxa(book, taxon)
    days = _days(today)
    climates, weather = place_climates(connection, home.settings.where, known, today=today)
    by_id = {p.id: p for p in known}
    inputs = inputs_until(connection, book, today)
    own = [spot for spot in inputs.spots if spot.place_id in by_id]
    stand_ins = _stand_ins(known, own)
    everywhere = [*own, *stand_ins]
    basis = inputs.basis(climates)
    table = basis.table(everywhere, taxa, days)
    return Week(
        today=today,
        days=days,
        woods=wood_rows(known, everywhere, len(own), taxa, table),
        spots=best_spots(by_id, own, taxa, days, table=table, basis=basis),
        weather=leaning(weather, {t.scientific_name: inputs.leans(t.id) for t in taxa}),
        notes=(
            *notes,
            *_visit_notes(inputs.days, today),
            *_spot_notes(by_id, stand_ins),
        ),
        book_version=book.version,
        visits=sum(day <= today for day in inputs.days),
        record=inputs.record,
        spot_kg={
            spot.id: tuple(float(kg) for kg in table.expected_kg[n].sum(axis=0)) for n, spot in enumerate(own)
        },
        chances=all_chances(own, taxa, table),
    )


def _chosen_places(known: Sequence[Place], name: str | None) -> list[Place]:
    if not known:
        raise NoAnswer("no place is known yet", remedy="load park outlines: underoak load places FILE")
    if name is None:
        return list(known)
    chosen = [p for p in known if name.casefold() in (p.name.casefold(), p.id.casefold())]
    if not chosen:
        names = ", ".join(p.name for p in known)
        raise UserMistake(f"no place is called {name!r}", expected=f"one of {names}")
    return chosen


def _chosen_taxa(book: Book, name: str | None) -> tuple[list[Taxon], list[str]]:
    gathered = [t for t in book.taxa.values() if t.gathered]
    if name is not None:
        found = book.find(name)
        if not found.gathered:
            raise NoAnswer(
                f"{found.scientific_name} is not gathered, so no outlook is made for it",
                remedy=f"read about it with 'underoak book {found.id}'",
            )
        gathered = [found]
    taxa = [t for t in gathered if t.season and t.memory]
    silent = [t.scientific_name for t in gathered if not (t.season and t.memory)]
    if not taxa:
        raise NoAnswer(
            f"the book has no season for {', '.join(silent)}, and there is no record to learn from"
        )
    return taxa, [f"No season in the book, so no outlook: {', '.join(silent)}."] if silent else []


def _days(today: date) -> tuple[date, ...]:
    """The next ten days, cut at the end of February, where the outlook's season ends."""
    from underoak.outlook.season import season_of

    ahead = [today + timedelta(days=n) for n in range(DAYS_AHEAD)]
    return tuple(day for day in ahead if season_of(day) == season_of(today))


def _stand_ins(known: Sequence[Place], own: Sequence[Spot]) -> list[Spot]:
    """For each place without a known spot, one spot without a host that stands for a tree there."""
    from underoak.model.ground import Spot

    with_spots = {spot.place_id for spot in own}
    return [
        Spot(f"any:{p.id}", p.id, "any fitting tree", 0.0, 0.0, host_group="oak")
        for p in known
        if p.id not in with_spots
    ]


def _visit_notes(days: Sequence[date], today: date) -> list[str]:
    """What is odd about the days of the visits on file, oldest first."""
    notes = []
    used = [day for day in days if day <= today]
    later = len(days) - len(used)
    if later:
        notes.append(f"Left out because dated after {today}: {counted(later, 'visit')}. Is the year right?")
    old = [day for day in used if day.year < today.year - 40]
    if old:
        of_old = f"{counted(len(old), 'visit')}, the first of {old[0]}"
        notes.append(f"More than 40 years old: {of_old}. Is the year right?")
    if not used:
        notes.append(
            "No visit is written down yet: every chance is the book's, moved to place and host only."
        )
    return notes


def _spot_notes(places: Mapping[str, Place], stand_ins: Sequence[Spot]) -> list[str]:
    if not stand_ins:
        return []
    names = ", ".join(places[spot.place_id].name for spot in stand_ins)
    return [f"No spot is known at {names}: an oak nobody has looked at stands in for one."]
