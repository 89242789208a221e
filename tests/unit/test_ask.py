"""Asking a person who knows: a dossier without the spot, and the answer on record."""

from __future__ import annotations

import io
import json
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner
from PIL import Image

from tests.unit.test_vet_find import DAY, HONEY, found, two_bodies
from tests.vetting_finds import body, document, notes
from underoak.cli.ask import ask
from underoak.desk.ask_expert import dossier
from underoak.desk.vet_find import vet_find
from underoak.errors import UserMistake
from underoak.ledger.database import open_ledger, writing
from underoak.ledger.photos import Photo, store_photo
from underoak.ledger.verdicts import verdicts_of
from underoak.settings import Home
from underoak.sheets.dossier import dossier_content, write_dossier

__all__ = ["found"]


def picture() -> bytes:
    """An invented photo that tells where it was taken."""
    image = Image.new("RGB", (40, 30), (120, 90, 40))
    tags = Image.Exif()
    tags[0x010E] = "under the old oak of Invented Wood"
    out = io.BytesIO()
    image.save(out, "JPEG", exif=tags)
    return out.getvalue()


@pytest.fixture
def vetted(found: Home) -> Home:
    """The find was vetted without a print, and has a photo."""
    bodies = [body(notes(HONEY, print_colour=None), id=n) for n in ("1", "2")]
    vet_find(found, "f1", document(None, *bodies), today=DAY)
    (found.photos / "one.jpg").write_bytes(picture())
    connection = open_ledger(found.ledger)
    with writing(connection):
        store_photo(connection, Photo("abc", "f1", "one.jpg", "the gills", None, DAY))
    connection.close()
    return found


def test_the_dossier_tells_nothing_of_the_spot(vetted: Home, tmp_path: Path) -> None:
    told = dossier(vetted, "f1")
    pdf, page = write_dossier(tmp_path, told, "a4")
    text = page.read_text("utf-8") + json.dumps(dossier_content(told, "a4"))
    for secret in ("Invented Wood", "Old oak", "41.5", "-74", "2026-09-12"):
        assert secret not in text
    assert "September 2026" in text
    assert pdf.read_bytes().startswith(b"%PDF")
    assert "data:image/jpeg;base64," in text


def test_the_photo_in_the_dossier_carries_no_tags(vetted: Home) -> None:
    import base64

    ((picture64, shows),) = dossier(vetted, "f1").photos
    assert shows == "the gills"
    image = Image.open(io.BytesIO(base64.b64decode(picture64)))
    assert not dict(image.getexif())


def test_the_dossier_says_what_was_looked_at_and_what_is_open(vetted: Home) -> None:
    told = dossier(vetted, "f1")
    content = dossier_content(told, "us-letter")
    assert any("Galerina marginata" in line for line in content["open"])
    assert any("Galerina marginata" in side["heading"] for side in content["beside"])
    assert any(row[3] for side in content["beside"] for row in side["rows"])
    assert all(b["seen"] for b in content["bodies"])


def test_the_same_dossier_twice_is_the_same_file(vetted: Home, tmp_path: Path) -> None:
    told = dossier(vetted, "f1")
    one, two = (write_dossier(tmp_path / n, told, "a4")[0].read_bytes() for n in ("a", "b"))
    assert one == two


def answered(home: Home, *options: str) -> dict[str, object]:
    arguments = ["f1", "--home", str(home.folder), "--today", "2026-09-13", "--json", *options]
    result = CliRunner().invoke(ask, arguments)
    assert result.exit_code == 0, result.output
    answer: dict[str, object] = json.loads(result.output)
    return answer


def test_agreement_in_hand_confirms(vetted: Home) -> None:
    answer = answered(vetted, "--person", "Dana", "--agrees", "--saw", "hand")
    assert (answer["state"], answer["confirmed_by"]) == ("confirmed", "Dana")
    connection = open_ledger(vetted.ledger)
    assert [v.state for v in verdicts_of(connection, "f1")] == ["open", "confirmed"]
    connection.close()


def test_agreement_on_a_photo_leaves_an_open_find_open(vetted: Home) -> None:
    assert answered(vetted, "--person", "Dana", "--agrees")["state"] == "open"


def test_a_dissent_refuses_and_new_observations_do_not_wash_it_away(vetted: Home) -> None:
    answer = answered(vetted, "--person", "Dana", "--dissents", "--words", "no idea what that is")
    assert answer["state"] == "refused"
    again = vet_find(vetted, "f1", document(None, *two_bodies()), today=date(2026, 9, 14))
    assert again.verdict.state == "refused"
    assert any("Dana" in r.words for r in again.verdict.reasons)
    assert answered(vetted, "--person", "Dana", "--agrees", "--saw", "hand")["state"] == "confirmed"


@pytest.mark.parametrize(
    "options", [["--agrees"], ["--person", "Dana"], ["--person", " ", "--agrees"], ["--words", "x"]]
)
def test_half_an_answer_is_refused(vetted: Home, options: list[str]) -> None:
    result = CliRunner().invoke(ask, ["f1", "--home", str(vetted.folder), *options])
    assert isinstance(result.exception, UserMistake)


def test_a_find_that_was_never_vetted_cannot_be_asked_about(found: Home) -> None:
    with pytest.raises(UserMistake):
        dossier(found, "f1")
