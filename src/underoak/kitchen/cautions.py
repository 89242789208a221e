"""The cautions that travel with a product to its jar, as keys of the wording and words of the book."""

from __future__ import annotations

from underoak.model.book import Taxon
from underoak.model.method import Method


def travelling(
    method: Method, taxon: Taxon | None, *, known: bool, alcohol: str, against_advice: tuple[str, ...] = ()
) -> tuple[str, ...]:
    """Sentences for the jar: the book's on the kind first, then the method's own.

    ``alcohol`` is the wording's sentence with a place for the days. ``known`` says whether everybody at the
    table has had this kind before; where not, the book's cautions on first meals come too. Alcohol intervals
    and what is poisonous raw always come.

    **Fails towards** more sentences: of an unknown kind all of the book's come.
    """
    words: list[str] = [f"AGAINST ADVICE: {why}" for why in against_advice]
    for caution in taxon.cautions if taxon else ():
        if caution.kind == "handling" or (caution.kind == "first_meal" and known):
            continue
        words.append(caution.words)
        if caution.alcohol_days:
            words.append(alcohol.format(days=caution.alcohol_days))
    words += method.cautions
    return tuple(dict.fromkeys(words))
