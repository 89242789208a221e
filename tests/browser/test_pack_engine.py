"""The page in Chromium and the program say the same of the same observations."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from tests.pack_finds import random_finds
from underoak.book.load import load_book
from underoak.model.plain import as_plain
from underoak.model.vetting import Observations, Verdict
from underoak.sheets.pack.engine_data import engine_data
from underoak.sheets.pack.page import json_in_script, script_text
from underoak.vetting.verdict import evaluate

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

pytestmark = pytest.mark.browser

#: Vet a list of documents in the page and hand back what the program's verdict is compared with.
VET = """documents => documents.map(find => {
  const { book, evaluate, doublesOf } = window.engine, v = evaluate(book, find);
  const open = one => doublesOf(book, one).filter(d => !d.excluded).map(d => d.taxon_id);
  return {
    state: v.state, target: v.target, reasons: v.reasons, bodies: v.bodies.map(b => b.state), words: v.words,
    open: v.cases.map(open), next: v.next, candidates: v.candidates.map(c => c.taxon_id),
  };
})"""
#: Makes the engine's functions reachable from outside the scripts.
OPEN = """window.engine = {
  book: bookOf(JSON.parse(document.getElementById("book").textContent)), evaluate, doublesOf };"""


@pytest.fixture(scope="module")
def engine(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Page]:
    """A bare page that holds nothing but the scripts of vetting and the book's tables."""
    folder: Path = tmp_path_factory.mktemp("engine")
    script = script_text("compare", "judge", "likely")
    (folder / "engine.html").write_text(
        "<!DOCTYPE html><meta charset=utf-8><title>engine</title>"
        f'<script type="application/json" id="book">{json_in_script(engine_data(load_book()))}</script>'
        f"<script>(() => {{ 'use strict'; {script}\n{OPEN} }})();</script>",
        "utf-8",
    )
    page = browser.new_page()
    page.goto((folder / "engine.html").as_uri())
    yield page
    page.close()


def _expected(verdict: Verdict) -> dict[str, Any]:
    named = verdict.target is not None
    return {
        "state": verdict.state,
        "target": verdict.target,
        "reasons": as_plain(verdict.reasons),
        "bodies": [b.state for b in verdict.bodies] if named else [],
        "open": [[d.taxon_id for d in b.doubles if not d.excluded] for b in verdict.bodies] if named else [],
        "next": [check.character for check in verdict.next_checks],
        "candidates": [c.taxon_id for c in verdict.candidates],
        "words": verdict.words,
    }


def _compare(engine: Page, documents: list[Observations]) -> Counter[str]:
    book = load_book()
    states: Counter[str] = Counter()
    for start in range(0, len(documents), 100):
        some = documents[start : start + 100]
        told = engine.evaluate(VET, [json.loads(d.model_dump_json()) for d in some])
        for document, answer in zip(some, told, strict=True):
            expected = _expected(evaluate(book, document))
            assert answer == expected, document.model_dump_json()
            states[expected["state"]] += 1
    return states


def test_page_and_program_agree(engine: Page) -> None:
    states = _compare(engine, list(random_finds(load_book(), 300, seed=11)))
    assert set(states) == {"refused", "open", "consistent"}, states


@pytest.mark.long
def test_page_and_program_agree_on_five_thousand(engine: Page) -> None:
    states = _compare(engine, list(random_finds(load_book(), 5000, seed=2026)))
    print(dict(states))  # noqa: T201 - the figures of a long run are wanted
    assert min(states[s] for s in ("refused", "open", "consistent")) > 100, states
