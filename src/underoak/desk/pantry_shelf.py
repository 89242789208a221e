"""What stands in the pantry: what to use first, what is over, what is left of which year; and its labels."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from pathlib import Path

from underoak.book.load import Book, load_book
from underoak.book.methods import load_methods
from underoak.errors import NoAnswer
from underoak.ledger.connection import Ledger
from underoak.ledger.database import open_ledger, writing
from underoak.ledger.evidence import FindEvidence, evidence_of
from underoak.ledger.pantry import batches, jars, kept_lots, set_jar_state
from underoak.model.kitchen import LETS_THROUGH, Batch, Jar, JarState, Lot
from underoak.model.quantities import Units
from underoak.settings import Home
from underoak.sheets.labels import LABEL_PAPERS, Label, label_sheet, label_text, reads_from_m
from underoak.sheets.wording import AGAINST_ADVICE, EATING_CAUTIONS

#: Jars whose use-by day comes within so many days are eaten this week.
SOON_DAYS = 7


@dataclass(frozen=True, slots=True)
class ShelfJar:
    """A jar with what is in it. ``days_left`` is None where it is never to be eaten.

    ``doubt`` says why its verdict no longer lets it through: a later verdict on one of its finds.
    """

    jar: Jar
    kind: str
    scientific_name: str
    taxon_ids: tuple[str, ...]
    product: str
    method: str
    made_on: date
    days_left: int | None
    against_advice: bool
    doubt: str = ""

    @property
    def forbidden(self) -> bool:
        """Whether it is never to be eaten: made against the advice, without a day, or in doubt since."""
        return self.against_advice or bool(self.doubt) or self.days_left is None

    @property
    def over(self) -> bool:
        """Whether it has to go out: past its day."""
        return self.days_left is not None and self.days_left < 0


@dataclass(frozen=True, slots=True)
class YearLeft:
    """What is left of one year's product of one kind."""

    year: int
    kind: str
    product: str
    units: int
    net_g: float


@dataclass(frozen=True, slots=True)
class Loss:
    """A jar that was thrown away, and why."""

    code: str
    on: date | None
    net_g: float
    why: str


@dataclass(frozen=True, slots=True)
class Shelf:
    """The answer of ``underoak jars``: kept jars, the ones to use first in front."""

    today: date
    jars: tuple[ShelfJar, ...]
    this_week: tuple[str, ...]
    over: tuple[str, ...]
    never: tuple[str, ...]
    left: tuple[YearLeft, ...]
    losses: tuple[Loss, ...]
    cautions: tuple[str, ...]
    files: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    units: Units = "metric"


def shelf(home: Home, *, today: date, words: str = "", all_states: bool = False) -> Shelf:
    """What stands in the pantry on a day; ``words`` keeps only jars whose label has all of them.

    **Fails towards** not offering: what was made against the advice, has no use-by day, or whose find was
    given a worse verdict since, is listed under ``never`` and never among what to eat.
    """
    connection = open_ledger(home.ledger)
    try:
        every = _all(connection, today)
    finally:
        connection.close()
    found = [s for s in every if _has(s, words) and (all_states or s.jar.state == "kept")]
    kept = [s for s in found if s.jar.state == "kept"]
    eatable = [s for s in kept if not s.forbidden]
    soon = [s.jar.code for s in eatable if 0 <= (s.days_left or 0) <= SOON_DAYS]
    return Shelf(
        today=today,
        jars=tuple(found),
        this_week=tuple(soon),
        over=tuple(s.jar.code for s in kept if s.over),
        never=tuple(s.jar.code for s in kept if s.forbidden),
        left=_left([s for s in kept if not s.forbidden]),
        losses=tuple(
            Loss(s.jar.code, s.jar.state_on, s.jar.net_g, s.jar.state_note)
            for s in every
            if s.jar.state == "thrown"
        ),
        cautions=EATING_CAUTIONS,
        units=home.settings.units,
    )


def change_jar(
    home: Home, code: str, state: JarState, *, today: date, note: str = "", anyway: bool = False
) -> ShelfJar:
    """Note that a jar was eaten, given or thrown; the jar as it stands then.

    Raises
    ------
    NoAnswer   for giving away what is never to be eaten, or what no named person has confirmed; with
               ``anyway`` it is recorded, because a jar that is gone has to be found again
    """
    connection = open_ledger(home.ledger)
    try:
        with writing(connection):
            jar = set_jar_state(connection, code, state, today, note)
            one = next(s for s in _all(connection, today) if s.jar.code == jar.code)
            why = _not_to_be_given(connection, one) if state == "given" else None
            if why and not anyway:
                raise NoAnswer(
                    f"jar {jar.code} is not given to anybody: {why}",
                    remedy="if it is gone already, record it with --anyway and call it back",
                )
        return one
    finally:
        connection.close()


def _not_to_be_given(connection: Ledger, one: ShelfJar) -> str | None:
    if one.against_advice:
        return AGAINST_ADVICE
    if one.forbidden or one.over:
        return one.doubt or "it is past its day"
    lots = kept_lots(connection)
    finds = [lots[i].find_id or "" for i, _ in batches(connection)[one.jar.batch_id].lots]
    if any(evidence.state != "confirmed" for evidence in evidence_of(connection, finds)):
        return "only what a named person has confirmed is given to others"
    return None


def write_labels(
    home: Home,
    *,
    today: date,
    codes: Sequence[str] = (),
    batch: str | None = None,
    paper: str = "a4",
    skip: int = 0,
) -> Shelf:
    """Write ``labels-DAY.pdf`` for these jars, a batch's, or all that were filled today.

    Raises
    ------
    UserMistake   for unknown codes or paper, or when there is nothing to label
    """
    found = shelf(home, today=today)
    wanted = {code.upper() for code in codes}
    chosen = [
        s
        for s in found.jars
        if (wanted and s.jar.code.upper() in wanted)
        or (batch and s.jar.batch_id == batch)
        or (not wanted and not batch and s.made_on == today)
    ]
    missing = wanted - {s.jar.code.upper() for s in chosen}
    if missing:
        raise NoAnswer(f"no jar is kept under {', '.join(sorted(missing))}")
    labels = [replace(label_of(s), units=home.settings.units) for s in chosen]
    pdf = label_sheet(labels, paper, skip=skip)
    path = _label_path(home, today, batch)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(pdf)
    metres = min(reads_from_m(LABEL_PAPERS[paper], label_text(label)) for label in labels)
    note = f"{len(labels)} label(s); a telephone reads the codes from up to about {metres:.1f} m"
    return Shelf(today, tuple(chosen), (), (), (), (), (), EATING_CAUTIONS, (str(path),), (note,))


def _label_path(home: Home, today: date, batch: str | None) -> Path:
    return home.sheets / f"labels-{batch or today}.pdf"


def label_of(one: ShelfJar) -> Label:
    """The label of a jar."""
    method = load_methods().get(one.method)
    return Label(
        code=one.jar.code,
        product=one.product,
        kind=one.kind,
        scientific_name=one.scientific_name,
        made_on=one.made_on,
        batch_id=one.jar.batch_id,
        use_by=one.jar.use_by,
        net_g=one.jar.net_g,
        cautions=one.jar.cautions,
        reheat=method.reheat if method else "",
        against_advice=one.against_advice,
        warning=f"DO NOT EAT: {one.doubt}" if one.doubt and not one.against_advice else "",
    )


def _all(connection: Ledger, today: date) -> list[ShelfJar]:
    book, made, lots = load_book(), batches(connection), kept_lots(connection)
    states = {e.find_id: e for e in evidence_of(connection, [lot.find_id or "" for lot in lots.values()])}
    doubts = {lot.id: _doubt(states.get(lot.find_id or "")) for lot in lots.values()}
    return [_shelf_jar(jar, made[jar.batch_id], lots, doubts, book, today=today) for jar in jars(connection)]


def _doubt(evidence: FindEvidence | None) -> str:
    """Why a find's last verdict does not let it through; a verdict that merely lapsed does not count."""
    if evidence is None or evidence.state in LETS_THROUGH:
        return ""
    return f"the last verdict on find {evidence.find_id} is {evidence.state or 'none'}"


def _shelf_jar(
    jar: Jar, batch: Batch, lots: dict[str, Lot], doubts: dict[str, str], book: Book, *, today: date
) -> ShelfJar:
    taxon_ids = tuple(dict.fromkeys(lots[lot_id].taxon_id for lot_id, _ in batch.lots))
    taxa = [book.taxa.get(i) for i in taxon_ids]
    pairs = list(zip(taxa, taxon_ids, strict=True))
    method = load_methods().get(batch.method_id)
    return ShelfJar(
        jar=jar,
        kind=" + ".join(t.common_names[0] if t and t.common_names else i for t, i in pairs),
        scientific_name=" + ".join(t.scientific_name if t else i for t, i in pairs),
        taxon_ids=taxon_ids,
        product=method.product if method else batch.method_id,
        method=batch.method_id,
        made_on=batch.made_on,
        days_left=(jar.use_by - today) // timedelta(days=1) if jar.use_by else None,
        against_advice=bool(batch.against_advice),
        doubt="; ".join(dict.fromkeys(doubts[i] for i, _ in batch.lots if doubts[i])),
    )


def _has(one: ShelfJar, words: str) -> bool:
    text = (
        f"{one.jar.code} {one.kind} {one.scientific_name} {one.product} {one.method} {one.made_on}".casefold()
    )
    return all(word in text for word in words.casefold().split())


def _left(kept: Sequence[ShelfJar]) -> tuple[YearLeft, ...]:
    groups: dict[tuple[int, str, str], list[ShelfJar]] = {}
    for one in kept:
        groups.setdefault((one.made_on.year, one.kind, one.product), []).append(one)
    return tuple(
        YearLeft(year, kind, product, len(group), round(sum(s.jar.net_g for s in group), 1))
        for (year, kind, product), group in sorted(groups.items())
    )
