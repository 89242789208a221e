"""The few kinds of error a person can meet. One translator for the command line, one for the web."""

from __future__ import annotations

from collections.abc import Sequence

from underoak.model.problem import Problem


class UnderoakError(Exception):
    """Base of all errors that are told to a person in words."""

    exit_code = 1

    def __init__(self, what: str, *, where: str = "", expected: str = "", remedy: str = "") -> None:
        self.problem = Problem(what=what, where=where, expected=expected, remedy=remedy)
        super().__init__(self.problem.sentence())


class UserMistake(UnderoakError):
    """The command, option or answer cannot be meant as given."""

    exit_code = 2


class BadData(UnderoakError):
    """A file or document from outside has problems; all of them are carried."""

    exit_code = 3

    def __init__(self, problems: Sequence[Problem]) -> None:
        self.problems = tuple(problems)
        first = self.problems[0]
        super().__init__(first.what, where=first.where, expected=first.expected, remedy=first.remedy)


class NoAnswer(UnderoakError):
    """The question is fair, but cannot be answered from what is known; says why."""

    exit_code = 4
