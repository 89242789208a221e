"""Why the outlook says what it says of one spot, taxon and day."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from underoak.desk.outlook_inputs import inputs_until
from underoak.desk.place_weather import place_climates
from underoak.desk.tell_ground import ground_words
from underoak.desk.track_record import TrackRecord
from underoak.desk.weather_note import WeatherNote, leaning
from underoak.errors import NoAnswer, UserMistake

if TYPE_CHECKING:
    from underoak.model.ground import Place, Spot
    from underoak.model.outlook import Chance, Reason
    from underoak.settings import Home


@dataclass(frozen=True, slots=True)
class Why:
    """One chance with all its reasons, and the chance over its whole season.

    ``steps`` are all parts of the reckoning, largest first, also those too small to be told in `chance`.
    ``curve`` holds the chance on every day from ``curve_from`` on; ``ground`` are lines on the tree's rough
    age and the lie of the land, which the reckoning does not use.
    """

    place: str
    spot: str
    taxon: str
    chance: Chance
    steps: tuple[Reason, ...]
    curve_from: date
    curve: tuple[float, ...]
    weather: WeatherNote
    record: TrackRecord
    ground: tuple[str, ...] = ()


def why_there(home: Home, *, spot: str, taxon: str, day: date, today: date) -> Why:
    """Explain the chance at one spot on one day from all that is known by ``today``.

    Parameters
    ----------
    spot : name or id; with a slash "place/spot" where several places have a spot of that name
    taxon : any name of the book
    day : the day asked about, in the season of ``today`` or an earlier one

    Raises
    ------
    UserMistake   for an unknown or ambiguous spot, or an unknown taxon
    NoAnswer      when the book has no season for the taxon, or it is not gathered
    """
    from underoak.book.load import load_book
    from underoak.ledger import places as ledger_places
    from underoak.ledger.database import open_ledger
    from underoak.outlook.forecast import chance_record
    from underoak.outlook.reasons import Explanation

    book = load_book()
    kind = book.find(taxon)
    if not kind.gathered:
        raise NoAnswer(f"{kind.scientific_name} is not gathered, so no outlook is made for it")
    connection = open_ledger(home.ledger)
    try:
        places = {place.id: place for place in ledger_places.places(connection)}
        spots = ledger_places.spots(connection)
        chosen = _chosen_spot(spots, places, spot)
        climates, weather = place_climates(
            connection, home.settings.where, [places[p] for p in {s.place_id for s in spots}], today=today
        )
        inputs = inputs_until(connection, book, today)
        basis = inputs.basis(climates)
        ground = ground_words(connection, chosen)
    finally:
        connection.close()
    at = spots.index(chosen)
    explain = Explanation(spots, [kind], [day], basis)
    table = basis.table(spots, [kind], [day])
    chance = chance_record(table, explain, chosen, kind, day, at=(at, 0, 0))
    days = _season_days(day)
    curve = basis.table(spots, [kind], days, with_interval=False).prime[at, 0]
    return Why(
        place=places[chosen.place_id].name,
        spot=chosen.name,
        taxon=kind.scientific_name,
        chance=chance,
        steps=explain.all_steps(at, 0, 0),
        curve_from=days[0],
        curve=tuple(float(p) for p in curve),
        weather=leaning(weather, {kind.scientific_name: inputs.leans(kind.id)}),
        record=inputs.record,
        ground=ground,
    )


def _chosen_spot(spots: Sequence[Spot], places: dict[str, Place], name: str) -> Spot:
    place_name, _, spot_name = name.rpartition("/")
    fitting = [
        s
        for s in spots
        if s.id == name
        or (
            s.name.casefold() == spot_name.casefold()
            and place_name.casefold() in ("", places[s.place_id].name.casefold())
        )
    ]
    if len(fitting) == 1:
        return fitting[0]
    if fitting:
        raise UserMistake(
            f"{len(fitting)} places have a spot called {spot_name!r}",
            expected=" or ".join(f"{places[s.place_id].name}/{s.name}" for s in fitting),
        )
    raise UserMistake(
        f"no spot is called {name!r}",
        expected="one of " + ", ".join(f"{places[s.place_id].name}/{s.name}" for s in spots[:12])
        if spots
        else "a spot that was written down with a visit",
    )


def _season_days(day: date) -> list[date]:
    """Every day of the season of ``day``: from 1 March to the end of February."""
    from underoak.outlook.season import season_of

    first = date(season_of(day), 3, 1)
    count = (date(season_of(day) + 1, 3, 1) - first).days
    return [first + timedelta(days=n) for n in range(count)]
