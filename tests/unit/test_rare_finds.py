"""Chances of false finds by weighted finds, against plain counting of simulated ones."""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType

import numpy as np
import pytest
from scipy.stats import binomtest

from underoak.book.load import load_book
from underoak.vetting.matrix import compiled
from underoak.vetting.rare import false_chance
from underoak.vetting.simulate import ObserverError, Scene, finds, noted_shares
from underoak.vetting.trials import MOST_DEADLY, danger_trial

BOOK = load_book()
MATRIX = compiled(BOOK)
#: So many mistakes that plain counting meets false finds soon.
CARELESS = ObserverError(scale=1.5, hoped=0.9, missing=0.5)

#: The deadly pairs that are likeliest by ``python -m underoak.vetting.trials``.
LIKELIEST = [
    ("paxillus_involutus", "hydnum_group"),
    ("cortinarius_orellanus_group", "hydnum_group"),
    ("galerina_marginata", "coprinellus_micaceus"),
    ("galerina_marginata", "flammulina_velutipes_group"),
    ("paxillus_involutus", "boletus_edulis_group"),
    ("gyromitra_group", "sparassis_group"),
    ("hypomyces_hyalinus", "hypomyces_lactifluorum"),
    ("amanita_phalloides", "armillaria_mellea_group"),
]


@pytest.mark.parametrize(
    ("truth", "hoped"),
    [
        ("coprinopsis_atramentaria", "coprinellus_micaceus"),
        ("leccinum_group", "boletus_edulis_group"),
        ("laetiporus_on_conifer", "laetiporus_sulphureus"),
    ],
)
def test_weighted_finds_agree_with_counted_ones(truth: str, hoped: str) -> None:
    """Reference: an exact binomial test of the counted finds against the chance."""
    weighted = false_chance(BOOK, truth, hoped, number=1500, seed=4, observer=CARELESS)
    counted = danger_trial(BOOK, truth, hoped, number=12_000, seed=5, observer=CARELESS)
    assert counted.false_consistent > 20
    assert binomtest(counted.false_consistent, counted.finds, weighted.chance).pvalue > 0.001
    assert weighted.error < 0.1 * weighted.chance


def test_noted_shares_are_how_often_finds_show_each_state() -> None:
    rows = MATRIX.rows
    scene = Scene(
        BOOK,
        MATRIX,
        rows["galerina_marginata"],
        rows["desarmillaria_caespitosa"],
        ObserverError(missing=0.0),
        np.random.default_rng(6),
    )
    seen = finds(scene, 20_000)
    for name in ("ring", "print_colour", "cap_colour"):
        column = MATRIX.column(name)
        noted = seen.observed[:, column.span]
        counted = noted[noted.any(axis=1)].mean(axis=0)
        assert counted == pytest.approx(noted_shares(scene, MATRIX.positions[name]), abs=0.015)


@pytest.mark.parametrize(("truth", "hoped"), LIKELIEST)
def test_the_likeliest_deadly_pairs_stay_below_the_limit(truth: str, hoped: str) -> None:
    chance = false_chance(BOOK, truth, hoped, number=80, seed=7, observer=ObserverError())
    assert 0.0 < chance.chance < MOST_DEADLY


def test_a_name_that_requires_less_is_likelier_to_be_given_wrongly() -> None:
    truth, hoped = "paxillus_involutus", "hydnum_group"
    easy = BOOK.taxa[hoped].model_copy(update={"required": ("form", "hymenium", "print_colour")})
    laxer = replace(BOOK, taxa=MappingProxyType({**BOOK.taxa, hoped: easy}))
    strict, lax = (
        false_chance(book, truth, hoped, number=100, seed=8, observer=ObserverError())
        for book in (BOOK, laxer)
    )
    assert lax.chance > 10.0 * strict.chance
