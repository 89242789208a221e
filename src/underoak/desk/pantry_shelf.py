"""What stands in the pantry: what to use first, what is over, what is left of which year; and its labels."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from pathlib import Path

from underoak.book.methods import load_methods
from underoak.desk.shelf_batches import ShelfBatch, shelf_batches
from underoak.desk.shelf_pick import Wanted, pick_all, pick_by_words
from underoak.errors import NoAnswer
from underoak.ledger.codes import batch_meant, jar_meant
from underoak.ledger.connection import Ledger
from underoak.ledger.database import open_ledger, writing
from underoak.ledger.evidence import evidence_of
from underoak.ledger.pantry import jars_of, set_jar_state
from underoak.ledger.shelf import JarGroup, batches_made_of, jar_lines, kept_batches, thrown_jars
from underoak.model.kitchen import Jar, JarState
from underoak.model.quantities import Units, counted
from underoak.settings import Home
from underoak.sheets.labels import Label, fitted, label_sheet, label_text, reads_from_m
from underoak.sheets.wording import AGAINST_ADVICE, EATING_CAUTIONS


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
    """The answer of ``underoak jars``: kept jars, the ones to use first in front.

    ``count`` is the number of jars found, of which ``jars`` may be a part; the other lists hold all.
    """

    today: date
    jars: tuple[ShelfJar, ...]
    count: int
    this_week: tuple[str, ...]
    over: tuple[str, ...]
    never: tuple[str, ...]
    left: tuple[YearLeft, ...]
    losses: tuple[Loss, ...]
    cautions: tuple[str, ...]
    files: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    units: Units = "metric"


def shelf(
    home: Home,
    *,
    today: date,
    words: str = "",
    all_states: bool = False,
    first: int = 0,
    most: int | None = None,
) -> Shelf:
    """What stands in the pantry on a day; ``words`` keeps only jars whose label has all of them.

    ``first`` and ``most`` take a part of the jars found, such as one page; everything else tells of all.

    **Fails towards** not offering: what was made against the advice, has no use-by day, or whose find was
    given a worse verdict since, is listed under ``never`` and never among what to eat.
    """
    connection = open_ledger(home.ledger)
    try:
        made = shelf_batches(connection, None if all_states else kept_batches(connection))
        pick = pick_by_words if words.split() else pick_all
        picked = pick(connection, made, Wanted(today, words, all_states, first, most))
        jars = jars_of(connection, picked.page)
        losses = tuple(Loss(*one) for one in thrown_jars(connection))
    finally:
        connection.close()
    return Shelf(
        today=today,
        jars=tuple(_shelf_jar(jars[code], made[jars[code].batch_id], today) for code in picked.page),
        count=picked.count,
        this_week=picked.this_week,
        over=picked.over,
        never=picked.never,
        left=_left(picked.eatable, made),
        losses=losses,
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
            one = _shelf_jar(jar, shelf_batches(connection, [jar.batch_id])[jar.batch_id], today)
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
    finds = [find_id for _, find_id in batches_made_of(connection, [one.jar.batch_id])[one.jar.batch_id].lots]
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
    chosen = _to_label(home, today, codes, batch)
    labels = [replace(label_of(s), units=home.settings.units) for s in chosen]
    pdf = label_sheet(labels, paper, skip=skip)
    path = _label_path(home, today, batch)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(pdf)
    metres = min(
        reads_from_m(way.code_mm, label_text(label))
        for label, way in zip(labels, fitted(labels, paper), strict=True)
    )
    note = f"{counted(len(labels), 'label')}; a telephone reads the codes from up to about {metres:.1f} m"
    return Shelf(
        today, tuple(chosen), len(chosen), (), (), (), (), (), EATING_CAUTIONS, (str(path),), (note,)
    )


def _to_label(home: Home, today: date, codes: Sequence[str], batch: str | None) -> list[ShelfJar]:
    """Kept jars of these codes or of a batch; where neither is named, those filled today."""
    connection = open_ledger(home.ledger)
    try:
        wanted = {(jar_meant(connection, code) or code).upper() for code in codes}
        batch = batch and (batch_meant(connection, batch) or batch)
        made = shelf_batches(connection)
        lines = [
            line
            for line in jar_lines(connection)
            if line.code.upper() in wanted
            or (batch and line.batch_id == batch)
            or (not wanted and not batch and made[line.batch_id].made_on == today)
        ]
        missing = wanted - {line.code.upper() for line in lines}
        if missing:
            raise NoAnswer(f"no jar is kept under {', '.join(sorted(missing))}")
        jars = jars_of(connection, [line.code for line in lines])
    finally:
        connection.close()
    return [_shelf_jar(jars[line.code], made[line.batch_id], today) for line in lines]


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


def _shelf_jar(jar: Jar, batch: ShelfBatch, today: date) -> ShelfJar:
    return ShelfJar(
        jar=jar,
        kind=batch.kind,
        scientific_name=batch.scientific_name,
        taxon_ids=batch.taxon_ids,
        product=batch.product,
        method=batch.method,
        made_on=batch.made_on,
        days_left=(jar.use_by - today) // timedelta(days=1) if jar.use_by else None,
        against_advice=batch.against_advice,
        doubt=batch.doubt,
    )


def _left(eatable: Sequence[JarGroup], made: Mapping[str, ShelfBatch]) -> tuple[YearLeft, ...]:
    groups: dict[tuple[int, str, str], list[JarGroup]] = {}
    for one in eatable:
        batch = made[one.batch_id]
        groups.setdefault((batch.made_on.year, batch.kind, batch.product), []).append(one)
    return tuple(
        YearLeft(year, kind, product, sum(g.units for g in group), round(sum(g.net_g for g in group), 1))
        for (year, kind, product), group in sorted(groups.items())
    )
