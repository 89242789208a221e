"""Telephones of the household's network come in with the code, and nobody else."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta

import pytest

from tests.unit.web_client import PORT, Browser
from underoak.settings import Home
from underoak.web.app import create_app
from underoak.web.pairing import CODE_LASTS, MOST_WRONG, MOST_WRONG_IN_ALL, PHONE_LASTS, Pairing

NOON = datetime.combine(date(2026, 10, 3), time(12))
LAN = "192.168.1.20"


class Household:
    """A server that listens in the network, a clock that can be moved, and telephones."""

    def __init__(self, home: Home) -> None:
        self.moment = NOON
        self.pairing = Pairing(lambda: self.moment, (LAN,))
        self.code = self.pairing.new_code()
        self.app = create_app(
            home, today=lambda: date(2026, 10, 3), now=lambda: self.moment, port=PORT, lan=self.pairing
        )

    def phone(self, number: int = 50) -> Browser:
        return Browser(self.app, host=f"{LAN}:{PORT}", address=f"192.168.1.{number}")

    def pair(self, phone: Browser, code: str) -> int:
        return phone.send("/pair", {"code": code}, seen_on="/pair").status_code


@pytest.fixture
def household(home: Home) -> Household:
    return Household(home)


def test_a_strange_phone_sees_the_pairing_page_only(household: Household) -> None:
    phone = household.phone()
    assert phone.get("/").location == "/pair"
    assert phone.get("/pair").status_code == 200
    for path in ("/pantry", "/map/ground.json", "/ill", "/phones", "/work/x", "/photos/x"):
        assert phone.get(path).status_code == 403, path
    assert phone.post("/ground/wood", {}).status_code == 403


def test_the_code_lets_a_phone_in_and_not_its_neighbour(household: Household) -> None:
    phone = household.phone()
    shown = f"{household.code[:4].lower()} {household.code[4:]}"
    assert household.pair(phone, shown) == 303
    assert phone.get("/").status_code == 200
    assert phone.get("/pantry").status_code == 200
    assert household.phone().get("/pantry").status_code == 403


def test_a_paired_phone_may_not_let_others_in(household: Household) -> None:
    phone = household.phone()
    household.pair(phone, household.code)
    assert household.code not in phone.text("/phones")
    for path in ("/phones/new-code", "/phones/forget"):
        assert phone.send(path, {}, seen_on="/ground/wood").status_code == 403


def test_the_computer_shows_code_and_picture(household: Household) -> None:
    page = Browser(household.app).text("/phones")
    assert f"{household.code[:4]} {household.code[4:]}" in page
    assert "<svg" in page
    assert f"http://{LAN}:{PORT}/pair" in page


def test_wrong_codes_are_counted_for_each_address(household: Household) -> None:
    phone = household.phone()
    for _ in range(MOST_WRONG):
        assert household.pair(phone, "WRONGONE") == 403
    assert household.pair(phone, household.code) == 403
    assert household.pair(household.phone(51), household.code) == 303


def test_many_wrong_codes_close_the_door_until_a_new_code(household: Household) -> None:
    for number in range(MOST_WRONG_IN_ALL):
        household.pair(household.phone(60 + number), "WRONGONE")
    assert household.pair(household.phone(50), household.code) == 403
    computer = Browser(household.app)
    assert computer.send("/phones/new-code", {}, seen_on="/phones").status_code == 303
    assert household.pair(household.phone(50), household.pairing.code) == 303


def test_code_and_phone_end_in_time(household: Household) -> None:
    phone = household.phone()
    household.pair(phone, household.code)
    household.moment = NOON + CODE_LASTS + timedelta(seconds=1)
    assert household.pair(household.phone(51), household.code) == 403
    assert phone.get("/").status_code == 200
    household.moment = NOON + PHONE_LASTS + timedelta(seconds=1)
    assert phone.get("/pantry").status_code == 403


def test_all_phones_can_be_sent_away(household: Household) -> None:
    phone, computer = household.phone(), Browser(household.app)
    household.pair(phone, household.code)
    computer.send("/phones/forget", {}, seen_on="/phones")
    assert phone.get("/pantry").status_code == 403


def test_a_made_up_session_is_not_taken(household: Household) -> None:
    phone = household.phone()
    household.pair(phone, household.code)
    session = next(iter(household.pairing.phones))
    thief = household.phone(51)
    thief.headers["Cookie"] = f"underoak-{PORT}={session}.{'0' * 40}"
    assert thief.get("/pantry").status_code == 403


@pytest.mark.parametrize("header", ["X-Forwarded-For", "X-Real-Ip", "Forwarded"])
def test_nobody_becomes_this_computer_by_a_header(household: Household, header: str) -> None:
    phone = household.phone()
    phone.headers[header] = "127.0.0.1"
    assert phone.get("/pantry").status_code == 403


def test_the_session_cookie_is_strict(household: Household) -> None:
    cookie = household.phone().get("/pair").headers["Set-Cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=Strict" in cookie
