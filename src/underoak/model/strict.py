"""Documents from outside become strict records, with every fault at once."""

from __future__ import annotations

import json
from typing import Any, TypeVar

from pydantic import BaseModel, ConfigDict, ValidationError

from underoak.model.problem import Problem


class Strict(BaseModel):
    """Base of every record that is read from outside: nothing is coerced, nothing extra passes."""

    model_config = ConfigDict(strict=True, frozen=True, extra="forbid")


M = TypeVar("M", bound=BaseModel)


def validate_document(kind: type[M], document: Any, where: str) -> tuple[M | None, tuple[Problem, ...]]:
    """The record, or None with one problem per fault, each naming file and field.

    ``document`` is what a TOML or JSON reader gave: lists stand for tuples, days may be date objects.
    """
    try:
        text = json.dumps(document, default=str)
    except (RecursionError, ValueError):
        return None, (Problem("the document is nested too deeply", where, "a plain document"),)
    try:
        return kind.model_validate_json(text, strict=True), ()
    except ValidationError as error:
        return None, tuple(
            Problem(
                what=str(fault["msg"]).removeprefix("Value error, "),
                where=f"{where}, {'.'.join(str(part) for part in fault['loc']) or 'document'}",
                expected="" if fault["type"] != "extra_forbidden" else "no such field; check the spelling",
            )
            for fault in error.errors()
        )
