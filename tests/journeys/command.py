"""Running the command line as a person does, in this process or a fresh one."""

from __future__ import annotations

import json
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any


@dataclass(frozen=True)
class Answer:
    """What a command printed and how it ended."""

    code: int
    out: str
    err: str

    def json(self) -> Any:
        """The one JSON document on standard output."""
        return json.loads(self.out)


def underoak(*arguments: object, home: Path | None = None) -> Answer:
    """Run one command in a fresh process."""
    command = [sys.executable, "-m", "underoak", *map(str, arguments)]
    if home is not None:
        command += ["--home", str(home)]
    done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=300)
    return Answer(done.returncode, done.stdout, done.stderr)
