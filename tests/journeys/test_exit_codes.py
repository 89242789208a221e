"""Exit codes: 0 done, 2 the person's mistake, 3 bad data, 4 no answer, 1 a bug."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from tests.journeys.command import underoak
from underoak.cli import main as command_line
from underoak.settings import Home


@pytest.mark.parametrize(
    ("arguments", "code", "words"),
    [
        (["--version"], 0, ""),
        (["week", "--no-such-option"], 2, "No such option"),
        (["nothing-of-the-kind"], 2, "No such command"),
        (["week", "--today", "03.10.2026"], 2, "YYYY-MM-DD"),
        (["week", "--home", "nowhere-at-all"], 2, "is no home"),
        (["book", "no such mushroom"], 2, "no such mushroom"),
    ],
)
def test_mistakes_are_told_and_give_two(arguments: list[str], code: int, words: str) -> None:
    answer = underoak(*arguments)
    assert answer.code == code
    assert words in answer.err
    assert "Traceback" not in answer.err


def test_a_bad_file_gives_three(home: Home, tmp_path: Path) -> None:
    (tmp_path / "empty.csv").touch()
    assert underoak("load", "weather", tmp_path / "empty.csv", home=home.folder).code == 3


def test_a_fair_question_without_an_answer_gives_four(home: Home) -> None:
    answer = underoak("week", "--today", "2026-10-03", home=home.folder)
    assert answer.code == 4
    assert "no place is known" in answer.err
    assert underoak("review", "--today", "2026-10-03", home=home.folder).code == 4


def test_a_bug_gives_one_and_says_so(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def broken(**_: object) -> None:
        raise ZeroDivisionError("made for this test")

    monkeypatch.setattr(command_line.underoak, "main", broken)
    monkeypatch.setattr(sys, "argv", ["underoak"])
    with pytest.raises(SystemExit) as left:
        command_line.run()
    assert left.value.code == 1
    assert "a bug in underoak" in capsys.readouterr().err
