"""Bad observation documents: every fault named at once, never a crash, never a pass."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.vetting_finds import body, document, notes
from underoak.book.load import load_book
from underoak.desk.vet_find import parse_observations, read_observations, schema, vet_document
from underoak.errors import BadData

HONEY = "desarmillaria_caespitosa"
SCHEMA = Path(__file__).parents[2] / "docs" / "observations.schema.json"


def faults_of(*bodies: dict[str, Any], target: str | None = HONEY, **changes: Any) -> list[str]:
    with pytest.raises(BadData) as error:
        vet_document(document(target, *bodies, **changes))
    return [problem.sentence() for problem in error.value.problems]


def test_the_published_schema_is_current() -> None:
    assert json.loads(SCHEMA.read_text("utf-8")) == schema()


def test_all_faults_are_told_at_once() -> None:
    odd = {
        "hymenium": {"look": "seen", "states": ["free"]},
        "shininess": {"look": "seen", "states": ["high"]},
        "cap_width_cm": {"look": "seen", "value": 900.0},
        "print_colour": {"look": "absent"},
        "ring": {"look": "seen", "states": ["absent"]},
        "cap_colour": {"look": "seen"},
        "smell": {"look": "cant_tell", "states": ["mild"]},
        "stem_width_mm": {"look": "seen", "states": ["thick"]},
        "gill_edge": {"look": "seen", "value": 3.0},
    }
    told = faults_of(body(odd), target="no such mushroom")
    assert len(told) >= 10
    assert any("free" in t and "gill_attachment" in t for t in told), "whose state it is should be said"
    assert any("shininess" in t for t in told)
    assert any("900" in t and "0.1 to 150" in t for t in told)
    assert any(t.startswith("target") for t in told)


@pytest.mark.parametrize("value", [float("nan"), float("inf"), -1.0, 1e9])
def test_numbers_out_of_range(value: float) -> None:
    text = json.dumps(
        {
            "format": "underoak observations 1",
            "target": HONEY,
            "bodies_in_lot": 1,
            "bodies": [body({"cap_width_cm": {"look": "seen", "value": value}})],
        }
    )
    with pytest.raises(BadData):
        vet_document(parse_observations(text, "test"))


def test_counts_that_cannot_be() -> None:
    assert faults_of(body({}, id="1"), body({}, id="1"))
    assert faults_of(body({}, stems=3))
    cluster = body({"ring": {"look": "absent", "stems": 9}}, kind="cluster", stems=4)
    assert faults_of(cluster)
    assert faults_of(body({}, id="1"), body({}, id="2"), bodies_in_lot=1)


def test_ten_thousand_observations_are_no_crash_and_no_pass() -> None:
    many = {f"character {n}": {"look": "seen", "states": ["yes"]} for n in range(10_000)}
    assert len(faults_of(body(many))) == 10_000


def test_five_hundred_bodies_are_vetted_and_one_more_is_refused_in_words() -> None:
    bodies = [body(notes(HONEY, sac=None), id=str(n)) for n in range(40)]
    assert vet_document(document(HONEY, *bodies)).state == "consistent"
    text = json.dumps(
        {
            "format": "underoak observations 1",
            "bodies_in_lot": 501,
            "bodies": [body({}, id=str(n)) for n in range(501)],
        }
    )
    with pytest.raises(BadData) as error:
        parse_observations(text, "test")
    assert "500" in error.value.problems[0].sentence()


@pytest.mark.parametrize(
    "text", ["", "[]", "{}", "null", "{", '{"format": "other"}', "[" * 100_000, '"\\ud800"', "12"]
)
def test_what_is_no_document(text: str, tmp_path: Path) -> None:
    file = tmp_path / "seen.json"
    file.write_text(text, "utf-8")
    with pytest.raises(BadData) as error:
        vet_document(read_observations(file))
    assert error.value.problems[0].what


@pytest.mark.parametrize("field", ["edible", "verdict", "confirmed_by"])
def test_nothing_can_be_smuggled_in(field: str) -> None:
    plain = {"format": "underoak observations 1", "bodies_in_lot": 1, "bodies": [body({})], field: "yes"}
    with pytest.raises(BadData):
        parse_observations(json.dumps(plain), "test")


def test_the_target_must_be_gathered_to_be_consistent() -> None:
    for taxon in load_book().taxa.values():
        if not taxon.gathered:
            answer = vet_document(document(taxon.id, body(notes(taxon.id))))
            assert answer.state == "refused", taxon.id
