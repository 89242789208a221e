"""How answers and errors are printed, as text or as one JSON document."""

from __future__ import annotations

import json
import sys
import traceback
from collections.abc import Callable, Iterable
from datetime import date, datetime
from pathlib import Path
from typing import Any, TypeVar

import click

from underoak.errors import BadData, UnderoakError, UserMistake
from underoak.model.plain import as_plain

F = TypeVar("F", bound=Callable[..., Any])


def home_option(function: F) -> F:
    """Add ``--home DIR``: the folder that holds underoak.toml and the ledger."""
    return click.option(
        "--home",
        type=click.Path(path_type=Path),
        default=Path(),
        envvar="UNDEROAK_HOME",
        show_default="this folder, or $UNDEROAK_HOME",
        help="The home folder.",
    )(function)


def json_option(function: F) -> F:
    """Add ``--json``: print one JSON document and nothing else."""
    return click.option("--json", "as_json", is_flag=True, help="Print one JSON document only.")(function)


def today_option(function: F) -> F:
    """Add ``--today DAY``: what day it is, for looking back and for trying out."""
    return click.option(
        "--today",
        type=Day(),
        default=None,
        metavar="YYYY-MM-DD",
        help="The day to stand on; the clock's by default.",
    )(function)


class Day(click.ParamType[date]):
    """A day written YYYY-MM-DD."""

    name = "day"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> date:
        """The day, or a click error that says what was expected."""
        if isinstance(value, date):
            return value
        try:
            return date.fromisoformat(value)
        except ValueError:
            self.fail(f"{value!r} is no day; write it YYYY-MM-DD", param, ctx)


def day_or_clock(day: date | None) -> date:
    """The given day, or the clock's local one."""
    return day or datetime.now().astimezone().date()


def show(record: Any, lines: Iterable[str], *, as_json: bool) -> None:
    """Print the record as JSON, or the lines."""
    if as_json:
        click.echo(json.dumps(as_plain(record), ensure_ascii=False, indent=1))
    else:
        for line in lines:
            click.echo(line)


def show_error(error: UnderoakError) -> None:
    """Print every problem of an error to standard error."""
    head = "Sorry" if isinstance(error, UserMistake) else "No"
    problems = error.problems if isinstance(error, BadData) else (error.problem,)
    most = 20
    for problem in problems[:most]:
        click.echo(f"{head}: {problem.sentence()}", err=True)
    if len(problems) > most:
        click.echo(f"… and {len(problems) - most} more problems.", err=True)


def show_bug(error: Exception) -> None:
    """Print a short text for a bug, and the traceback below it."""
    click.echo(f"This is a bug in underoak, not your mistake: {error!r}", err=True)
    traceback.print_exception(error, file=sys.stderr)
