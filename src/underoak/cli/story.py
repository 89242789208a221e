"""Telling a long job on the screen: chapters, lines and a progress bar for what takes a while."""

from __future__ import annotations

import sys
import time
from collections.abc import Iterable, Iterator
from contextlib import contextmanager

import click


class Teller:
    """Prints chapters and progress; silent when asked to be."""

    def __init__(self, *, quiet: bool = False) -> None:
        self._quiet = quiet

    def tell(self, title: str, lines: Iterable[str]) -> None:
        """Print one chapter."""
        if self._quiet:
            return
        click.echo("")
        click.secho(title, bold=True)
        for line in lines:
            click.echo(f"  {line}")

    @contextmanager
    def progress(self, label: str, seconds: float) -> Iterator[Progress]:
        """A bar that is moved by calls of its ``share``; shown where somebody watches."""
        bar = Progress(label, shown=not self._quiet and sys.stderr.isatty(), expected_seconds=seconds)
        try:
            yield bar
        finally:
            bar.close()


class Progress:
    """One progress bar on standard error."""

    def __init__(self, label: str, *, shown: bool, expected_seconds: float) -> None:
        self._label, self._shown, self._expected = label, shown, expected_seconds
        self._started = self._drawn = time.monotonic()
        self._width = 28

    def share(self, done: float, note: str = "") -> None:
        """Draw the bar at ``done`` of the whole, 0 to 1."""
        now = time.monotonic()
        if not self._shown or now - self._drawn < 0.1:
            return
        self._drawn = now
        filled = round(self._width * min(max(done, 0.0), 1.0))
        bar = "█" * filled + "·" * (self._width - filled)
        click.echo(f"\r  {self._label} {bar} {now - self._started:4.1f} s {note[:40]:40}", nl=False, err=True)

    def close(self) -> None:
        """Wipe the bar."""
        if self._shown:
            click.echo("\r" + " " * 100 + "\r", nl=False, err=True)
