"""Backup, restore and doctor on real files."""

from __future__ import annotations

import json
import re
import shutil
import sqlite3
import zipfile
from collections.abc import Callable
from datetime import date
from itertools import chain, repeat
from pathlib import Path

import pytest
from PIL import Image

from tests.shared_home import TODAY, invented_home
from underoak.desk import sealed
from underoak.desk.back_up import MANIFEST_NAME, back_up
from underoak.desk.check_home import check_home
from underoak.desk.keep_photo import keep_photo
from underoak.desk.merge_ledgers import merge_ledgers
from underoak.desk.open_backup import verify_backup
from underoak.desk.restore import restore
from underoak.desk.share_finds import sharing_key
from underoak.errors import BadData, NoAnswer, UserMistake
from underoak.ledger.backup import ledger_faults
from underoak.ledger.database import open_ledger, writing
from underoak.settings import LEDGER_NAME, Home, load_home

WORDS = "three old oak trees"

#: What every ledger has for itself: the letters of its codes, and the marks of its seasons.
OWN = ('"household"', '"season_mark"')


def dump(path: Path) -> list[str]:
    """The ledger's content as SQL."""
    connection = sqlite3.connect(path)
    lines = list(connection.iterdump())
    connection.close()
    return lines


@pytest.fixture(name="full")
def _full(tmp_path: Path) -> Home:
    """A home with finds, a photo and a sharing key."""
    home = invented_home(tmp_path / "full")
    Image.new("RGB", (30, 20), (9, 9, 9)).save(tmp_path / "a.png")
    keep_photo(home, "f1", tmp_path / "a.png", today=TODAY)
    sharing_key(home)
    return home


def test_a_home_comes_back_as_it_was(full: Home, tmp_path: Path) -> None:
    made = back_up(full, tmp_path, today=TODAY)
    done = restore(Path(made.file), tmp_path / "back", today=TODAY)
    back = load_home(tmp_path / "back")
    assert made.files == done.files == 4
    assert dump(back.ledger_path) == dump(full.ledger_path)
    assert back.settings == full.settings
    assert sharing_key(back) == sharing_key(full)
    assert [p.name for p in back.photos.iterdir()] == [p.name for p in full.photos.iterdir()]
    assert done.newest_record == "2026-10-20"
    assert check_home(back, today=TODAY).ailments == ()


def test_a_backup_is_whole_while_somebody_writes(full: Home, tmp_path: Path) -> None:
    """An open transaction is not in it, what was committed before is."""
    connection = open_ledger(full.ledger)
    with writing(connection):
        connection.execute("UPDATE visit SET note = 'kept' WHERE id = 'v1'")
    connection.execute("BEGIN IMMEDIATE")
    connection.execute("UPDATE visit SET note = 'half'")
    made = back_up(full, tmp_path, today=TODAY)
    connection.execute("ROLLBACK")
    connection.close()
    restore(Path(made.file), tmp_path / "back", today=TODAY)
    notes = open_ledger(tmp_path / "back" / LEDGER_NAME).execute("SELECT note FROM visit WHERE id = 'v1'")
    assert [row[0] for row in notes] == ["kept"]


def rewritten(backup: Path, target: Path, change: Callable[[dict[str, bytes]], object]) -> Path:
    with zipfile.ZipFile(backup) as old:
        files = {name: old.read(name) for name in old.namelist()}
    change(files)
    with zipfile.ZipFile(target, "w") as new:
        for name, data in files.items():
            new.writestr(name, data)
    return target


def _listed(files: dict[str, bytes], name: str, data: bytes) -> None:
    """Add a file and list it, as somebody would who wants it believed."""
    import hashlib

    manifest = json.loads(files[MANIFEST_NAME])
    manifest["files"][name] = {"sha256": hashlib.sha256(data).hexdigest(), "size_bytes": len(data)}
    files[MANIFEST_NAME] = json.dumps(manifest).encode()
    files[name] = data


FAULTS: list[tuple[str, Callable[[dict[str, bytes]], object]]] = [
    ("was changed or damaged", lambda f: f.update({"underoak.toml": f["underoak.toml"] + b"#"})),
    ("is missing", lambda f: f.pop(LEDGER_NAME)),
    ("is not in the manifest", lambda f: f.update({"extra.txt": b"x"})),
    ("no manifest", lambda f: f.pop(MANIFEST_NAME)),
    ("no manifest", lambda f: f.update({MANIFEST_NAME: b"[]"})),
    ("is no file of a home", lambda f: _listed(f, "../../evil.sh", b"x")),
    ("is no file of a home", lambda f: _listed(f, "/etc/evil", b"x")),
    ("is no file of a home", lambda f: _listed(f, "photos/../../evil", b"x")),
    ("is no file of a home", lambda f: _listed(f, "C:\\evil", b"x")),
    ("its ledger", lambda f: _listed(f, LEDGER_NAME, b"SQLite format 3\0" + b"\1" * 4000)),
    ("TOML", lambda f: _listed(f, "underoak.toml", b"name = ")),
]


@pytest.mark.parametrize(("words", "change"), FAULTS)
def test_nothing_is_written_from_a_damaged_backup(
    full: Home, tmp_path: Path, words: str, change: Callable[[dict[str, bytes]], object]
) -> None:
    path = rewritten(Path(back_up(full, tmp_path, today=TODAY).file), tmp_path / "bad.zip", change)
    with pytest.raises(BadData) as caught:
        restore(path, tmp_path / "back", today=TODAY)
    assert any(words in problem.sentence() for problem in caught.value.problems)
    assert not (tmp_path / "back").exists()
    assert not list(tmp_path.glob("evil*"))


def test_a_backup_cut_short_is_refused(full: Home, tmp_path: Path) -> None:
    data = Path(back_up(full, tmp_path, today=TODAY).file).read_bytes()
    for length in (0, 10, len(data) // 2, len(data) - 1):
        (tmp_path / "cut.zip").write_bytes(data[:length])
        with pytest.raises(BadData):
            verify_backup(tmp_path / "cut.zip")


def test_a_home_is_never_overwritten_unasked(full: Home, tmp_path: Path) -> None:
    made = Path(back_up(full, tmp_path, today=TODAY).file)
    connection = open_ledger(full.ledger)
    connection.execute("UPDATE visit SET note = 'newer'")
    connection.execute("INSERT INTO visit VALUES ('v9', '2026-11-01', 'wood', NULL, '[]', 'newer')")
    connection.close()
    before = dump(full.ledger_path)
    with pytest.raises(UserMistake, match=r"newest record is of 2026-11-01, the backup's of 2026-10-20"):
        restore(made, full.folder, today=TODAY)
    assert dump(full.ledger_path) == before
    done = restore(made, full.folder, today=TODAY, replace=True)
    assert dump(full.folder / done.kept_aside) == before
    assert dump(full.ledger_path) != before


def test_a_sealed_backup_opens_with_its_passphrase_only(full: Home, tmp_path: Path) -> None:
    pytest.importorskip("pyrage")
    made = back_up(full, tmp_path / "x.zip", today=TODAY, passphrase=WORDS)
    assert made.file.endswith(".zip.age")
    assert b"underoak.toml" not in Path(made.file).read_bytes()
    with pytest.raises(UserMistake, match="sealed"):
        verify_backup(Path(made.file))
    with pytest.raises(NoAnswer, match="does not open"):
        verify_backup(Path(made.file), "three old elm trees")
    assert set(verify_backup(Path(made.file), WORDS)) >= {LEDGER_NAME}
    data = Path(made.file).read_bytes()
    greedy = tmp_path / "greedy.age"
    greedy.write_bytes(re.sub(rb"(-> scrypt \S+) \d+\n", rb"\1 22\n", data, count=1))
    assert greedy.read_bytes() != data
    with pytest.raises(NoAnswer, match="fills the memory"):
        verify_backup(greedy, WORDS)
    with pytest.raises(UserMistake, match="letters"):
        back_up(full, tmp_path / "y.zip", today=TODAY, passphrase=WORDS[:5])


def test_without_the_library_nothing_is_written_unsealed(
    full: Home, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import sys

    monkeypatch.setitem(sys.modules, "pyrage", None)
    with pytest.raises(NoAnswer, match="pyrage"):
        back_up(full, tmp_path / "x.zip", today=TODAY, passphrase=WORDS)
    assert not list(tmp_path.glob("x.zip*"))


def kinds(home: Home, today: date = TODAY, **repair: frozenset[str]) -> list[str]:
    return [each.what for each in check_home(home, today=today, **repair).ailments]


def test_the_doctor_finds_what_is_wrong_and_mends_what_is_named(full: Home) -> None:
    assert kinds(full) == []
    photo = next(full.photos.iterdir())
    photo.unlink()
    (full.photos / "stray.jpg").write_bytes(b"x")
    (full.folder / "half.part").write_bytes(b"x")
    connection = open_ledger(full.ledger)
    connection.execute("DELETE FROM search WHERE visit_id = 'v1' AND spot_id = 'oak'")
    connection.execute("INSERT INTO visit VALUES ('v9', '2027-01-01', 'wood', NULL, '[]', '')")
    connection.close()
    told = " / ".join(kinds(full))
    for words in (
        "1 photo is gone",
        "1 file in photos belongs to no find",
        "1 half-written file, such as",
        "1 find stands at a spot that its visit did not search",
        "1 record of visit lies in the future",
    ):
        assert words in told
    mended = check_home(full, today=TODAY, repair=frozenset({"looks", "photos", "leftovers"}))
    assert mended.mended == ("1 look noted", "1 photo forgotten", "1 half-written file removed")
    left = " / ".join(each.what for each in mended.ailments)
    assert "gone" not in left
    assert "half-written" not in left
    assert "in the future" in left  # no day is ever mended by itself
    with pytest.raises(UserMistake, match="no repair 'all'"):
        check_home(full, today=TODAY, repair=frozenset({"all"}))


def test_a_changed_photo_is_told(full: Home) -> None:
    photo = next(full.photos.iterdir())
    photo.write_bytes(photo.read_bytes() + b"x")
    assert any("was changed" in what for what in kinds(full))


def test_a_damaged_ledger_is_told_not_backed_up_and_saved_as_far_as_it_can_be_read(
    full: Home, tmp_path: Path
) -> None:
    connection = open_ledger(full.ledger)
    with writing(connection):
        connection.executemany(
            "INSERT INTO visit VALUES (?, '2026-10-01', 'wood', NULL, '[]', ?)",
            [(f"many{n:05d}", "a long note " * 20) for n in range(2000)],
        )
    root = connection.execute("SELECT rootpage FROM sqlite_master WHERE name = 'visit'").fetchone()[0]
    connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    connection.close()
    data = bytearray(full.ledger_path.read_bytes())
    page = 4096
    for number in range(60, 64):  # four pages in the middle, none of them a root
        assert number != root
        data[number * page : (number + 1) * page] = b"\xff" * page
    full.ledger_path.write_bytes(bytes(data))
    assert ledger_faults(full.ledger_path)
    with pytest.raises(NoAnswer, match="damaged"):
        back_up(full, tmp_path / "x.zip", today=TODAY)
    assert any(a.repair == "ledger" for a in check_home(full, today=TODAY).ailments)
    mended = check_home(full, today=TODAY, repair=frozenset({"ledger"}))
    assert mended.mended
    assert ledger_faults(full.ledger_path) == [] or all(
        "refers" in f for f in ledger_faults(full.ledger_path)
    )
    saved = open_ledger(full.ledger).execute("SELECT count(*) FROM visit").fetchone()[0]
    assert saved > 1500
    assert (full.folder / f"ledger.damaged-{TODAY}.sqlite3").read_bytes() == bytes(data)


def test_merge_takes_a_home_or_a_file_and_leaves_the_other_as_it_was(full: Home, tmp_path: Path) -> None:
    other = invented_home(tmp_path / "other")
    connection = open_ledger(other.ledger)
    connection.execute("INSERT INTO visit VALUES ('v9', '2026-10-12', 'wood', NULL, '[]', 'new')")
    connection.close()
    before = dump(other.ledger_path)
    assert merge_ledgers(full, other.folder).new == {"visit": 1}
    assert dump(other.ledger_path) == before
    assert merge_ledgers(full, other.ledger_path).new == {}
    merge_ledgers(full, other.folder, with_pantry=True, both=True)
    ours, theirs = (
        sorted(line for line in dump(home.ledger_path) if not any(own in line for own in OWN))
        for home in (full, other)
    )
    assert ours == theirs


def test_merge_refuses_what_is_no_other_ledger(full: Home, tmp_path: Path) -> None:
    (tmp_path / "no.sqlite3").write_bytes(b"no ledger at all " * 100)
    empty = tmp_path / "empty"
    empty.mkdir()
    sqlite3.connect(tmp_path / "blank.sqlite3").execute("CREATE TABLE a (b)").connection.close()
    shutil.copy(full.ledger_path, tmp_path / "copy.sqlite3")
    for path, kind in (
        (full.folder, UserMistake),
        (empty, UserMistake),
        (tmp_path / "no.sqlite3", NoAnswer),
        (tmp_path / "blank.sqlite3", NoAnswer),
    ):
        with pytest.raises(kind):
            merge_ledgers(full, path)


def test_a_busy_computer_opens_a_sealed_backup_at_a_later_try(
    full: Home, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The library judges by how fast the computer is just then; here it is made to think so twice."""
    pyrage = pytest.importorskip("pyrage")
    made = back_up(full, tmp_path / "x.zip", today=TODAY, passphrase=WORDS)
    refusals = chain([True, True], repeat(False))

    class Hurried:
        DecryptError = pyrage.DecryptError
        passphrase: object

        @staticmethod
        def decrypt(data: bytes, words: str) -> bytes:
            if next(refusals):
                raise pyrage.DecryptError("Excessive work parameter for passphrase.")
            opened: bytes = pyrage.passphrase.decrypt(data, words)
            return opened

    Hurried.passphrase = Hurried
    monkeypatch.setattr(sealed, "_library", lambda: Hurried)
    assert LEDGER_NAME in verify_backup(Path(made.file), WORDS)
