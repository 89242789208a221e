"""Small drawings of the states of structural characters, our own, drawn in the colour of the text."""

from __future__ import annotations

import functools
import re
from collections.abc import Mapping
from importlib import resources
from types import MappingProxyType

_SYMBOL = re.compile(r'<symbol id="(\w+)" viewBox="([^"]+)">(.*?)</symbol>', re.DOTALL)


@functools.cache
def drawings(name: str) -> Mapping[str, str]:
    """State -> one standalone SVG text, for a character whose ``drawing`` is ``name``; empty if unknown."""
    file = resources.files("underoak.book") / "drawings" / f"{name}.svg"
    if not name or not file.is_file():
        return MappingProxyType({})
    return MappingProxyType(
        {
            state: f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{box}" aria-hidden="true">{body}</svg>'
            for state, box, body in _SYMBOL.findall(file.read_text("utf-8"))
        }
    )
