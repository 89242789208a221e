"""Asking for help must not load what only the work needs."""

from __future__ import annotations

import subprocess
import sys

import pytest

from underoak.cli.main import COMMANDS

HEAVY = ("numpy", "scipy", "flask", "highspy", "pydantic", "shapely", "pyproj", "typst", "PIL", "osmium")

LOADED = f"""
import sys
from underoak.cli.main import underoak
try:
    underoak.main(sys.argv[1:], standalone_mode=True)
except SystemExit as done:
    assert done.code == 0, done.code
print("HEAVY", [name for name in {HEAVY!r} if name in sys.modules])
"""


@pytest.mark.parametrize("command", ["", *COMMANDS])
def test_help_starts_without_heavy_imports(command: str) -> None:
    arguments = [command, "--help"] if command else ["--help"]
    done = subprocess.run(
        [sys.executable, "-c", LOADED, *arguments], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert "Usage:" in done.stdout
    assert done.stdout.strip().endswith("HEAVY []")
