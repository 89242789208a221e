"""``serve``: the pages for a browser on this computer."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from underoak.cli.output import home_option, today_option


@click.command()
@home_option
@today_option
@click.option("--port", type=click.IntRange(1024, 65535), default=8137, show_default=True)
def serve(home: Path, today: date | None, port: int) -> None:
    """Show the week, the map and the jars in a browser on this computer.

    Listens on this computer only; nothing is sent anywhere. Stop it with Ctrl-C.
    """
    from waitress import serve as run_server

    from underoak.cli.output import day_or_clock
    from underoak.settings import load_home
    from underoak.web.app import create_app

    app = create_app(load_home(home), today=lambda: day_or_clock(today), port=port)
    click.echo(f"Open http://127.0.0.1:{port}/ in a browser on this computer. Ctrl-C stops.")
    run_server(app, host="127.0.0.1", port=port, threads=4, ident=None)
