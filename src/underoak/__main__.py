"""Run the command line with ``python -m underoak``."""

from underoak.cli.main import run

run()
