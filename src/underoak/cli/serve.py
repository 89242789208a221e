"""``serve``: the pages for a browser on this computer, and for the family's telephones if asked."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from underoak.cli.output import home_option, today_option
from underoak.errors import NoAnswer

if TYPE_CHECKING:
    from underoak.web.pairing import Pairing


@click.command()
@home_option
@today_option
@click.option("--port", type=click.IntRange(1024, 65535), default=8137, show_default=True)
@click.option("--lan", is_flag=True, help="Also let the family's telephones in, with a code shown here.")
@click.option(
    "--address", default=None, metavar="IP", help="This computer's address in your network, for --lan."
)
def serve(home: Path, today: date | None, *, port: int, lan: bool, address: str | None) -> None:
    """Show everything in a browser on this computer.

    Listens on this computer only; nothing is sent anywhere. With --lan it also listens in your own
    network: a telephone that gives the code shown here is let in, everybody else is refused. What is sent
    is not encrypted, so do this only in a network you trust. Stop it with Ctrl-C.

    Where the folder is no home yet, the first page makes one.
    """
    from datetime import datetime, time

    from waitress import create_server

    from underoak.web.doorway import Doorway

    def now() -> datetime:
        clock = datetime.now().astimezone().replace(tzinfo=None)
        return clock if today is None else datetime.combine(today, time(clock.hour, clock.minute))

    pairing = _pairing(address, now) if lan else None
    door = Doorway(home, today=lambda: now().date(), now=now, port=port, lan=pairing)
    try:
        server = create_server(
            door,
            host="127.0.0.1" if pairing is None else "0.0.0.0",  # noqa: S104 - asked for with --lan
            port=port,
            threads=8,
            ident=None,
        )
    except OSError as error:
        raise NoAnswer(
            f"port {port} cannot be used: {error.strerror}", remedy="choose another with --port"
        ) from error
    if not door.is_home():
        click.echo(f"{home.absolute()} is no home yet; the first page makes one.")
    click.echo(f"Open http://127.0.0.1:{port}/ in a browser on this computer. Ctrl-C stops.")
    if pairing is not None:
        _show_code(pairing, port)
    server.run()


def _pairing(address: str | None, now: object) -> Pairing:
    """Pairing for this computer's address in the household's network."""
    import ipaddress
    from collections.abc import Callable
    from datetime import datetime
    from typing import cast

    from underoak.web.pairing import Pairing

    found = address or _own_address()
    try:
        known = ipaddress.IPv4Address(found)
    except ValueError:
        known = None
    if known is None or not known.is_private or known.is_loopback:
        raise NoAnswer(
            f"{found or 'nothing'} is no address of a home network",
            remedy="name this computer's address with --address, such as 192.168.1.20",
        )
    return Pairing(cast("Callable[[], datetime]", now), (str(known),))


def _own_address() -> str:
    """Address of this computer on its way out, found without sending anything; empty without a network."""
    import socket

    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # an address kept for documents (RFC 5737): nobody is there
        except OSError:
            return ""
        return str(probe.getsockname()[0])


def _show_code(pairing: Pairing, port: int) -> None:
    """Print address, code and a QR code for the telephone's camera."""
    import io

    import segno

    code = pairing.new_code()
    address = f"http://{pairing.hosts[0]}:{port}/pair"
    picture = io.StringIO()
    segno.make(f"{address}?code={code}", error="m").terminal(out=picture, compact=True)
    click.echo(picture.getvalue())
    click.echo(f"On a telephone in your own network: {address}   code {code[:4]} {code[4:]}")
    click.echo(
        "The code can be used for ten minutes; the page 'Telephones' on this computer makes a new one."
    )
