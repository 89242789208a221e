"""Typst templates become PDF pages, the same bytes for the same content."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import UTC, datetime
from importlib import resources
from typing import Any

from underoak.errors import UserMistake
from underoak.model.plain import as_plain

#: Papers a household prints on.
PAPERS = ("a4", "us-letter")

#: Written into every PDF instead of the clock, so that equal content gives equal bytes.
_STAMP = datetime(2000, 1, 1, tzinfo=UTC)


def checked_paper(paper: str) -> str:
    """``paper`` itself, or UserMistake when no template knows it."""
    if paper not in PAPERS:
        raise UserMistake(f"there is no paper {paper!r}", where="paper", expected=" or ".join(PAPERS))
    return paper


def compile_typst(template_name: str, data: Mapping[str, Any]) -> bytes:
    """PDF of one template of ``sheets/typst`` filled with ``data``.

    The same name and data give the same bytes on every machine with the same typst version: only the
    fonts inside typst are used, no clock is read and no file outside ``sheets/typst``.

    Parameters
    ----------
    template_name : name of a file in ``sheets/typst`` without ``.typ``
    data : anything `as_plain` can show
        The template reads it as ``json(bytes(sys.inputs.data))``. ``data["paper"]`` is one of `PAPERS`
        ("a4" where it is missing). A picture goes in as SVG text: ``image(bytes(data.picture))``.

    Raises
    ------
    UserMistake   for another paper
    FileNotFoundError, typst.TypstError   for a missing or faulty template: a bug, not the person's mistake
    """
    with _compiler(template_name, data) as compiler:
        pdf = compiler.compile(format="pdf", timestamp=_STAMP)
    if not isinstance(pdf, bytes):
        raise TypeError(f"typst gave {type(pdf).__name__} for {template_name}, not one document")
    return pdf


def query_typst(template_name: str, data: Mapping[str, Any], mark: str) -> list[Any]:
    """What a template says of its own layout: the values of its ``#metadata(value) <mark>``, in order.

    Parameters and errors are those of `compile_typst`.
    """
    with _compiler(template_name, data) as compiler:
        return [one["value"] for one in json.loads(compiler.query(f"<{mark}>"))]


@contextmanager
def _compiler(template_name: str, data: Mapping[str, Any]) -> Iterator[Any]:
    """The compiler of one filled template, which sees nothing but ``sheets/typst``."""
    import typst

    document = dict(data)
    document["paper"] = checked_paper(document.get("paper", "a4"))
    with resources.as_file(resources.files("underoak.sheets") / "typst") as folder:
        yield typst.Compiler(
            (folder / f"{template_name}.typ").read_bytes(),
            root=folder,
            ignore_system_fonts=True,
            sys_inputs={"data": json.dumps(as_plain(document), ensure_ascii=False, sort_keys=True)},
        )
