"""``backup``, ``restore`` and ``doctor``: never losing what was written down."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from underoak.cli.output import day_or_clock, home_option, json_option, show, today_option

if TYPE_CHECKING:
    from underoak.desk.since_backup import SinceBackup

_passphrase = click.option(
    "--passphrase-file",
    type=click.Path(path_type=Path),
    default=None,
    help="Seal or open it with the passphrase on the first line of this file.",
)
_ask = click.option("--ask-passphrase", is_flag=True, help="Seal or open it with a passphrase you type.")


def _given(file: Path | None, ask: bool, *, twice: bool) -> str | None:
    """The passphrase, never taken from the command line, where others could read it."""
    from underoak.errors import UserMistake

    if ask:
        return str(click.prompt("Passphrase", hide_input=True, confirmation_prompt=twice, err=True))
    if file is None:
        return None
    try:
        return file.read_text("utf-8").splitlines()[0]
    except (OSError, UnicodeDecodeError, IndexError) as error:
        raise UserMistake(f"there is no passphrase in {file}", expected="a text file") from error


@click.command()
@click.argument("target", type=click.Path(path_type=Path))
@home_option
@_passphrase
@_ask
@click.option("--replace", is_flag=True, help="Overwrite TARGET.")
@today_option
@json_option
def backup(
    target: Path,
    *,
    home: Path,
    passphrase_file: Path | None,
    ask_passphrase: bool,
    replace: bool,
    today: date | None,
    as_json: bool,
) -> None:
    """Put the whole home into one checked file at TARGET (a file, or a folder such as a stick).

    It can be made while the home is in use. Keep one copy outside the house. Unless sealed with a
    passphrase, whoever finds it knows all your spots.
    """
    from underoak.desk.back_up import back_up
    from underoak.model.quantities import counted
    from underoak.settings import load_home

    passphrase = _given(passphrase_file, ask_passphrase, twice=True)
    place = load_home(home)
    made = back_up(place, target, today=day_or_clock(today), passphrase=passphrase, replace=replace)
    lines = [
        f"Wrote {made.file}: {counted(made.files, 'file')}, {made.size_bytes / 1e6:.1f} MB, "
        "every one checked.",
        "  sealed with your passphrase; nobody can open it without" if made.encrypted
        else "  not sealed: keep it where only you can get at it, or use --ask-passphrase",
    ]  # fmt: skip
    show(made, lines, as_json=as_json)


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.argument("folder", type=click.Path(path_type=Path), required=False)
@click.option("--check", is_flag=True, help="Only verify the backup.")
@click.option("--replace", is_flag=True, help="Also where a home stands; its ledger is kept aside.")
@_passphrase
@_ask
@today_option
@json_option
def restore(
    file: Path,
    folder: Path | None,
    *,
    check: bool,
    replace: bool,
    passphrase_file: Path | None,
    ask_passphrase: bool,
    today: date | None,
    as_json: bool,
) -> None:
    """Bring a home back from the backup FILE into FOLDER, after all of it was verified."""
    from underoak.desk.open_backup import verify_backup
    from underoak.desk.restore import restore as bring_back
    from underoak.errors import UserMistake
    from underoak.model.quantities import counted

    passphrase = _given(passphrase_file, ask_passphrase, twice=False)
    if check:
        files = verify_backup(file, passphrase)
        show(
            {"file": str(file), "files": files},
            [f"{file}: whole, {counted(len(files), 'file')}."],
            as_json=as_json,
        )
        return
    if folder is None:
        raise UserMistake("it is not said where to", expected="a folder", remedy="name it, or say --check")
    done = bring_back(file, folder, today=day_or_clock(today), passphrase=passphrase, replace=replace)
    lines = [
        f"Brought back into {done.home}: {counted(done.files, 'file')} of the backup of {done.made_on}.",
        f"  its newest record is of {done.newest_record or 'no day'}",
    ]
    if done.kept_aside:
        lines.append(f"  the ledger that stood there is kept as {done.kept_aside}")
    if done.club:
        lines.append(f"  it keeps its own file now, not the club's ledger at {done.club}")
    show(done, lines, as_json=as_json)


@click.command()
@home_option
@click.option(
    "--repair",
    multiple=True,
    metavar="WHAT",
    help="Mend one thing: ledger, looks, photos or leftovers. Make a backup first.",
)
@click.option(
    "--against",
    type=click.Path(path_type=Path),
    default=None,
    metavar="BACKUP",
    help="Also tell every record that is not as it was in this backup.",
)
@_passphrase
@_ask
@today_option
@json_option
def doctor(
    home: Path,
    *,
    repair: tuple[str, ...],
    against: Path | None,
    passphrase_file: Path | None,
    ask_passphrase: bool,
    today: date | None,
    as_json: bool,
) -> int:
    """Look whether everything in the home is whole, and say what can be mended.

    With --against, what was corrected by hand since that backup is told too: you will know it again. What you
    do not know again was changed by the disk. The exit code is 4 where anything is left to do.
    """
    from underoak.desk.check_home import check_home
    from underoak.desk.since_backup import since_backup
    from underoak.settings import load_home

    place = load_home(home)
    checked = check_home(place, today=day_or_clock(today), repair=frozenset(repair))
    since = (
        since_backup(place, against, _given(passphrase_file, ask_passphrase, twice=False))
        if against
        else None
    )
    lines = [f"Mended: {words}." for words in checked.mended]
    for each in checked.ailments:
        mend = f" Mend it with: --repair {each.repair}." if each.repair else ""
        lines.append(f"{each.kind}: {each.what}. {each.remedy[:1].upper()}{each.remedy[1:]}.{mend}")
    if not checked.ailments:
        lines.append("All is well: pages, references, days and photos.")
    if since is None:
        show(checked, lines, as_json=as_json)
        return 4 if checked.ailments else 0
    show({"checked": checked, "since": since}, [*lines, *_since_lines(since)], as_json=as_json)
    return 4 if checked.ailments or since.damaged else 0


def _since_lines(since: SinceBackup) -> Iterator[str]:
    """Differences from a backup as text."""
    if not since.differences:
        yield f"Every record of the backup of {since.made_on} is as it was."
    for one in since.differences:
        never = (
            "; no command changes these: restore the backup into another folder" if one.never_changed else ""
        )
        what = f"{one.changed} changed, {one.gone} gone"
        yield f"Since the backup of {since.made_on}, {one.table}: {what}{never}"
        yield from (f"  {words}" for words in one.examples)
