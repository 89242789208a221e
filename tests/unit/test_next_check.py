"""What to look at next: most danger removed for each minute, and nothing twice."""

from __future__ import annotations

import numpy as np
import pytest

from tests.vetting_finds import body, document, find_of, notes
from underoak.book.load import load_book
from underoak.model.vetting import NextCheck
from underoak.vetting.case import Case, case, noted
from underoak.vetting.likelihood import fit_score, log_prior, posterior, shares, smoothed
from underoak.vetting.next_check import information_gain, information_value, next_checks
from underoak.vetting.verdict import evaluate

BOOK = load_book()
HONEY = "desarmillaria_caespitosa"


def standing(*names: str, target: str = HONEY) -> tuple[Case, np.ndarray]:
    """A honey mushroom of which only some characters were noted."""
    some = {n: o for n, o in notes(target).items() if n in names}
    find = noted(BOOK, document(target, body(some)).bodies)
    share = shares(find.matrix, find.seen, log_prior(BOOK, find.matrix, None))
    return case(BOOK, find, BOOK.taxa[target]), share


def checks(*names: str, at_home: bool = False, most: int = 60) -> tuple[NextCheck, ...]:
    under, share = standing(*names)
    return next_checks(under, 0, share, at_home=at_home, most=most)


def test_what_was_noted_is_not_asked_again() -> None:
    names = ("form", "hymenium", "cap_colour", "ring")
    assert not {c.character for c in checks(*names)} & set(names)


def test_only_what_can_be_done_at_home() -> None:
    at_home = checks("form", "hymenium", at_home=True)
    assert at_home
    assert all(c.at_home for c in at_home)
    assert "sac" not in {c.character for c in at_home}


def test_what_can_settle_more_danger_at_the_same_cost_comes_first() -> None:
    order = checks("form", "hymenium")
    cheap = [c for c in order if c.minutes == order[0].minutes]
    assert order[0].danger_weight > 0.0
    assert order[0].danger_weight >= max(c.danger_weight for c in cheap) * 0.4


def test_a_print_is_advised_once_nothing_cheaper_is_left() -> None:
    done = [name for name in notes(HONEY) if name != "print_colour"]
    left = checks(*done)
    assert left[0].character == "print_colour"
    assert "galerina_marginata" in left[0].settles


def test_nothing_is_advised_for_a_consistent_find_that_needs_nothing() -> None:
    under, _ = standing(*notes(HONEY))
    assert not ((under.rules.groups > 0) & ~under.done[0]).any()


def test_information_value_is_never_negative() -> None:
    under, share = standing("form", "hymenium")
    for position in range(len(under.matrix.characters)):
        assert information_value(under.matrix, under.rules, share[0], position) >= -1e-9


def test_information_gain_of_a_worked_case() -> None:
    """Quinlan 1986, Machine Learning 1, 81-106 (from memory): outlook gains 0.247 bit over 9 yes, 5 no."""
    prior = np.array([9.0, 5.0]) / 14.0
    outlook = np.array([[2.0, 4.0, 3.0], [3.0, 0.0, 2.0]])
    gain = information_gain(prior, outlook / outlook.sum(axis=1, keepdims=True))
    assert gain / np.log(2.0) == pytest.approx(0.247, abs=5e-4)


def test_posterior_of_a_worked_case() -> None:
    """Two classes, one character; Bayes' rule by hand: 0.5 * 0.8 / (0.5 * 0.8 + 0.5 * 0.2) = 0.8."""
    tables = smoothed(np.array([[8.0, 2.0], [2.0, 8.0]]), 0.0)
    shares_ = posterior(np.log([0.5, 0.5]), np.log(tables[:, :1]).T)
    np.testing.assert_allclose(shares_, [[0.8, 0.2]])


def test_nothing_noted_keeps_the_prior() -> None:
    under, share = standing()
    np.testing.assert_allclose(share[0], np.exp(log_prior(BOOK, under.matrix, None)))


def test_an_odd_find_has_a_low_fit() -> None:
    def score(**changes: str) -> float:
        find = noted(BOOK, find_of(HONEY, **changes).bodies)
        under = case(BOOK, find, BOOK.taxa[HONEY])
        return float(fit_score(find.matrix, find.seen, under.rules.target, under.fit)[0])

    plain = score()
    odd = score(cap_colour="violet", smell="foul")
    odder = score(cap_colour="violet", smell="foul", stem_surface="net", flesh_texture="corky")
    assert plain > odd > odder


@pytest.mark.parametrize("target", sorted(t.id for t in BOOK.taxa.values() if t.gathered))
def test_following_the_advice_settles_what_a_complete_look_settles(target: str) -> None:
    """No find is left open with nothing more to look at while there is something that would settle it."""
    complete = notes(target)
    assert evaluate(BOOK, document(target, body(complete))).state == "consistent"
    told: dict[str, object] = {}
    while (verdict := evaluate(BOOK, document(target, body(told)))).state == "open":
        wanted = [c.character for c in verdict.next_checks if c.character not in told]
        assert wanted, [reason.words for reason in verdict.reasons]
        told[wanted[0]] = complete.get(wanted[0], {"look": "not_looked"})
    assert verdict.state == "consistent"
