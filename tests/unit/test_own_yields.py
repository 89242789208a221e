"""What was weighed moves the amounts of the next plan, and the book's own value stays in sight."""

from __future__ import annotations

from datetime import datetime, time

import pytest

from tests.unit.kitchen_home import DAY, with_finds
from underoak.book.load import load_book
from underoak.book.methods import load_methods
from underoak.desk.own_yields import made_yields, with_own_yields
from underoak.desk.put_up_haul import EveningPlan, HaulQuestion, put_up_haul
from underoak.desk.record_batch import BatchNote, record_batches
from underoak.desk.review_finds import book_yield
from underoak.kitchen.yields import amounts
from underoak.ledger.database import open_ledger
from underoak.settings import Home

HEN = "grifola_frondosa"


@pytest.fixture(name="larder")
def _larder(home: Home) -> Home:
    return with_finds(home, [("f1", HEN, 6000.0, "confirmed")])


def weighed(home: Home, *grams: float) -> None:
    """A batch of 500 g of hens dried for each product weight."""
    for product in grams:
        note = BatchNote(method="dry", lots=[("lot-f1", 500.0)], units=(1, product))
        record_batches(home, note, day=DAY)


def planned(home: Home) -> EveningPlan:
    """The evening, drying liked best, by the quick rule."""
    evening = datetime.combine(DAY, time(17))
    liking = {method: 0.0 for method in load_methods() if method != "dry"}
    return put_up_haul(home, HaulQuestion(DAY, evening, liking=liking, seconds=0.0, write=False))


def test_the_plan_counts_with_book_and_own_batches_together(larder: Home) -> None:
    book, methods = load_book(), load_methods()
    before = planned(larder)
    assert not any("weighed batch" in words for words in before.notes)
    weighed(larder, 25.0, 26.0, 24.0, 25.0, 25.0, 26.0)  # about 50 g from 1 kg, far less than the book
    connection = open_ledger(larder.ledger)
    (made,), booked = made_yields(connection, book, methods, DAY)
    connection.close()
    assert (made.batches, booked) == (6, 0)
    assert made.book == book_yield(book, methods["dry"], HEN)
    assert made.joined[0] < made.book[0]
    moved = with_own_yields(methods, book, [made])["dry"]
    share = book.taxa[HEN].kitchen.cleaned_share  # type: ignore[union-attr]
    assert amounts(moved, 1000.0, taxon_id=HEN, cleaned_share=share).product_g == pytest.approx(made.joined)
    after = planned(larder)
    (words,) = [note for note in after.notes if "weighed batch" in note]
    assert f"the book alone says {made.book[0]:.0f} to {made.book[1]:.0f} g" in words
    assert f"{made.joined[0]:.0f} to {made.joined[1]:.0f} g from 1 kg" in words
    for plan, (low, _) in ((before, made.book), (after, made.joined)):
        for product in plan.products:
            assert product.product_g[0] == pytest.approx(product.fresh_g * low / 1000.0, rel=1e-6)


def test_only_amounts_of_product_move(larder: Home) -> None:
    """Times, temperatures, what goes in and use-by days are the book's."""
    book, methods = load_book(), load_methods()
    weighed(larder, 25.0)
    connection = open_ledger(larder.ledger)
    made, _ = made_yields(connection, book, methods, DAY)
    connection.close()
    moved = with_own_yields(methods, book, made)
    assert [name for name in methods if moved[name] != methods[name]] == ["dry"]
    assert moved["dry"].model_copy(update={"yields": methods["dry"].yields}) == methods["dry"]
    assert load_methods()["dry"].yields == methods["dry"].yields  # the book itself is as it was
