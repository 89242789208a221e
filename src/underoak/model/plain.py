"""Records as plain JSON values: the one way every answer becomes a document."""

from __future__ import annotations

import dataclasses
import math
from datetime import date, datetime
from typing import Any


def as_plain(value: Any) -> Any:
    """Dictionaries, lists, text, numbers and None for any record, array, day or nesting of them.

    NaN and infinities become None, days and moments ISO text. Raises TypeError for anything else.
    """
    if value is None or isinstance(value, (bool, int, str)):
        return value
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, (date, datetime)):
        return value.isoformat()
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {f.name: as_plain(getattr(value, f.name)) for f in dataclasses.fields(value)}
    if isinstance(value, dict):
        return {str(k): as_plain(v) for k, v in value.items()}
    if isinstance(value, (list, tuple, set, frozenset)):
        items = sorted(value) if isinstance(value, (set, frozenset)) else value
        return [as_plain(v) for v in items]
    if hasattr(value, "model_dump"):
        return as_plain(value.model_dump())
    if hasattr(value, "tolist"):
        return as_plain(value.tolist())
    raise TypeError(f"cannot show a {type(value).__name__}")
