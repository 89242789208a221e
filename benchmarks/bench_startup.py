"""How long the command line takes to start, and how much disk the run-time packages take."""

from __future__ import annotations

import re
import subprocess
import sys
import time
from importlib.metadata import PackageNotFoundError, distribution
from pathlib import Path
from statistics import median

REQUIREMENTS = Path(__file__).resolve().parents[1] / "requirements" / "run.txt"


def seconds(command: list[str], runs: int = 15) -> float:
    """Median wall time of a command, s."""
    times = []
    for _ in range(runs):
        started = time.perf_counter()
        subprocess.run(command, check=True, capture_output=True)
        times.append(time.perf_counter() - started)
    return median(times)


def installed_mb() -> float:
    """Size of all run-time packages that are installed here, MB."""
    total = 0
    for name in set(re.findall(r"^([A-Za-z0-9_.-]+)==", REQUIREMENTS.read_text("utf-8"), re.MULTILINE)):
        try:
            files = distribution(name).files or []
        except PackageNotFoundError:
            continue
        total += sum(path.stat().st_size for file in files if (path := Path(str(file.locate()))).is_file())
    return total / 1e6


def main() -> None:
    """Print the ratios."""
    bare = seconds([sys.executable, "-c", "pass"])
    ours = seconds([str(Path(sys.executable).with_name("underoak")), "--help"])
    print(f"underoak --help: {ours / bare:.1f} times a bare python (wanted: at most 8)")
    print(f"run-time packages: {installed_mb():.0f} MB installed (wanted: at most 400)")
