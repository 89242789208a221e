"""The trials with faults on purpose, in a small size; ``make faults`` runs them at full size."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.mark.skipif(not hasattr(__import__("os"), "fork"), reason="processes are forked here")
def test_nothing_is_lost_or_half_written() -> None:
    run = subprocess.run(
        [sys.executable, "-m", "tools.fault_trials", "--small"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert run.returncode == 0, run.stdout + run.stderr
    assert "0 trial(s) went wrong" in run.stdout
