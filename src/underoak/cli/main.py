"""The ``underoak`` command: finds each command's module only when it is asked for."""

from __future__ import annotations

import importlib
import os
import sys

import click

from underoak import __version__
from underoak.errors import UnderoakError

#: command -> (module, one line for the list). The module is imported only when the command runs.
COMMANDS: dict[str, tuple[str, str]] = {
    "new": ("home", "make a home for your records"),
    "demo": ("home", "make a home with an invented season and walk through it"),
    "load": ("load", "take in weather, places, trees, trails, visits and reports"),
    "template": ("load", "write an empty table to fill in"),
    "week": ("week", "which wood, for what, on which of the next ten days"),
    "why": ("outlook", "why the outlook says what it says of a spot, mushroom and day"),
    "learn": ("outlook", "learn from the seasons that are over"),
    "region": ("region", "the outlook over every inventoried tree, here or on a cluster"),
    "judge": ("outlook", "how good the outlook would have been"),
    "walk": ("walk", "the loop that brings most home"),
    "pack": ("pack", "the walk as one file for the telephone, with log and questions"),
    "visit": ("visit", "write down a day out, also one that found nothing"),
    "vet": ("vet", "what a find may be and what is not yet ruled out"),
    "ask": ("ask", "put a find before a person who knows, and keep the answer"),
    "book": ("book", "read what the book says about a mushroom"),
    "kitchen": ("kitchen", "what to do tonight with the haul"),
    "jars": ("pantry", "what stands in the pantry, and its labels"),
    "trace": ("pantry", "from a jar back to the tree, or from a find to its jars"),
    "ate": ("ate", "write down who ate what"),
    "compare": ("compare", "whether two batches taste different"),
    "ill": ("ill", "somebody is ill: the page for the poison centre"),
    "review": ("review", "what the season brought"),
    "share": ("share", "write finds for others, with every spot blurred"),
    "photo": ("share", "keep photos of a find"),
    "merge": ("merge", "join another ledger into this one"),
    "backup": ("backup", "put the whole home into one checked file"),
    "restore": ("backup", "bring a home back from a backup"),
    "doctor": ("backup", "look whether everything is whole, and mend it"),
    "serve": ("serve", "show the week, the map and the jars in a browser on this computer"),
}


class LazyGroup(click.Group):
    """A group that imports a command's module only when that command is used."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002
        """All command names in the order of the day."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        """The command called ``cmd_name``, or None."""
        if cmd_name not in COMMANDS:
            return None
        module = importlib.import_module(f"underoak.cli.{COMMANDS[cmd_name][0]}")
        command: click.Command = getattr(module, cmd_name)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002
        """List the commands without importing them."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, line) for name, (_, line) in COMMANDS.items()])


@click.group(
    cls=LazyGroup,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    epilog="Nothing here says that a mushroom may be eaten. When unsure, leave it in the woods.",
)
@click.version_option(__version__, prog_name="underoak")
def underoak() -> None:
    """From weather to jar for a household that gathers autumn mushrooms."""


def run() -> None:
    """Run the command line; errors become one plain message and their exit code."""
    try:
        result = underoak.main(standalone_mode=False)
    except click.exceptions.Abort:
        click.echo("Stopped.", err=True)
        code = 2
    except click.ClickException as error:
        error.show()
        code = 2
    except UnderoakError as error:
        from underoak.cli.output import show_error

        show_error(error)
        code = error.exit_code
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        code = 0
    except Exception as error:
        from underoak.cli.output import show_bug, show_error
        from underoak.ledger.database import in_words

        if told := in_words(error):
            show_error(told)
            code = told.exit_code
        else:
            show_bug(error)
            code = 1
    else:
        code = result if isinstance(result, int) else 0
    sys.exit(code)
