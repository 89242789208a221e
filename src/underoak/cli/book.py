"""``book``: read what the book says about a mushroom."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from underoak.cli.output import json_option, show

if TYPE_CHECKING:
    from underoak.desk.read_book import Beside, Entry


@click.command()
@click.argument("name", required=False)
@click.option("--gaps", is_flag=True, help="What is from memory, and what nobody has reviewed.")
@click.option(
    "--export",
    "export_to",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="Write all characters as a DELTA text, for editing.",
)
@click.option(
    "--import",
    "import_from",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Read an edited DELTA text; writes changed entries into --out, never into the book.",
)
@click.option("--out", type=click.Path(path_type=Path, file_okay=False), default=Path("edited-taxa"))
@click.option(
    "--page",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="Also write the entry as a PDF page to print.",
)
@click.option("--paper", default="a4", show_default=True, help="a4 or us-letter.")
@json_option
def book(
    name: str | None,
    *,
    gaps: bool,
    export_to: Path | None,
    import_from: Path | None,
    out: Path,
    page: Path | None,
    paper: str,
    as_json: bool,
) -> None:
    """Read an entry by any of its names, with its doubles side by side; without NAME, list all entries."""
    from underoak.desk import read_book

    if export_to or import_from:
        _matrix(export_to, import_from, out, as_json=as_json)
    elif gaps:
        found = read_book.gaps()
        counts = Counter(
            gap.what for gap in found if gap.taxon_id in dict.fromkeys(g.taxon_id for g in found)
        )
        lines = [f"{times:4}  {what}" for what, times in counts.most_common(12)]
        lines += [f"{g.taxon_id}: {g.what}{f' ({g.source})' if g.source else ''}" for g in found]
        show(found, lines, as_json=as_json)
    elif name is None:
        entries = read_book.entries()
        lines = [
            f"{'gathered' if t.gathered else t.harm.danger:9} {t.scientific_name}"
            f" ({', '.join(t.common_names[:2])})"
            for t in entries
        ]
        show(entries, [*lines, f"{len(entries)} entries."], as_json=as_json)
    else:
        entry = read_book.entry(name)
        if page:
            from underoak.sheets.entry import write_entry

            write_entry(page, entry, paper)
        show(entry, _entry_lines(entry), as_json=as_json)


def _matrix(export_to: Path | None, import_from: Path | None, out: Path, *, as_json: bool) -> None:
    from underoak.desk.edit_matrix import export_matrix, import_matrix

    if export_to:
        taxa = export_matrix(export_to)
        show(
            {"written": str(export_to), "taxa": taxa},
            [f"Written: {export_to}, {taxa} taxa."],
            as_json=as_json,
        )
    if import_from:
        edited = import_matrix(import_from, out)
        lines = [*edited.understood, *(f"Written: {file}" for file in edited.written)]
        lines.append("Look them through, put them into book/taxa, run python -m underoak.vetting.check_book.")
        show(edited, lines, as_json=as_json)


def _entry_lines(entry: Entry) -> Iterator[str]:
    from underoak.model.book import harm_words

    taxon = entry.taxon
    yield f"{taxon.scientific_name} {taxon.authority}"
    yield f"  also called {', '.join((*taxon.common_names, *taxon.synonyms)) or 'nothing else'}"
    if taxon.members:
        yield f"  holds {', '.join(taxon.members)}: their dangers count for all"
    yield taxon.words
    yield f"Harm: {harm_words(taxon.harm.classes)}. {taxon.harm.words}"
    if taxon.harm.onset_hours:
        yield "  begins {:g} to {:g} hours after the meal".format(*taxon.harm.onset_hours)
    if taxon.never_gather:
        yield f"Never gathered: {taxon.never_gather_reason}"
    yield from (f"Caution: {c.words}" for c in taxon.cautions)
    yield "What it shows:"
    yield from (f"  {name.replace('_', ' ')}: {words}" for name, words in entry.shows.items())
    if taxon.look.ages:
        yield "Ages:"
        yield from (f"  {age}: {words}" for age, words in taxon.look.ages.items())
    if taxon.required:
        yield f"Must be seen on every body: {', '.join(taxon.required).replace('_', ' ')}"
    for beside in entry.doubles:
        yield from _beside_lines(taxon.scientific_name, beside)
    yield f"Source: {entry.source} {entry.reviewed}"
    yield f"Book {entry.book_version}. Nothing here says that it may be eaten."


def _beside_lines(mine: str, beside: Beside) -> Iterator[str]:
    from underoak.model.book import DANGER_WORDS, harm_words

    harm = harm_words(beside.harm)
    yield f"\nDouble: {beside.scientific_name} ({DANGER_WORDS[beside.danger]}: {harm})"
    if beside.pair:
        yield f"  {mine}: {beside.pair.target_shows}"
        yield f"  {beside.scientific_name}: {beside.pair.lookalike_shows}"
        yield f"  How: {beside.pair.how}"
    for difference in beside.differences:
        mark = "decides" if difference.decisive else "differs"
        name = difference.character.replace("_", " ")
        yield f"  {mark:8} {name}: {difference.mine or 'not told'} | {difference.other or 'not told'}"
