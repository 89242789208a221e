"""``merge``: join another ledger into this one."""

from __future__ import annotations

from pathlib import Path

import click

from underoak.cli.output import home_option, json_option, show

#: Conflicts told one by one on the screen.
MOST_SHOWN = 20


@click.command()
@click.argument("other", type=click.Path(path_type=Path))
@home_option
@click.option(
    "--with-pantry", is_flag=True, help="Also pantry and meals, of your own kitchen or of another household."
)
@click.option("--both", is_flag=True, help="Then write the result to OTHER too, so that both hold the same.")
@json_option
def merge(other: Path, *, home: Path, with_pantry: bool, both: bool, as_json: bool) -> None:
    """Join everything of the ledger OTHER (a home's folder or its ledger.sqlite3) into this home's.

    Nothing is doubled, and whichever way and in whatever order ledgers are joined, the result is the same.
    Where two records of one id differ, the fuller one stays, unless a stricter rule is told. Whoever gets a
    ledger knows all its spots: join only with people you would take along. With --with-pantry it also knows
    who ate what, and how it was borne.
    """
    from underoak.desk.merge_ledgers import merge_ledgers
    from underoak.settings import load_home

    merged = merge_ledgers(load_home(home), other, with_pantry=with_pantry, both=both)
    lines = [f"{table}: {count} new" for table, count in merged.new.items()]
    lines += [f"{table}: {count} completed or changed" for table, count in merged.changed.items()]
    for clash in merged.conflicts[:MOST_SHOWN]:
        kept, dropped = (", ".join(str(part) for part in side) for side in (clash.kept, clash.dropped))
        where = f"{clash.table} {clash.key}, {' and '.join(clash.columns)}"
        lines.append(f"  {where}: kept {kept!r} ({clash.words}), not {dropped!r}")
    if len(merged.conflicts) > MOST_SHOWN:
        lines.append(f"  … and {len(merged.conflicts) - MOST_SHOWN} more of this kind; --json tells all.")
    show(merged, lines or ["Both ledgers hold the same already."], as_json=as_json)
