"""Somebody is ill: one page for the poison centre and the hospital, the number first."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time
from pathlib import Path

from underoak.book.load import Book, load_book
from underoak.book.onsets import load_onsets
from underoak.desk.evidence_words import seen_words, verdict_words
from underoak.errors import BadData, NoAnswer, UserMistake
from underoak.kitchen.onset import LOOK_BACK, OnsetAnswer, onset_answer
from underoak.ledger.connection import Ledger
from underoak.ledger.database import open_ledger
from underoak.ledger.servings import servings
from underoak.ledger.shelf import batches_made_of, cooked_fresh, opened_batches
from underoak.ledger.trace import Trace, trace_batch
from underoak.model.book import HarmClass
from underoak.settings import Home, load_home
from underoak.sheets.incident import write_incident
from underoak.sheets.wording import AMATOXIN_WARNING, CALL_NOW, INCIDENT_CAUTIONS

#: US Poison Help, where no settings can be read.
POISON_HELP = "1-800-222-1222"


@dataclass(frozen=True, slots=True)
class IllNote:
    """What a person tells: who, since when, what it feels like, and meals that are not in the ledger.

    ``ate`` holds (name of the book or any other words, moment).
    """

    who: str
    now: datetime
    began_at: datetime | None = None
    symptoms: str = ""
    ate: Sequence[tuple[str, datetime]] = ()
    alcohol_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Meal:
    """Something eaten, or likely eaten, in the last month.

    ``moments`` holds every hour of the day where only the day is known.
    """

    what: str
    taxon_id: str | None
    moments: tuple[datetime, ...]
    known_time: bool
    batch_id: str | None
    person: str
    reaction: str = ""


@dataclass(frozen=True, slots=True)
class ClassFit:
    """A harm class that the times fit, with the shortest and longest hours from the meals to the symptoms."""

    harm: HarmClass
    words: str
    hours: tuple[float, float]
    window_h: tuple[float, float]
    sources: tuple[str, ...]
    published: bool


@dataclass(frozen=True, slots=True)
class Suspect:
    """A taxon that was eaten, or a look-alike of one, with the harm classes it carries."""

    taxon_id: str
    scientific_name: str
    common_name: str
    instead_of: str
    instead_of_name: str
    harms: tuple[HarmClass, ...]
    fits: tuple[HarmClass, ...]
    danger: str


@dataclass(frozen=True, slots=True)
class Proof:
    """What is known of where a batch came from: find, verdict, what was seen, and the kept specimen."""

    batch_id: str
    made_on: date
    kind: str
    find: str
    verdict: str
    seen: tuple[str, ...]
    specimens: tuple[str, ...]
    against_advice: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Incident:
    """The answer of ``underoak ill``. Its first sentence is always the call."""

    first_sentence: str
    poison_help: str
    who: str
    began_at: datetime | None
    symptoms: str
    warnings: tuple[str, ...]
    meals: tuple[Meal, ...]
    onset: OnsetAnswer
    fits: tuple[ClassFit, ...]
    suspects: tuple[Suspect, ...]
    proofs: tuple[Proof, ...]
    notes: tuple[str, ...]
    files: tuple[str, ...] = ()


def feel_ill(folder: Path, note: IllNote, *, paper: str = "a4") -> Incident:
    """The incident sheet, written as PDF; whatever is broken or missing, the call comes first.

    Raises
    ------
    UserMistake   for symptoms that begin in the future, or after which every meal lies

    **Fails towards** calling: a home or ledger that cannot be read gives the page without meals, the amatoxin
    warning stands whenever times or meals are not known, and nothing that is missing reassures.
    """
    if note.began_at is not None and note.began_at > note.now:
        raise UserMistake(
            f"the symptoms begin at {note.began_at:%Y-%m-%d %H:%M}, later than now",
            expected="a time that is over",
        )
    notes: list[str] = []
    home = _home(folder, notes)
    book = load_book()
    meals, proofs = _from_ledger(home, note, book, notes) if home else ([], [])
    meals += [meal for what, moment in note.ate for meal in _told(book, what, moment, note.who)]
    onset = onset_answer(
        load_onsets(),
        began_at=note.began_at,
        meals=[moment for meal in meals for moment in meal.moments],
        alcohol_at=note.alcohol_at,
    )
    incident = _incident(note, book, home, meals=meals, onset=onset, proofs=proofs, notes=notes)
    if home is None:
        return incident
    path = write_incident(home.sheets, incident, note.now, paper)
    return replace(incident, files=(str(path),))


def _incident(
    note: IllNote,
    book: Book,
    home: Home | None,
    *,
    meals: Sequence[Meal],
    onset: OnsetAnswer,
    proofs: Sequence[Proof],
    notes: Sequence[str],
) -> Incident:
    fits = tuple(_class_fits(onset))
    help_line = home.settings.poison_help if home else POISON_HELP
    return Incident(
        first_sentence=CALL_NOW.format(poison_help=help_line),
        poison_help=help_line,
        who=note.who,
        began_at=note.began_at,
        symptoms=note.symptoms,
        warnings=(*((AMATOXIN_WARNING,) if onset.amatoxin_warning else ()), *INCIDENT_CAUTIONS),
        meals=tuple(sorted(meals, key=lambda m: max(m.moments), reverse=True)),
        onset=onset,
        fits=fits,
        suspects=tuple(_suspects(book, meals, {fit.harm for fit in fits})),
        proofs=tuple(proofs),
        notes=tuple(notes),
    )


def _home(folder: Path, notes: list[str]) -> Home | None:
    try:
        return load_home(folder)
    except (BadData, UserMistake) as error:
        notes.append(
            f"{error.problem.what}: nothing that was eaten is known from the ledger, no page is written"
        )
        return None


def _from_ledger(home: Home, note: IllNote, book: Book, notes: list[str]) -> tuple[list[Meal], list[Proof]]:
    try:
        connection = open_ledger(home.ledger)
    except (NoAnswer, UserMistake) as error:
        notes.append(f"the ledger cannot be read ({error.problem.what}): what was eaten is not known from it")
        return [], []
    try:
        meals = list(_meals(connection, note, book))
        wanted = list(dict.fromkeys(meal.batch_id for meal in meals if meal.batch_id))
        made = batches_made_of(connection, wanted)
        proofs = [p for key in wanted if key in made for p in _proofs(trace_batch(connection, key), book)]
        return meals, proofs
    finally:
        connection.close()


def _meals(connection: Ledger, note: IllNote, book: Book) -> Iterator[Meal]:
    """Servings of the last month; then jars and fresh batches of that time that no serving speaks of."""
    until = note.began_at or note.now
    since = until - LOOK_BACK
    told_batches: set[str] = set()
    for one in servings(connection, since, until):
        told_batches.add(one.batch_id or "")
        yield Meal(
            _name(book, one.taxon_id),
            _known(book, one.taxon_id),
            (one.eaten_at,),
            True,
            one.batch_id,
            one.person,
            one.reaction,
        )
    span = since.date(), until.date()
    likely = dict.fromkeys([*opened_batches(connection, *span), *cooked_fresh(connection, *span)])
    untold = [(batch_id, day) for batch_id, day in likely if batch_id not in told_batches]
    made = batches_made_of(connection, {batch_id for batch_id, _ in untold})
    for batch_id, day in untold:
        moments = _whole_day(day, until)
        for taxon_id in dict.fromkeys(taxon for taxon, _ in made[batch_id].lots):
            known = _known(book, taxon_id)
            yield Meal(_name(book, taxon_id), known, moments, False, batch_id, "not written down who")


def _whole_day(day: date, until: datetime) -> tuple[datetime, ...]:
    """Every full hour of a day that a meal without a time may have been at."""
    hours = [datetime.combine(day, time(hour)) for hour in range(24)]
    return tuple(moment for moment in hours if moment <= until) or (datetime.combine(day, time()),)


def _told(book: Book, what: str, moment: datetime, who: str) -> Iterator[Meal]:
    """A meal in somebody's words, once for each kind that the words may mean.

    **Fails towards** more kinds: a name that several share, and a plural, stand for all of them.
    """
    meant = book.may_mean(what)
    for taxon in meant:
        name = _name(book, taxon.id)
        yield Meal(
            name if len(meant) == 1 else f"{what}: perhaps {name}", taxon.id, (moment,), True, None, who
        )
    if not meant:
        yield Meal(f"{what} (not a name of the book)", None, (moment,), True, None, who)


def _known(book: Book, taxon_id: str) -> str | None:
    """None for a seller's words that the book does not hold: they may stand for any kind."""
    return taxon_id if taxon_id in book.taxa else None


def _name(book: Book, taxon_id: str) -> str:
    taxon = book.taxa.get(taxon_id)
    return taxon.called if taxon else f"{book.common_name(taxon_id)} (not a name of the book)"


def _class_fits(onset: OnsetAnswer) -> Iterator[ClassFit]:
    fitting = {fit.harm for fit in onset.fits}
    for harm in (one.harm for one in load_onsets() if one.harm in fitting):
        alike = [fit for fit in onset.fits if fit.harm == harm]
        windows = alike[0].windows
        yield ClassFit(
            harm=harm,
            words=alike[0].words,
            hours=(min(f.hours for f in alike), max(f.hours for f in alike)),
            window_h=(min(w.hours[0] for w in windows), max(w.hours[1] for w in windows)),
            sources=tuple(
                f"{w.source} {w.hours[0]:.3g}-{w.hours[1]:.3g} h{'' if w.seen else ', not seen'}"
                for w in windows
            ),
            published=any(w.source != "own_judgement" for w in windows),
        )


def _suspects(book: Book, meals: Sequence[Meal], fitting: set[HarmClass]) -> list[Suspect]:
    """What was eaten and all it could have been instead: deadly ones first, then those that fit the hours.

    **Fails towards** the worst: no hours move a deadly kind behind a milder one, for meals are forgotten.
    """
    found: dict[tuple[str, str], Suspect] = {}
    for eaten in dict.fromkeys(meal.taxon_id for meal in meals if meal.taxon_id):
        for taxon_id in (eaten, *(double for target, double in book.confusions if target == eaten)):
            taxon = book.taxa.get(taxon_id)
            if taxon is None:
                continue
            found[taxon_id, eaten] = Suspect(
                taxon_id=taxon_id,
                scientific_name=taxon.scientific_name,
                common_name=taxon.common_names[0] if taxon.common_names else "",
                instead_of="" if taxon_id == eaten else eaten,
                instead_of_name="" if taxon_id == eaten else _name(book, eaten),
                harms=taxon.harm.classes,
                fits=tuple(h for h in taxon.harm.classes if h in fitting),
                danger=taxon.harm.danger,
            )
    order = ("deadly", "organ", "severe", "mild", "none")
    grave = ("deadly", "organ")
    return sorted(
        found.values(),
        key=lambda s: (s.danger not in grave, not s.fits, order.index(s.danger), s.scientific_name),
    )


def _proofs(trace: Trace, book: Book) -> Iterator[Proof]:
    for origin in trace.origins:
        evidence = origin.evidence
        found = f"bought on {origin.day} at {origin.place}"
        if evidence is not None:
            found = f"find {evidence.find_id}, {evidence.day}, {origin.place}, {origin.spot} ({origin.tree})"
        yield Proof(
            batch_id=trace.batch.id,
            made_on=trace.batch.made_on,
            kind=_name(book, origin.taxon_id),
            find=found,
            verdict=verdict_words(evidence),
            seen=tuple(seen_words(evidence.observations)) if evidence else (),
            specimens=origin.specimens,
            against_advice=trace.batch.against_advice,
        )
