"""Visits and finds from the table that `template_visits` describes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path

from underoak.errors import BadData
from underoak.intake.diary import Diary
from underoak.intake.reading import Reading
from underoak.intake.table import Table, read_table, told
from underoak.model.ground import Place, Spot
from underoak.model.problem import Problem
from underoak.model.quantities import counted
from underoak.model.visits import Visit

NEEDED = ("date", "place", "spot")
OPTIONAL = (
    "searched",
    "taxon",
    "stage",
    "bodies",
    "fresh_g",
    "minutes",
    "people",
    "note",
    "latitude",
    "longitude",
)
COLUMNS = (*NEEDED, *OPTIONAL, "host")
_EXPECTED = "the visits table that 'underoak template visits' writes"


def template_visits() -> str:
    """Text of an empty visits table, with its rules and an example as comments."""
    return "\n".join(
        (
            "# One row for each find, and one for each spot that was searched and held nothing: both count.",
            "# date      YYYY-MM-DD",
            "# place     a place you have loaded",
            "# spot      a spot there, or a new one with latitude and longitude",
            "# searched  glance, look or thorough (or a share from 0 to 1); empty means look",
            "# taxon     a name the book knows; empty when there was nothing",
            "# stage     young, prime or past;  bodies  how many;  fresh_g  grams of all of them together",
            "# minutes   of the whole visit;  people  names joined by +;  host  the tree, for a new spot",
            "# Lines that start with # are left aside. An invented example:",
            "# 2024-10-05,Invented Wood,old oak,thorough,Grifola frondosa,prime,1,2400,150,Ada + Ben,,,,",
            "# 2024-10-05,Invented Wood,split oak,look,,,,,150,Ada + Ben,,41.50001,-74.50001,red oak",
            ",".join(COLUMNS),
            "",
        )
    )


def read_visits(
    path: Path,
    *,
    places: Sequence[Place],
    spots: Sequence[Spot],
    taxon_id_of: Callable[[str], str | None],
    today: date,
) -> Reading[tuple[Spot | Visit, ...]]:
    """Visits of a table, and the new spots they name.

    Parameters
    ----------
    path : CSV or TSV with the columns of `template_visits`
    places, spots : what is known already
    taxon_id_of : id of the taxon a name means, None when the book does not know it
    today : no visit lies after it

    Returns
    -------
    Reading with new Spot records, then one Visit for each day and place.

    Raises
    ------
    BadData   when the file as a whole cannot be read or lacks a needed column
    """
    table = read_table(path, expected=_EXPECTED)
    missing = [name for name in NEEDED if name not in table.headers]
    if missing:
        what = f"the header lacks {', '.join(missing)}"
        raise BadData([Problem(what, f"{table.file}, header", ", ".join(COLUMNS))])
    diary = Diary(places, spots, taxon_id_of, today)
    for row in table.rows:
        diary.take(row)
    visits = diary.visits()
    problems = told([*table.problems, *diary.problems], path.name)
    return Reading((*diary.new_spots, *visits), problems, _understood(table, visits, len(diary.new_spots)))


def _understood(table: Table, visits: Sequence[Visit], new_spots: int) -> tuple[str, ...]:
    finds = sum(len(visit.finds) for visit in visits)
    searches = sum(len(visit.searches) for visit in visits)
    silent = [name for name in table.headers if name and name not in COLUMNS]
    lines = [
        f"{counted(len(visits), 'visit')}, {counted(searches, 'spot')} searched, {counted(finds, 'find')}, "
        f"{counted(new_spots, 'new spot')}"
    ]
    if silent:
        lines.append(f"columns left aside: {', '.join(silent)}")
    return tuple(lines)
