"""The questions on a terminal: every answer offered, nothing filled in beforehand."""

from __future__ import annotations

import json

import click
from click.testing import CliRunner

from underoak.cli.vet_talk import ask
from underoak.model.strict import validate_document
from underoak.model.vetting import Observations


@click.command()
def talk() -> None:
    """Put the questions and print the document they make."""
    click.echo("DOCUMENT" + ask(None).model_dump_json())


def told(*answers: str) -> tuple[Observations, str]:
    result = CliRunner().invoke(talk, input="\n".join(answers) + "\n")
    assert result.exit_code == 0, result.output
    talked, text = result.output.split("DOCUMENT")
    record, problems = validate_document(Observations, json.loads(text), "talk")
    assert record is not None, problems
    return record, talked


SOUND = ("n", "n", "n", "n")
GROUND = ("n", "s", "n")


def test_answers_become_the_document() -> None:
    document, talked = told("hen of the woods", "1", *GROUND, "3", *SOUND, "3", "3", "t", "n", "q")
    assert document.target == "grifola_frondosa"
    assert document.ground.roadside == "not_looked"
    noted = document.bodies[0].observations
    assert noted["form"].states == ("rosette",)
    assert noted["hymenium"].states == ("pores",)
    assert noted["growth"].look == "cant_tell"
    assert noted["substrate"].look == "not_looked"
    assert "not looked" in talked
    assert "can't tell" in talked


def test_an_unknown_name_and_a_wrong_answer_are_asked_again() -> None:
    document, talked = told("unheard of", "", "1", *GROUND, "3", *SOUND, "99", "x", "1,2", "q")
    assert document.target is None
    assert document.bodies[0].observations["form"].states == ("cap_and_stem", "shelf")
    assert talked.count("not among those offered") == 2
    assert "is not in the book" in talked


def test_the_question_after_the_first_ones_follows_the_danger() -> None:
    answers = ("ringless honey mushroom", "1", *GROUND, "3", *SOUND, "1", "1", "5", "3", "n", "q")
    asked = list(told(*answers)[0].bodies[0].observations)
    assert set(asked[:4]) == {"form", "hymenium", "growth", "substrate"}
    assert len(asked) == 5


def test_a_cluster_is_asked_stem_by_stem() -> None:
    document, _ = told("ringless honey mushroom", "12", *GROUND, "y", "12", "3", *SOUND, "1", "1", "12", "q")
    body = document.bodies[0]
    assert (body.kind, body.stems) == ("cluster", 12)
    assert body.observations["hymenium"].stems == 12
