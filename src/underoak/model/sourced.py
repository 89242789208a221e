"""The base of every block of knowledge: where it comes from."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from underoak.model.strict import Strict


class Sourced(Strict):
    """Every block of knowledge says where it comes from.

    ``source`` is a key of ``book/sources.toml``; ``seen`` is false where the value is from memory.
    """

    source: Annotated[str, Field(min_length=1)]
    seen: bool = False
    note: str = ""
