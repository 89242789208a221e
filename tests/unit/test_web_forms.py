"""What is typed into the pages reaches the ledger as the commands would write it, photos included."""

from __future__ import annotations

import io
from datetime import date
from pathlib import Path

import pytest
from PIL import Image

from tests.pack_logs import DAY, Telephone
from tests.shared_home import invented_home
from tests.unit.web_client import PORT, Browser
from underoak.desk.list_finds import list_finds
from underoak.desk.note_ground import PlaceNote, SpotNote, note_place, note_spot
from underoak.model.ground import Spot
from underoak.settings import Home
from underoak.web.app import create_app

TODAY = date(2026, 10, 3)


@pytest.fixture
def spot(home: Home) -> Spot:
    place = note_place(
        home, PlaceNote("Invented Wood", -74.5, 41.5, 400.0, "allowed", "the owner"), today=TODAY
    )
    return note_spot(home, SpotNote(place.id, "old oak", -74.5001, 41.5002, "white_oak", 90.0))


@pytest.fixture
def browser(home: Home, spot: Spot) -> Browser:
    return Browser(create_app(home, today=lambda: TODAY, port=PORT))


def photo(*, east: bool = False, place: tuple[float, float] | None = (41.5002, 74.5001)) -> bytes:
    """A picture whose tags say when and where it was taken (degrees north and west)."""
    exif = Image.Exif()
    exif.get_ifd(0x8769)[0x9003] = "2026:09:30 10:20:30"
    if place is not None:
        gps = exif.get_ifd(0x8825)
        gps[1], gps[3] = "N", "E" if east else "W"
        for tag, degrees in ((2, place[0]), (4, place[1])):
            minutes = (degrees % 1) * 60
            gps[tag] = (float(int(degrees)), float(int(minutes)), (minutes % 1) * 60)
    out = io.BytesIO()
    Image.new("RGB", (64, 48), "brown").save(out, "JPEG", exif=exif)
    return out.getvalue()


def day_form(spot: Spot, **more: str) -> dict[str, str]:
    return {
        "day": "2026-10-02",
        "place": spot.place_id,
        "minutes": "75",
        "person": "Ada",
        "taxon-0": "Grifola frondosa",
        "spot-0": spot.id,
        "stage-0": "prime",
        "grams-0": "850,5",
        "bodies-0": "2",
        **more,
    }


def test_a_day_with_a_find_is_stored(home: Home, spot: Spot, browser: Browser) -> None:
    answer = browser.send("/finds/new", day_form(spot), seen_on="/finds/new")
    assert answer.location == "/finds/day/2026-10-02"
    (visit,) = list_finds(home, today=TODAY)
    (found,) = visit.finds
    assert (found.find.taxon_id, found.find.fresh_g, found.find.bodies) == ("grifola_frondosa", 850.5, 2)
    assert visit.visit.minutes == 75.0
    assert found.state == "not vetted"


def test_a_day_that_found_nothing_is_stored(home: Home, spot: Spot, browser: Browser) -> None:
    form = {"day": "2026-10-02", "place": spot.place_id, "searched": spot.id, "look": "0.9"}
    assert browser.send("/finds/new", form, seen_on="/finds/new").status_code == 303
    (visit,) = list_finds(home, today=TODAY)
    assert visit.finds == ()
    assert [(s.spot_id, s.thoroughness) for s in visit.visit.searches] == [(spot.id, 0.9)]
    assert "Nothing was found. That counts" in browser.text("/finds")


def test_a_find_has_a_note_of_its_own(home: Home, spot: Spot, browser: Browser) -> None:
    form = day_form(spot, **{"note-0": "under the fork; side: NE; shade: deep", "note": "warm"})
    browser.send("/finds/new", form, seen_on="/finds/new")
    (visit,) = list_finds(home, today=TODAY)
    assert visit.visit.note == "warm"
    assert visit.finds[0].find.note == "under the fork; side: NE; shade: deep"
    assert "under the fork" in browser.text(f"/finds/one/{visit.finds[0].find.id}")
    wrong = day_form(spot, **{"note-0": "side: up", "day": "2026-10-01"})
    answer = browser.send("/finds/new", wrong, seen_on="/finds/new")
    assert answer.status_code == 422
    assert 'value="side: up"' in answer.text


def test_all_faults_of_a_day_are_told_at_once(home: Home, spot: Spot, browser: Browser) -> None:
    wrong = day_form(spot, **{"day": "2027-01-01", "grams-0": "much", "minutes": "-4", "spot-0": "nowhere"})
    answer = browser.send("/finds/new", wrong, seen_on="/finds/new")
    page = answer.get_data(as_text=True)
    assert answer.status_code == 422
    for told in ("grams", "minutes", "find 1"):
        assert told in page
    assert list_finds(home, today=TODAY) == ()


def test_several_finds_are_corrected_at_once(home: Home, spot: Spot, browser: Browser) -> None:
    second = {"taxon-1": "Hericium group", "spot-1": spot.id, "stage-1": "young", "grams-1": "100"}
    browser.send("/finds/new", day_form(spot, **second), seen_on="/finds/new")
    ids = [f.find.id for f in list_finds(home, today=TODAY)[0].finds]
    form: dict[str, object] = {"find": ids}
    for find_id in ids:
        form |= {f"stage-{find_id}": "past", f"grams-{find_id}": "50", f"note-{find_id}": "weighed again"}
    answer = browser.send("/finds/day/2026-10-02", form, seen_on="/finds/day/2026-10-02")
    assert answer.status_code == 303
    finds = [f.find for f in list_finds(home, today=TODAY)[0].finds]
    assert {(f.stage, f.fresh_g, f.note) for f in finds} == {("past", 50.0, "weighed again")}


def test_a_photo_fills_in_its_day_and_spot_and_stays_with_the_find(
    home: Home, spot: Spot, browser: Browser
) -> None:
    sent = {"photo": (io.BytesIO(photo()), "IMG_1.jpg")}
    answer = browser.send("/finds/photos", sent, seen_on="/finds", content_type="multipart/form-data")
    assert answer.status_code == 303
    page = browser.text(str(answer.location))
    assert 'value="2026-09-30"' in page
    assert f'<option value="{spot.id}" selected>' in page
    waiting = str(answer.location).rpartition("=")[2]
    form = day_form(spot, photos=waiting, day="2026-09-30")
    browser.send("/finds/new", form, seen_on=str(answer.location))
    find_id = list_finds(home, today=TODAY)[0].finds[0].find.id
    shown = browser.text(f"/finds/one/{find_id}")
    file = shown.split('href="/photos/')[1].split('"')[0]
    with browser.get(f"/photos/{file}") as whole, browser.get(f"/photos/small/{file}") as small:
        assert whole.data == photo()
        assert small.mimetype == "image/jpeg"


def test_a_photo_far_from_every_spot_chooses_none(browser: Browser) -> None:
    sent = {"photo": (io.BytesIO(photo(east=True)), "far.jpg")}
    answer = browser.send("/finds/photos", sent, seen_on="/finds", content_type="multipart/form-data")
    assert "or a new spot where the photo was taken" in browser.text(str(answer.location))


@pytest.mark.parametrize(
    "data",
    [b"", b"no picture", b"\xff\xd8\xff\xe0 cut short", photo()[:400], b"<svg xmlns='x'><script/></svg>"],
)
def test_what_is_no_picture_is_refused(home: Home, browser: Browser, data: bytes) -> None:
    sent = {"photo": (io.BytesIO(data), "../../evil.jpg")}
    answer = browser.send("/finds/photos", sent, seen_on="/finds", content_type="multipart/form-data")
    assert answer.status_code == 422
    assert "no whole picture" in answer.get_data(as_text=True)
    assert not list(home.photos.rglob("*evil*"))


def test_a_file_is_taken_in_once_and_says_what_was_understood(
    home: Home, spot: Spot, browser: Browser
) -> None:
    table = (
        b"date,place,spot,taxon,stage,fresh_g\n2026-09-20,Invented Wood,old oak,Grifola frondosa,prime,900\n"
    )

    def send() -> str:
        form = {"kind": "visits", "file": (io.BytesIO(table), "../my visits.csv")}
        answer = browser.send("/ground/load", form, seen_on="/ground", content_type="multipart/form-data")
        assert answer.status_code == 303, answer.get_data(as_text=True)
        return browser.text(str(answer.location))

    assert "my visits.csv" in send()
    assert "taken in before" in send()
    assert len(list_finds(home, today=TODAY)) == 1


def test_every_problem_of_a_file_is_shown_and_nothing_is_stored(home: Home, browser: Browser) -> None:
    table = (
        b"date,place,spot,taxon,stage\n2026-13-20,Nowhere,x,Grifola frondosa,prime\nsoon,Invented Wood,y,,\n"
    )
    form = {"kind": "visits", "file": (io.BytesIO(table), "visits.csv")}
    answer = browser.send("/ground/load", form, seen_on="/ground", content_type="multipart/form-data")
    page = answer.get_data(as_text=True)
    assert answer.status_code == 422
    assert "line 2" in page
    assert "line 3" in page
    assert list_finds(home, today=TODAY) == ()


def test_an_answer_of_vetting_survives_a_reload_and_another_phone(
    home: Home, spot: Spot, browser: Browser
) -> None:
    browser.send("/finds/new", day_form(spot), seen_on="/finds/new")
    find_id = list_finds(home, today=TODAY)[0].finds[0].find.id
    page = f"/vetting/{find_id}"
    ground = {"treated": "no", "roadside": "no", "flooded_or_dumped": "not_looked"}
    browser.send(f"{page}/lot", {"bodies_in_lot": "1", **ground}, seen_on=page)
    sound = {"wormy": "no", "soaked": "no", "frozen": "no", "rotten": "no"}
    browser.send(f"{page}/body", {"stems": "1", "age": "mature", **sound}, seen_on=page)
    browser.send(f"{page}/answer", {"ask": "form", "body": "1", "state": "rosette"}, seen_on=page)
    other = Browser(create_app(home, today=lambda: TODAY, port=PORT))
    for looks in (browser, browser, other):
        assert "many fans or lobes from one base" in looks.text(page)
    wrong = browser.send(f"{page}/answer", {"ask": "form", "body": "1", "state": "made_up"}, seen_on=page)
    assert wrong.status_code == 422


def test_logs_of_telephones_are_taken_in_once_and_what_they_disagree_on_is_shown(tmp_path: Path) -> None:
    wood = invented_home(tmp_path / "wood")
    browser = Browser(create_app(wood, today=lambda: DAY, port=PORT))
    logs = [
        Telephone("ada00001").find("A1", fresh_g=1500).save(tmp_path).read_bytes(),
        Telephone("ben00001").find("A1", fresh_g=900).save(tmp_path).read_bytes(),
    ]
    told = []
    for data in (*logs, logs[0]):
        sent = {"kind": "pack", "file": (io.BytesIO(data), "log.json")}
        seen_on = "/ground?kind=pack"
        answer = browser.send("/ground/load", sent, seen_on=seen_on, content_type="multipart/form-data")
        told.append(browser.text(str(answer.location)))
    assert "CONFLICT" not in told[0]
    assert "CONFLICT, both are kept" in told[1]
    assert "taken in before; nothing changed" in told[2]
    finds = [found.find for visit in list_finds(wood, today=DAY) for found in visit.finds]
    assert [find.fresh_g for find in finds if find.id.startswith("pack-")] == [1500.0]
    page = browser.text("/ground/telephones")
    assert "1500 g" in page
    assert "900 g" in page
