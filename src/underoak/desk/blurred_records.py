"""From the ledger to records that others may see. What is not put in here cannot leak."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from underoak.book.load import Book, load_book
from underoak.export.blur import Cell, shared_cell
from underoak.export.blurred_photo import stripped_jpeg
from underoak.export.blurred_record import (
    BlurredRecord,
    DateDetail,
    Fact,
    NameGiven,
    Picture,
    blurred_day,
    keyed_id,
)
from underoak.ledger.connection import Ledger
from underoak.ledger.photos import Photo, photos
from underoak.ledger.places import places, spots
from underoak.ledger.verdicts import StoredVerdict, verdicts_of
from underoak.ledger.visits import visits
from underoak.model.book import Taxon
from underoak.model.visits import Find, Visit

#: Characters that tell of the place more than of the mushroom: a rare host can be looked up on a map.
TELL_OF_THE_PLACE = ("host", "setting")
#: Where a look found nothing at a spot without history.
ANY_MUSHROOM = ("Fungi", "kingdom")


@dataclass(frozen=True, slots=True)
class Wish:
    """How much detail goes out."""

    cell_km: float
    dates: DateDetail
    photos: bool
    names: bool


def blurred_records(
    connection: Ledger,
    folder: Path,
    wish: Wish,
    key: bytes,
    *,
    since: date | None = None,
    until: date | None = None,
) -> tuple[list[BlurredRecord], int]:
    """Finds and absences at spots that are not withheld, and how many spots are.

    An absence is a taxon that the household has found at that spot at some time, looked for again there
    and did not find; a look at a spot without history that found nothing is an absence of any mushroom.
    """
    blurring = _Blurring(connection, folder, wish, key)
    records = [record for visit in visits(connection, since, until) for record in blurring.of(visit)]
    return records, blurring.withheld


class _Blurring:
    def __init__(self, connection: Ledger, folder: Path, wish: Wish, key: bytes) -> None:
        known = {place.id: place for place in places(connection)}
        every = spots(connection)
        self._connection, self._folder, self._wish, self._key = connection, folder, wish, key
        self._book = load_book()
        self._cells: dict[str, Cell] = {
            spot.id: shared_cell(spot, known.get(spot.place_id), wish.cell_km)
            for spot in every
            if not spot.withheld
        }
        self.withheld = len(every) - len(self._cells)
        self._ever: dict[str, set[str]] = {}
        for spot_id, taxon_id in connection.execute("SELECT DISTINCT spot_id, taxon_id FROM find"):
            self._ever.setdefault(spot_id, set()).add(taxon_id)
        self._photos: dict[str, list[Photo]] = {}
        for photo in photos(connection) if wish.photos else ():
            self._photos.setdefault(photo.find_id, []).append(photo)

    def of(self, visit: Visit) -> Iterator[BlurredRecord]:
        """The finds and absences of one visit."""
        looks = {search.spot_id: search.thoroughness for search in visit.searches}
        for find in visit.finds:
            if find.spot_id in self._cells:
                yield self._found(visit, find, looks.get(find.spot_id))
        for spot_id, share in looks.items():
            if spot_id in self._cells:
                yield from self._absent(visit, spot_id, share)

    def _found(self, visit: Visit, find: Find, share: float | None) -> BlurredRecord:
        given = verdicts_of(self._connection, find.id)
        name, rank, qualifier, verbatim = name_of(
            self._book, find.taxon_id, given[-1].state if given else None
        )
        return BlurredRecord(
            id=keyed_id(self._key, "find", find.id),
            when=blurred_day(visit.day, self._wish.dates),
            present=True,
            scientific_name=name,
            rank=rank,
            qualifier=qualifier,
            verbatim=verbatim,
            cell=self._cells[find.spot_id],
            bodies=find.bodies,
            fresh_g=find.fresh_g,
            stage=find.stage,
            searched=share,
            facts=tuple(self._facts(given[-1])) if given else (),
            names=tuple(self._name(verdict) for verdict in given),
            pictures=tuple(self._pictures(find.id)),
        )

    def _absent(self, visit: Visit, spot_id: str, share: float) -> Iterator[BlurredRecord]:
        here = {find.taxon_id for find in visit.finds if find.spot_id == spot_id}
        missed = sorted(self._ever.get(spot_id, set()) - here)
        names = [name_of(self._book, taxon_id, "consistent") for taxon_id in missed]
        if not self._ever.get(spot_id):
            names = [(*ANY_MUSHROOM, "", "any mushroom this household gathers")]
        for taxon_id, (name, rank, qualifier, verbatim) in zip(missed or [""], names, strict=False):
            yield BlurredRecord(
                id=keyed_id(self._key, "absence", visit.id, spot_id, taxon_id),
                when=blurred_day(visit.day, self._wish.dates),
                present=False,
                scientific_name=name,
                rank=rank,
                qualifier=qualifier,
                verbatim=verbatim,
                cell=self._cells[spot_id],
                searched=share,
            )

    def _name(self, verdict: StoredVerdict) -> NameGiven:
        name, rank, qualifier, verbatim = name_of(self._book, verdict.taxon_id, verdict.state)
        confirmed = verdict.state == "confirmed"
        by = (verdict.confirmed_by or "") if self._wish.names and confirmed else ""
        return NameGiven(
            scientific_name=name,
            rank=rank,
            qualifier=qualifier,
            verbatim=verbatim,
            status="confirmed by a person" if confirmed else "unverified",
            by=by,
            given_on=blurred_day(verdict.given_on, self._wish.dates),
            remarks=f"verdict {verdict.state}; book {verdict.book_version}; no word about eating it",
        )

    def _facts(self, verdict: StoredVerdict) -> Iterator[Fact]:
        """What was looked at; also where nothing could be told. Notes and people stay at home."""
        day = blurred_day(verdict.given_on, self._wish.dates)
        for number, body in enumerate(verdict.observations.bodies, start=1):
            if body.age:
                yield Fact("age", body.age, body=number, seen_on=day)
            for character_id, seen in sorted(body.observations.items()):
                character = self._book.characters.get(character_id)
                if seen.look == "not_looked" or character is None or character_id in TELL_OF_THE_PLACE:
                    continue
                value = {"absent": "absent", "cant_tell": "looked at, could not be told"}.get(seen.look, "")
                if not value:
                    value = f"{seen.value:g}" if seen.value is not None else " | ".join(seen.states)
                how = "on a photo" if seen.by == "photo" else character.means.replace("_", " ")
                unit = character.unit if seen.value is not None else ""
                kind = character_id.removesuffix(f"_{character.unit}").replace("_", " ")
                yield Fact(kind, value.replace("_", " "), unit, how, number, day)

    def _pictures(self, find_id: str) -> Iterator[Picture]:
        for photo in self._photos.get(find_id, ()):
            path = self._folder / photo.file
            if path.is_file():
                name = keyed_id(self._key, "photo", photo.sha256, find_id).rpartition(":")[2]
                yield Picture(f"photos/{name}.jpg", stripped_jpeg(path.read_bytes(), photo.file))


def name_of(book: Book, taxon_id: str, state: str | None) -> tuple[str, str, str, str]:
    """(scientificName, taxonRank, identificationQualifier, verbatimIdentification) of a taxon.

    A formal name only: a group of the book goes out under its genus, with the group's name beside it.
    What is not at least consistent goes out as ``cf.``; a refused find as a mushroom of unknown kind.

    **Fails towards** less: a name the book does not know is no formal name.
    """
    taxon: Taxon | None = book.taxa.get(taxon_id)
    if taxon is None:
        return (*ANY_MUSHROOM, "", taxon_id.replace("_", " "))
    if state == "refused":
        return (*ANY_MUSHROOM, "", f"not {taxon.scientific_name}, or not to be told")
    qualifier = "" if state in ("consistent", "confirmed") else "cf."
    if taxon.rank == "species":
        return taxon.scientific_name, "species", qualifier, taxon.scientific_name
    genera = {name.split()[0] for name in (taxon.scientific_name, *taxon.members)}
    if len(genera) > 1:
        return (*ANY_MUSHROOM, "", taxon.scientific_name)
    return genera.pop(), "genus", qualifier, taxon.scientific_name
