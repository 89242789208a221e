"""A backup and a restore need no more memory for more photos."""

from __future__ import annotations

import os
import subprocess
import sys
import tracemalloc
from pathlib import Path

import pytest

from tests.shared_home import TODAY, invented_home
from underoak.desk import back_up as backing_up
from underoak.desk import open_backup as opening
from underoak.desk.back_up import back_up
from underoak.desk.open_backup import verify_backup
from underoak.desk.restore import restore
from underoak.errors import BadData, NoAnswer
from underoak.settings import Home

MEGABYTE = 1 << 20


def with_photos(home: Home, megabytes: int, each: int = 4) -> None:
    """Files in the folder of photos that no packer makes smaller."""
    for number in range(megabytes // each):
        (home.photos / f"{number:020x}.jpg").write_bytes(os.urandom(each * MEGABYTE))


def test_photos_are_carried_piece_by_piece(tmp_path: Path) -> None:
    home = invented_home(tmp_path / "home")
    with_photos(home, 48)
    back_up(home, tmp_path / "warm.zip", today=TODAY)  # what is loaded once does not count
    tracemalloc.start()
    made = back_up(home, tmp_path / "b.zip", today=TODAY)
    restore(Path(made.file), tmp_path / "back", today=TODAY)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert made.size_bytes > 48 * MEGABYTE
    assert peak < 16 * MEGABYTE
    for photo in home.photos.iterdir():
        assert (tmp_path / "back" / "photos" / photo.name).read_bytes() == photo.read_bytes()


_BOTH = """
import re, sys
from datetime import date
from pathlib import Path
from underoak.desk.back_up import back_up
from underoak.desk.restore import restore
from underoak.settings import load_home
folder = Path(sys.argv[1])
made = back_up(load_home(folder / "home"), folder / "b.zip", today=date(2026, 10, 20))
restore(Path(made.file), folder / "back", today=date(2026, 10, 20))
# not getrusage: its peak begins with what the process that started this one held
peak = re.search(r"VmHWM:\\s*(\\d+) kB", Path("/proc/self/status").read_text())
print(made.size_bytes, int(peak[1]) * 1024)
"""


@pytest.mark.long
def test_three_hundred_megabytes_of_photos_take_no_three_hundred_of_memory(tmp_path: Path) -> None:
    """The whole process, interpreter and libraries and all, as the system counts it."""
    with_photos(invented_home(tmp_path / "home"), 300)
    done = subprocess.run(
        [sys.executable, "-c", _BOTH, str(tmp_path)], check=True, capture_output=True, text=True
    )
    size, memory = (int(word) for word in done.stdout.split())
    assert size > 300 * MEGABYTE
    assert memory < 200 * MEGABYTE


def test_what_is_too_much_to_seal_is_refused_before_anything_is_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    pytest.importorskip("pyrage")
    home = invented_home(tmp_path / "home")
    monkeypatch.setattr(backing_up, "MOST_SEALED_BYTES", 100_000)
    with pytest.raises(NoAnswer, match="cannot be sealed"):
        back_up(home, tmp_path / "b.zip", today=TODAY, passphrase="three old oak trees")  # noqa: S106
    assert not list(tmp_path.glob("b.zip*"))


def test_a_zip_made_to_fill_a_disk_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    import zipfile

    monkeypatch.setattr(opening, "_MOST_BESIDE", MEGABYTE)
    with zipfile.ZipFile(tmp_path / "bomb.zip", "w", zipfile.ZIP_DEFLATED, compresslevel=9) as archive:
        with archive.open("photos/a.jpg", "w") as member:
            for _ in range(20):
                member.write(bytes(MEGABYTE))
        archive.writestr("manifest.json", "{}")
    with pytest.raises(BadData, match="too many bytes"):
        verify_backup(tmp_path / "bomb.zip")
