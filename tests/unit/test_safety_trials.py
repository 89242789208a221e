"""The safety trials in a smaller size; ``python -m underoak.vetting.trials`` runs the full one."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import beta

from underoak.book.load import load_book
from underoak.vetting.guidance import fixed_checks, guided_checks
from underoak.vetting.matrix import compiled
from underoak.vetting.simulate import FLAWLESS, ObserverError, Scene, as_document, finds
from underoak.vetting.trials import (
    confused_pairs,
    danger_trial,
    left_out_trial,
    main,
    upper_bound,
    usefulness,
)
from underoak.vetting.verdict import evaluate

BOOK = load_book()
MATRIX = compiled(BOOK)
GATHERED = [t.id for t in BOOK.taxa.values() if t.gathered]
DEADLY = [p for p in confused_pairs(BOOK, MATRIX) if BOOK.taxa[p[0]].harm.danger == "deadly"]


@pytest.mark.parametrize(
    ("events", "trials", "printed"), [(0, 30, 0.095), (0, 100, 0.0295), (0, 300, 0.0099), (0, 3000, 0.0010)]
)
def test_upper_bound_of_no_events(events: int, trials: int, printed: float) -> None:
    """Rule of three: Eypasch et al. 1995, BMJ 311, 619 (seen in the research notes)."""
    assert upper_bound(events, trials) == pytest.approx(printed, abs=6e-5)


def test_upper_bound_with_events_leaves_the_stated_tail() -> None:
    """Reference: the definition, P(at most k events) = 5 %, by scipy."""
    from scipy.stats import binom

    for events in (1, 3, 10):
        assert binom.cdf(events, 300, upper_bound(events, 300)) == pytest.approx(0.05)
    assert upper_bound(0, 50) == pytest.approx(float(beta.ppf(0.95, 1, 50)))
    assert upper_bound(5, 5) == 1.0


def test_every_deadly_double_of_a_gathered_kind_is_on_trial() -> None:
    assert {"galerina_marginata", "amanita_bisporigera", "amanita_phalloides"} <= {t for t, _ in DEADLY}
    assert len(DEADLY) == len(GATHERED) * sum(t.harm.danger == "deadly" for t in BOOK.taxa.values())


@pytest.mark.parametrize("truth", sorted({truth for truth, _ in DEADLY}))
def test_no_deadly_find_is_called_by_a_gathered_name(truth: str) -> None:
    for pair in DEADLY:
        if pair[0] == truth:
            trial = danger_trial(BOOK, *pair, number=100, seed=11, observer=ObserverError())
            assert trial.false_consistent == 0, pair


@pytest.mark.long
def test_a_wishful_observer_is_caught_as_well() -> None:
    """All wrong notes are wishful and nothing else is noted but what the hoped name requires."""
    harsh = ObserverError(hoped=1.0, missing=1.0)
    worst = [
        danger_trial(BOOK, truth, hoped, number=400, seed=12, observer=harsh)
        for truth, hoped in DEADLY
        if truth == "galerina_marginata"
    ]
    assert sum(t.false_consistent for t in worst) == 0


def test_what_was_left_out_of_the_book_never_passes_when_deadly() -> None:
    for taxon in ("galerina_marginata", "amanita_bisporigera", "lepiota_brunneoincarnata_group"):
        assert left_out_trial(BOOK, taxon, number=100, seed=13).consistent == 0


@pytest.mark.parametrize("taxon", GATHERED)
def test_complete_and_correct_finds_reach_consistent(taxon: str) -> None:
    """At least 95 % of the very finds that the full trial counts."""
    assert usefulness(BOOK, taxon).share >= 0.95


def test_advice_needs_at_most_three_fifths_of_a_fixed_order() -> None:
    guided = fixed = 0
    for taxon in GATHERED[::2]:
        row = MATRIX.rows[taxon]
        seen = finds(Scene(BOOK, MATRIX, row, row, FLAWLESS, np.random.default_rng(9)), 1)
        document = as_document(MATRIX, seen, 0, taxon)
        if evaluate(BOOK, document).state == "consistent":
            by_advice, by_order = guided_checks(BOOK, document), fixed_checks(BOOK, document)
            assert by_advice is not None
            assert by_order is not None
            guided, fixed = guided + by_advice, fixed + by_order
    assert guided <= 0.6 * fixed


def test_the_simulated_observer_errs_as_often_as_stated() -> None:
    """Print colour of a galerina: 20 % wrong, half of it wishful, so about a tenth is noted white."""
    rows = MATRIX.rows
    rng = np.random.default_rng(2)
    observer = ObserverError(missing=0.0, lost=0.0)
    scene = Scene(BOOK, MATRIX, rows["galerina_marginata"], rows["desarmillaria_caespitosa"], observer, rng)
    seen = finds(scene, 20_000)
    column = MATRIX.column("print_colour")
    noted = seen.observed[:, column.span]
    told = noted.any(axis=1)
    brown = [column.states.index(s) for s in ("rusty", "clay", "ochre")]
    wrong = 1.0 - noted[told][:, brown].any(axis=1).mean()
    white = noted[told][:, column.states.index("white")].mean()
    assert wrong == pytest.approx(0.19, abs=0.02)
    assert white == pytest.approx(0.11, abs=0.02)


def test_the_same_seed_gives_the_same_trial() -> None:
    one, two = (
        danger_trial(
            BOOK, "omphalotus_illudens", "pleurotus_dryinus", number=500, seed=3, observer=ObserverError()
        )
        for _ in range(2)
    )
    assert one == two


def test_the_command_prints_its_tables(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--finds", "10", "--only", "galerina_marginata", "--only", "lepista_personata"]) == 0
    printed = capsys.readouterr().out
    for head in ("1. Dangerous finds", "2. Finds of a kind", "3. Complete and correct", "4. How likely"):
        assert head in printed
    assert main(["--finds", "10", "--only", "galerina_marginata", "--deadly"]) == 0
    assert "2. Finds of a kind" not in capsys.readouterr().out
