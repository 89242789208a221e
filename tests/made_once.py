"""Homes that several files of tests begin with, made once however many processes run the tests."""

from __future__ import annotations

import fcntl
import os
import pickle
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

import pytest

from underoak.desk.demo import fresh_demo_home, load_world
from underoak.settings import Home, load_home

T = TypeVar("T")


def made_once(
    factory: pytest.TempPathFactory, name: str, make: Callable[[Path], T], *, into: Path | None = None
) -> tuple[Path, T]:
    """An own copy of the folder that ``make`` fills, with what it handed back (anything that pickles).

    The first process that asks makes it; the others wait for it. Every caller may change its copy.
    """
    base = factory.getbasetemp()
    kept = (base.parent if os.environ.get("PYTEST_XDIST_WORKER") else base) / f"once-{name}"
    kept.mkdir(exist_ok=True)
    folder, told = kept / "folder", kept / "told.pickle"
    with (kept / "lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not told.exists():
            shutil.rmtree(folder, ignore_errors=True)
            folder.mkdir()
            told.write_bytes(pickle.dumps(make(folder)))
    own = into or factory.mktemp(name)
    shutil.copytree(folder, own, dirs_exist_ok=True)
    return own, pickle.loads(told.read_bytes())  # noqa: S301 - written above, by these tests


def _fill_valley(folder: Path) -> None:
    load_world(fresh_demo_home(folder / "home"), seed=1)


def valley(factory: pytest.TempPathFactory, *, into: Path | None = None) -> Home:
    """A home of its own with the invented valley loaded, nothing lived yet."""
    return load_home(made_once(factory, "valley", _fill_valley, into=into)[0] / "home")
