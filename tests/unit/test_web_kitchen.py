"""What is asked of the evening in the browser reaches the plan as it was meant."""

from __future__ import annotations

from datetime import date

import pytest
from flask import Flask

from tests.unit.web_client import PORT, Browser
from underoak.errors import BadData
from underoak.settings import Home
from underoak.web import kitchen
from underoak.web.app import create_app

TODAY = date(2026, 10, 3)


@pytest.fixture
def app(home: Home) -> Flask:
    return create_app(home, today=lambda: TODAY, port=PORT)


def test_who_eats_and_who_was_asked_about_alcohol_is_told_to_the_plan(app: Flask) -> None:
    asked = {"eater": ["Ada", "Ben"], "no_alcohol": ["Ben"]}
    with app.test_request_context("/kitchen/plan", method="POST", data=asked):
        question = kitchen._question()
    assert (question.eaters, question.no_alcohol) == (("Ada", "Ben"), ("Ben",))


def test_a_stranger_eats_with_nobody(app: Flask) -> None:
    with (
        app.test_request_context("/kitchen/plan", method="POST", data={"eater": "Zoe"}),
        pytest.raises(BadData, match="nobody of the household"),
    ):
        kitchen._question()


def test_the_form_asks_everybody(app: Flask) -> None:
    page = Browser(app).text("/kitchen")
    for person in ("Ada", "Ben", "Cleo"):
        assert page.count(f'value="{person}"') >= 2
