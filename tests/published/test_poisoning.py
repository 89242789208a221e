"""Harm classes and onset windows of the book against published ones."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest

from underoak.book.load import load_book
from underoak.model.book import Taxon

CASES = tomllib.loads(Path(__file__).with_name("poisoning.toml").read_text("utf-8"))
WINDOWS = {case["harm"]: case for case in CASES["onset"]}
WITH_ONSET = [t for t in load_book().taxa.values() if t.harm.onset_hours]


@pytest.mark.parametrize("taxon", WITH_ONSET, ids=lambda taxon: taxon.id)
def test_onset_lies_within_the_published_windows_of_its_classes(taxon: Taxon) -> None:
    known = [WINDOWS[c] for c in taxon.harm.classes if c in WINDOWS]
    assert known, f"no published window for {taxon.harm.classes}"
    assert taxon.harm.onset_hours is not None
    start, end = taxon.harm.onset_hours
    assert start >= min(case["low_h"] for case in known)
    assert end <= max(case["high_h"] for case in known)


@pytest.mark.parametrize("case", CASES["class"], ids=lambda case: case["harm"])
def test_harm_class_of_named_taxa(case: dict[str, Any]) -> None:
    for name in case["taxa"]:
        assert case["harm"] in load_book().taxa[name].harm.classes


def test_an_amatoxin_carrier_is_always_deadly_and_never_gathered() -> None:
    for taxon in load_book().taxa.values():
        if "amatoxin" in taxon.harm.classes:
            assert taxon.harm.danger == "deadly"
            assert taxon.never_gather


def test_every_coprine_kind_carries_the_published_alcohol_interval() -> None:
    for taxon in load_book().taxa.values():
        if CASES["alcohol"]["harm"] in taxon.harm.classes:
            days = [c.alcohol_days for c in taxon.cautions if c.kind == "alcohol" and c.alcohol_days]
            assert days, taxon.id
            assert max(days) >= CASES["alcohol"]["days"], taxon.id
