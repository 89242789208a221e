"""Run every ``bench_*.py`` of this folder, or those named as arguments."""

from __future__ import annotations

import importlib
import sys
from pathlib import Path


def main() -> None:
    """Run the benchmarks in alphabetical order."""
    names = sys.argv[1:] or sorted(path.stem[6:] for path in Path(__file__).parent.glob("bench_*.py"))
    for name in names:
        print(f"== {name}", flush=True)
        importlib.import_module(f"benchmarks.bench_{name}").main()


if __name__ == "__main__":
    main()
