"""Kinds that act with alcohol come on the table only when every eater was asked."""

from __future__ import annotations

import pytest

from underoak.book.load import load_book
from underoak.kitchen.cautions import alcohol_not_settled, coprine_days

BOOK = load_book()
COPRINE = [taxon for taxon in BOOK.taxa.values() if "coprine" in taxon.harm.classes]


def test_the_book_holds_kinds_that_act_with_alcohol() -> None:
    """Five days either side: the longest interval of the published ones (check value L1, coprine)."""
    assert {taxon.id for taxon in COPRINE} >= {"coprinopsis_atramentaria", "coprinellus_micaceus"}
    assert {coprine_days(taxon) for taxon in COPRINE} == {5.0}


@pytest.mark.parametrize("taxon", COPRINE, ids=lambda taxon: taxon.id)
def test_each_eater_has_to_be_asked(taxon: object) -> None:
    kind = BOOK.taxa[taxon.id]  # type: ignore[attr-defined]
    assert "Ben" in (alcohol_not_settled(kind, ("Ada", "Ben"), {"Ada"}) or "")
    assert alcohol_not_settled(kind, ("Ada", "Ben"), {"Ada", "Ben"}) is None
    assert alcohol_not_settled(kind, (), ()) is not None


def test_other_kinds_ask_nothing() -> None:
    assert coprine_days(BOOK.taxa["grifola_frondosa"]) is None
    assert alcohol_not_settled(BOOK.taxa["grifola_frondosa"], ("Ada",), ()) is None
