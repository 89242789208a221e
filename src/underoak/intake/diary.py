"""Rows that tell of searches and finds are gathered into visits."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date
from typing import TypeVar, get_args

from underoak.book.hosts import match_host
from underoak.intake.coordinates import position_problem
from underoak.intake.days import parse_day
from underoak.intake.stable_id import stable_id
from underoak.intake.table import Row, number
from underoak.model.ground import Place, Spot
from underoak.model.problem import Problem
from underoak.model.visits import Find, FlushStage, Search, Visit

T = TypeVar("T")

#: How a spot was searched, and the share of what stood there such a look shows. Common practice, no source.
SEARCHED = {"glance": 0.3, "look": 0.6, "thorough": 0.9}
#: A spot farther than this from its place's outline belongs to another one [degrees]. Judgement.
FARTHEST_SPOT_DEG = 0.5
_NOTHING = ("", "none", "nothing", "-")


class Diary:
    """Gathers rows into visits; rows with a problem add nothing."""

    def __init__(
        self,
        places: Sequence[Place],
        spots: Sequence[Spot],
        taxon_id_of: Callable[[str], str | None],
        today: date,
    ) -> None:
        self.places = tuple(places)
        self.spots = {(spot.place_id, spot.name.casefold()): spot for spot in spots}
        self.taxon_id_of, self.today = taxon_id_of, today
        self.new_spots: list[Spot] = []
        self.problems: list[Problem] = []
        self._visits: dict[str, Visit] = {}
        self._same: Counter[str] = Counter()

    def visits(self) -> tuple[Visit, ...]:
        """All visits so far, by day."""
        return tuple(sorted(self._visits.values(), key=lambda visit: (visit.day, visit.id)))

    def take(self, row: Row) -> None:
        """Add one row, or its problems."""
        faults: list[Problem] = []
        day = _kept(parse_day(row.text("date"), f"{row.where}, date", self.today), faults)
        place = _kept(self._place(row), faults)
        spot = None if place is None else _kept(self._spot(row, place), faults)
        share = _kept(_thoroughness(row), faults)
        found = self._find(row)
        find = None if found is None else _kept(found, faults)
        minutes = _amount(row, "minutes", faults)
        if faults or day is None or place is None or spot is None or share is None:
            self.problems += faults
            return
        if (spot.place_id, spot.name.casefold()) not in self.spots:
            self.spots[spot.place_id, spot.name.casefold()] = spot
            self.new_spots.append(spot)
        visit = self._visits.get(visit_id(day, place.id)) or Visit(visit_id(day, place.id), day, place.id)
        if visit.minutes is not None and minutes is not None and visit.minutes != minutes:
            what = f"minutes {minutes:g} and {visit.minutes:g} for one visit"
            self.problems.append(Problem(what, row.where, "the same minutes in all rows of a day and place"))
            return
        visit = replace(
            _searched(visit, Search(spot.id, share)),
            minutes=visit.minutes if minutes is None else minutes,
            people=_people(visit, row),
            note=visit.note or (row.text("note") if find is None else ""),
        )
        self._visits[visit.id] = visit if find is None else self._found(visit, find, spot)

    def _found(self, visit: Visit, find: Find, spot: Spot) -> Visit:
        own = stable_id("find", visit.id, spot.id, find.taxon_id, find.stage)
        self._same[own] += 1
        own = own if self._same[own] == 1 else f"{own}-{self._same[own]}"
        return replace(visit, finds=(*visit.finds, replace(find, id=own, spot_id=spot.id)))

    def _place(self, row: Row) -> Place | Problem:
        name, where = row.text("place"), f"{row.where}, place"
        called = [place for place in self.places if name in (place.id, place.name)]
        called = called or [place for place in self.places if place.name.casefold() == name.casefold()]
        if len(called) == 1:
            return called[0]
        if called:
            ids = ", ".join(place.id for place in called)
            return Problem(f"{len(called)} places are called {name!r}", where, f"one of the ids {ids}")
        known = ", ".join(sorted(place.name for place in self.places)[:20]) or "none yet"
        return Problem(
            f"there is no place called {name!r}", where, f"one of: {known}", "load the place first"
        )

    def _spot(self, row: Row, place: Place) -> Spot | Problem:
        name, where = row.text("spot"), f"{row.where}, spot"
        if not name:
            return Problem("no spot is named", where, "a name", "a visit is written down spot by spot")
        known = self.spots.get((place.id, name.casefold()))
        if known is not None:
            return known
        lat, lon = number(row.text("latitude")), number(row.text("longitude"))
        if lat is None or lon is None:
            what = f"there is no spot called {name!r} at {place.name}"
            return Problem(what, where, "a known spot, or latitude and longitude of a new one")
        near = place.polygons[0][0][0]
        if (problem := position_problem(lon, lat, where, near)) is not None:
            return problem
        if max(abs(lon - near[0]), abs(lat - near[1])) > FARTHEST_SPOT_DEG:
            return Problem(
                f"({lat:g}, {lon:g}) is far from {place.name}", where, "a position in or near the place"
            )
        return Spot(
            stable_id("spot", place.id, name.casefold()),
            place.id,
            name,
            lon,
            lat,
            match_host(row.text("host")),
        )

    def _find(self, row: Row) -> Find | Problem | None:
        name = row.text("taxon")
        if name.casefold() in _NOTHING:
            return None
        taxon = self.taxon_id_of(name)
        if taxon is None:
            what = f"the book knows no {name!r}"
            return Problem(
                what, f"{row.where}, taxon", "a Latin or common name of the book", "see 'underoak book'"
            )
        stage = next((s for s in get_args(FlushStage) if s == row.text("stage").casefold()), None)
        if stage is None:
            what = f"stage {row.text('stage')!r} of the find"
            return Problem(what, f"{row.where}, stage", ", ".join(get_args(FlushStage)))
        faults: list[Problem] = []
        bodies, grams = _amount(row, "bodies", faults), _amount(row, "fresh_g", faults)
        if not faults and bodies is not None and bodies != round(bodies):
            faults.append(Problem(f"{bodies:g} fruit bodies", f"{row.where}, bodies", "a whole number"))
        if faults:
            return faults[0]
        return Find("", "", taxon, stage, None if bodies is None else int(bodies), grams, row.text("note"))


def visit_id(day: date, place_id: str) -> str:
    """One visit a day and place: the id both the table and the command use."""
    return stable_id("visit", day, place_id)


def _thoroughness(row: Row) -> float | Problem:
    text = row.text("searched").casefold()
    if not text:
        return SEARCHED["look"]
    value = SEARCHED.get(text, number(text))
    if value is None or not 0.0 <= value <= 1.0:
        return Problem(f"searched {text!r}", f"{row.where}, searched", "glance, look, thorough or 0 to 1")
    return value


def _amount(row: Row, column: str, faults: list[Problem]) -> float | None:
    """A number above 0 or None; anything else becomes a fault."""
    text = row.text(column)
    if not text:
        return None
    value = number(text)
    if value is None or value <= 0.0:
        faults.append(
            Problem(f"{column} {text!r}", f"{row.where}, {column}", "a number above 0, or an empty cell")
        )
        return None
    return value


def _kept(part: T | Problem, faults: list[Problem]) -> T | None:
    """The part, or None with its problem noted."""
    if isinstance(part, Problem):
        faults.append(part)
        return None
    return part


def _searched(visit: Visit, search: Search) -> Visit:
    """The visit with one more search; the more thorough look at a spot counts."""
    looked = {s.spot_id: s.thoroughness for s in visit.searches}
    looked[search.spot_id] = max(search.thoroughness, looked.get(search.spot_id, 0.0))
    return replace(visit, searches=tuple(Search(spot, share) for spot, share in looked.items()))


def _people(visit: Visit, row: Row) -> tuple[str, ...]:
    names = (name.strip() for name in row.text("people").replace("&", "+").replace(";", "+").split("+"))
    return tuple(dict.fromkeys([*visit.people, *(name for name in names if name)]))
