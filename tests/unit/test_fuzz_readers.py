"""Readers on spoilt files, in a small size; ``make fuzz`` runs a million cases."""

from __future__ import annotations

import time
from pathlib import Path

import pytest
from tools.fuzz_readers import listen, one, run
from tools.fuzz_seeds import Reader, readers

from underoak.errors import UnderoakError
from underoak.intake.table import read_table

#: Cases that once broke a reader, by reader and number.
BROKE_ONCE = [
    ("forecast", 22),
    ("weather archive", 1593),
    ("settings", 1171),
    ("merge", 4000096),
    ("parks", 11426),
    ("parks", 35976),
    ("geotiff", 200256),
    ("haul list", 203078),
    ("geotiff", 3026640),
    ("photo to share", 4000005),
    ("settings", 4000008),
    ("inside a ledger", 4000001),
    ("inside a ledger", 4000043),
    ("inside a ledger", 6000184),
]


@pytest.fixture(name="every", scope="module")
def _every() -> dict[str, Reader]:
    return {reader.name: reader for reader in readers()}


@pytest.fixture(autouse=True)
def _alarm() -> None:
    listen()


def test_every_whole_file_is_understood(every: dict[str, Reader], tmp_path: Path) -> None:
    """The seeds are files that readers take: a fuzzer that starts from refused files tests little."""
    for reader in every.values():
        for seed in reader.seeds:
            path = tmp_path / f"whole{reader.ending}"
            path.write_bytes(seed)
            try:
                reader.read(path)
            except UnderoakError as error:
                pytest.fail(f"{reader.name}: {error}")


@pytest.mark.parametrize(("name", "case"), BROKE_ONCE)
def test_what_broke_once_holds(every: dict[str, Reader], tmp_path: Path, name: str, case: int) -> None:
    assert one(every[name], case, tmp_path)[1] == ""


def test_a_header_of_twenty_thousand_columns_is_no_work(tmp_path: Path) -> None:
    """Telling doubled columns once took a second for each few thousand."""
    path = tmp_path / "wide.csv"
    path.write_text(",".join(f"c{n}" for n in range(20_000)) + "\n" + "," * 19_999 + "\n1" + "," * 19_999)
    began = time.process_time()
    assert len(read_table(path, expected="a table").headers) == 20_000
    assert time.process_time() - began < 8.0


def test_a_few_hundred_cases(every: dict[str, Reader], capsys: pytest.CaptureFixture[str]) -> None:
    tallies = run(list(every.values()), 520, first=500_000)
    assert [tally.line() for tally in tallies if tally.faults] == []


def test_a_broken_reader_is_found(tmp_path: Path) -> None:
    """The fuzzing can fail: it tells of a crash, a hang, a death and a file written elsewhere."""
    import os

    def crash(path: Path) -> None:
        raise ZeroDivisionError

    def hang(path: Path) -> None:
        while path:
            pass

    def write(path: Path) -> None:
        (path.parent.parent / "elsewhere").write_text("x")

    def die(path: Path) -> None:
        os._exit(3)

    broken = [
        Reader("crash", ".x", crash, [b"x"]),
        Reader("hang", ".x", hang, [b"x"]),
        Reader("write", ".x", write, [b"x"]),
        Reader("die", ".x", die, [b"x"]),
    ]
    told = [" ".join(tally.faults) for tally in run(broken, 4)]
    for words, text in zip(
        ("ZeroDivisionError", "longer than", "wrote elsewhere", "died (3)"), told, strict=True
    ):
        assert words in text
