"""From a jar back to the tree, and from a find forward to every jar."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path

from underoak.book.load import load_book
from underoak.book.methods import load_methods
from underoak.ledger.codes import batch_meant
from underoak.ledger.database import open_ledger
from underoak.ledger.trace import Recall, Trace, recall, trace_batch, trace_jar
from underoak.model.kitchen import Batch
from underoak.model.quantities import counted
from underoak.settings import Home
from underoak.sheets.pdf import compile_typst
from underoak.sheets.wording import AGAINST_ADVICE, EATING_CAUTIONS, RECALL_CAUTIONS


@dataclass(frozen=True, slots=True)
class ForwardTrace:
    """Everything that holds a find, lot or batch, and the notice that was written."""

    recall: Recall
    cautions: tuple[str, ...]
    files: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class BackwardTrace:
    """A jar or batch with its origins, in words ready to be read."""

    trace: Trace
    method: str
    kinds: tuple[str, ...]
    cautions: tuple[str, ...]


def trace_back(home: Home, code: str) -> BackwardTrace:
    """From a jar's code (or a batch's) to lots, finds, verdicts, tree, place, day, weather and people.

    Raises
    ------
    UserMistake   when neither a jar nor a batch has this code
    """
    connection = open_ledger(home.ledger)
    try:
        is_batch = batch_meant(connection, code) is not None
        found = trace_batch(connection, code) if is_batch else trace_jar(connection, code)
    finally:
        connection.close()
    book, methods = load_book(), load_methods()
    kinds = []
    for origin in found.origins:
        taxon = book.taxa.get(origin.taxon_id)
        kinds.append(taxon.called if taxon else book.common_name(origin.taxon_id))
    method = methods.get(found.batch.method_id)
    warning = (AGAINST_ADVICE,) if found.batch.against_advice else ()
    jar_words = found.jar.cautions if found.jar else ()
    return BackwardTrace(
        found,
        method.name if method else found.batch.method_id,
        tuple(dict.fromkeys(kinds)),
        tuple(dict.fromkeys((*warning, *jar_words, *EATING_CAUTIONS))),
    )


def trace_forward(
    home: Home, kind: str, name: str, *, today: date, notice: bool = False, paper: str = "a4"
) -> ForwardTrace:
    """Every batch, jar and meal that holds any of a find, lot or batch; with ``notice`` also a sheet."""
    connection = open_ledger(home.ledger)
    try:
        found = recall(connection, kind=kind, name=name)
    finally:
        connection.close()
    answer = ForwardTrace(found, RECALL_CAUTIONS)
    if not notice:
        return answer
    path = home.sheets / f"recall-{kind}-{_file_name(name)}-{today}.pdf"
    _write_notice(path, found, today, paper, home.settings.poison_help)
    return ForwardTrace(found, RECALL_CAUTIONS, (str(path),))


def _write_notice(path: Path, found: Recall, today: date, paper: str, poison_help: str) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    content = {
        "title": f"Do not eat: everything that holds {found.of}",
        "opening": f"{counted(len(found.jars), 'unit')} of {counted(len(found.batches), 'batch')}, {today}.",
        "paper": paper,
        "cautions_first": True,
        "cautions": [words.format(poison_help=poison_help) for words in RECALL_CAUTIONS],
        "sections": [
            {
                "heading": "Units",
                "lines": [
                    jar_line(jar.code, jar.container, jar.net_g, jar.state, jar.stands) for jar in found.jars
                ],
            },
            {
                "heading": "Batches",
                "lines": [batch_line(batch) for batch in found.batches],
            },
            {
                "heading": "Who ate of it",
                "lines": [
                    f"{s.person}, {s.eaten_at:%Y-%m-%d %H:%M}: {s.reaction or 'no reaction noted'}"
                    for s in found.eaten
                ]
                or ["Nothing is written down. That does not mean that nobody ate of it."],
            },
        ],
    }
    path.write_bytes(compile_typst("list", content))


def batch_line(batch: Batch) -> str:
    """One batch on one line."""
    method = load_methods().get(batch.method_id)
    return f"{batch.id}: {method.name if method else batch.method_id}, made {batch.made_on}"


def jar_line(code: str, container: str, net_g: float, state: str, stands: str | None) -> str:
    """One unit on one line."""
    where = f" in the {stands.replace('_', ' ')}" if stands and state == "kept" else ""
    return f"{code}: {container.replace('_', ' ')}, {net_g:.0f} g, {state}{where}"


def _file_name(name: str) -> str:
    return "".join(c if c.isalnum() or c in "-_" else "_" for c in name)[:60]
