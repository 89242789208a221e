"""What must hold for every find, whatever was seen and in whatever order."""

from __future__ import annotations

import random
from functools import cache

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from underoak.book.load import Book, load_book
from underoak.model.vetting import STATES, Observation, Observations, Verdict
from underoak.vetting.batch import stand
from underoak.vetting.case import case, noted
from underoak.vetting.characters import each_stem, seen
from underoak.vetting.matrix import compiled
from underoak.vetting.simulate import FLAWLESS, ObserverError, Scene, as_document, finds
from underoak.vetting.trials import without
from underoak.vetting.verdict import evaluate

BOOK = load_book()
MATRIX = compiled(BOOK)
GATHERED = [t.id for t in BOOK.taxa.values() if t.gathered]
FEW = settings(max_examples=25, deadline=None, derandomize=True)
SLOPPY = ObserverError(missing=0.15)


@st.composite
def documents(draw: st.DrawFn) -> Observations:
    """Finds of any taxon noted under any gathered name, flawless or sloppy."""
    target = draw(st.sampled_from(GATHERED))
    truth = draw(st.one_of(st.just(target), st.sampled_from(list(BOOK.taxa))))
    observer = draw(st.sampled_from([FLAWLESS, SLOPPY]))
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    scene = Scene(BOOK, MATRIX, MATRIX.rows[truth], MATRIX.rows[target], observer, rng)
    return as_document(MATRIX, finds(scene, 1), 0, target)


@st.composite
def good_documents(draw: st.DrawFn) -> Observations:
    """Flawless finds of a gathered taxon that are consistent."""
    target = draw(st.sampled_from(GATHERED))
    for seed in range(draw(st.integers(0, 2**31)), 2**32):
        row = MATRIX.rows[target]
        found = finds(Scene(BOOK, MATRIX, row, row, FLAWLESS, np.random.default_rng(seed)), 1)
        document = as_document(MATRIX, found, 0, target)
        if evaluate(BOOK, document).state == "consistent":
            return document
    raise AssertionError("no find of a gathered taxon is ever consistent")


def with_observations(document: Observations, changed: dict[str, Observation]) -> Observations:
    body = document.bodies[0].model_copy(update={"observations": changed})
    return document.model_copy(update={"bodies": (body,)})


def noted_of(document: Observations) -> dict[str, Observation]:
    return dict(document.bodies[0].observations)


def rank(verdict: Verdict) -> int:
    return STATES.index(verdict.state)


def against(document: Observations) -> set[str]:
    """Characters that speak against the target or are doubtful for it, or clash with another."""
    target = BOOK.find(document.target or "")
    under = case(BOOK, noted(BOOK, document.bodies), target)
    odd = under.fit.mismatch[0] | under.fit.doubtful[0]
    named = {MATRIX.characters[int(c)] for c in np.flatnonzero(odd)}
    held = {"contradiction", "never_gather"}
    reasons = evaluate(BOOK, document).reasons
    return named | {c for r in reasons if r.kind in held for c in r.characters}


@FEW
@given(documents(), st.randoms(use_true_random=False))
def test_removing_what_does_not_speak_against_the_name_never_improves(
    document: Observations, chance: random.Random
) -> None:
    before = rank(evaluate(BOOK, document))
    spared = against(document)
    # A parent of a character is left too: without it a senseless observation would lose its sense.
    for name in chance.sample(sorted(noted_of(document)), min(5, len(noted_of(document)))):
        if name not in spared:
            left = {n: o for n, o in noted_of(document).items() if n != name}
            assert rank(evaluate(BOOK, with_observations(document, left))) <= before


@FEW
@given(documents(), st.randoms(use_true_random=False))
def test_with_the_older_document_at_hand_removing_anything_never_improves(
    document: Observations, chance: random.Random
) -> None:
    before = rank(evaluate(BOOK, document))
    kept = {n: o for n, o in noted_of(document).items() if chance.random() < 0.7}
    after = evaluate(BOOK, with_observations(document, kept), [document])
    assert rank(after) <= before


@FEW
@given(documents(), st.sampled_from(["not_looked", "cant_tell"]), st.randoms(use_true_random=False))
def test_unknown_is_never_absent(document: Observations, look: str, chance: random.Random) -> None:
    """Blanks and both unknown looks are one and the same to the engine, and exclude nothing."""
    names = chance.sample(sorted(noted_of(document)), min(6, len(noted_of(document))))
    blank = {n: o for n, o in noted_of(document).items() if n not in names}
    unknown = {**blank, **{n: Observation.model_validate({"look": look}) for n in names}}
    one = noted(BOOK, with_observations(document, blank).bodies)
    two = noted(BOOK, with_observations(document, unknown).bodies)
    assert (one.exclusions.by == two.exclusions.by).all()
    assert (
        evaluate(BOOK, with_observations(document, blank)).state
        == evaluate(BOOK, with_observations(document, unknown)).state
    )


@FEW
@given(documents(), st.randoms(use_true_random=False))
def test_the_order_of_observations_never_matters(document: Observations, chance: random.Random) -> None:
    shuffled = list(noted_of(document).items())
    chance.shuffle(shuffled)
    assert evaluate(BOOK, document) == evaluate(BOOK, with_observations(document, dict(shuffled)))


@FEW
@given(documents(), st.sampled_from(["galerina_marginata", "amanita_bisporigera", "omphalotus_illudens"]))
def test_adding_a_danger_never_improves(document: Observations, danger: str) -> None:
    poorer = _without(danger)
    assert rank(evaluate(BOOK, document)) <= rank(evaluate(poorer, document))


@cache
def _without(taxon_id: str) -> Book:
    return without(BOOK, taxon_id)


@FEW
@given(good_documents(), st.randoms(use_true_random=False))
def test_flipping_any_required_observation_takes_consistent_away(
    document: Observations, chance: random.Random
) -> None:
    """A required character is turned into a state that the name never shows."""
    target = BOOK.find(document.target or "")
    for name in chance.sample([n for n in target.required if n in noted_of(document)], 3):
        flipped = chance.choice(_foreign(target.id, name))
        changed = with_observations(document, {**noted_of(document), name: flipped})
        assert evaluate(BOOK, changed).state != "consistent", (name, flipped)


def _foreign(target: str, name: str) -> list[Observation]:
    look = BOOK.taxa[target].look
    if name in look.measures:
        low, high = BOOK.characters[name].limits or (0.0, 0.0)
        smallest, largest = look.measures[name][0] * 0.9, look.measures[name][3] * 1.1
        values = [v for v in (smallest, largest) if low <= v <= high]
        return [Observation(look="seen", value=v) for v in values]
    foreign = [s for s in BOOK.characters[name].states if look.states[name].get(s, "never") == "never"]
    return [
        Observation(look="absent") if s == "absent" else Observation(look="seen", states=(s,))
        for s in foreign
    ]


@FEW
@given(good_documents(), st.sampled_from([t.id for t in BOOK.taxa.values() if t.dangerous]))
def test_a_lot_with_one_failed_body_fails(document: Observations, danger: str) -> None:
    """The strange body is noted truly; it is refused or open, and so is the lot."""
    row = MATRIX.rows[danger]
    scene = Scene(BOOK, MATRIX, row, row, FLAWLESS, np.random.default_rng(7))
    strange = as_document(MATRIX, finds(scene, 1), 0, document.target).bodies[0]
    both = (document.bodies[0], strange.model_copy(update={"id": "2"}))
    lot = document.model_copy(update={"bodies": both, "bodies_in_lot": 2})
    alone = document.model_copy(update={"bodies": (strange,)})
    assert evaluate(BOOK, alone).state != "consistent"
    assert rank(evaluate(BOOK, lot)) <= rank(evaluate(BOOK, alone))


@FEW
@given(documents())
def test_many_at_once_say_what_one_by_one_says(document: Observations) -> None:
    target = BOOK.find(document.target or "")
    arrays = seen(MATRIX, document.bodies, each_stem(BOOK))
    standing = stand(BOOK, MATRIX, target.id, arrays)
    assert bool(standing.consistent[0]) == (evaluate(BOOK, document).state == "consistent")


@FEW
@given(documents())
def test_no_verdict_says_safe_or_edible(document: Observations) -> None:
    verdict = evaluate(BOOK, document)
    texts = [verdict.words, *(r.words for r in verdict.reasons), *verdict.cautions, verdict.reviewed]
    assert not any(word in text.casefold() for text in texts for word in ("safe", "edible"))
