"""The cautions that travel with a product to its jar, as keys of the wording and words of the book."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable

from underoak.model.book import Taxon
from underoak.model.method import Method


def travelling(
    method: Method,
    taxon: Taxon | None,
    *,
    known: bool,
    alcohol: Callable[[float], str],
    against_advice: tuple[str, ...] = (),
) -> tuple[str, ...]:
    """Sentences for the jar: the book's on the kind first, then the method's own.

    ``alcohol`` is the wording's sentence for so many days. ``known`` says whether everybody at the
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
            words.append(alcohol(caution.alcohol_days))
    words += method.cautions
    return tuple(dict.fromkeys(words))


def alcohol_not_settled(taxon: Taxon, eaters: Iterable[str], abstaining: Collection[str]) -> str | None:
    """Why a kind that acts with alcohol is not put on the table; None when every eater abstains.

    **Fails towards** refusing: where nobody is named as eating, nobody was asked.
    """
    days = coprine_days(taxon)
    if days is None:
        return None
    names = tuple(eaters)
    unasked = [name for name in names if name not in abstaining] if names else ["everybody who eats"]
    if not unasked:
        return None
    return (
        f"it acts with alcohol: ask {', '.join(unasked)} about none for {days:g} days before and after, "
        "then say who agreed (--no-alcohol NAME, or on the kitchen page)"
    )


def coprine_days(taxon: Taxon) -> float | None:
    """Days without alcohol before and after a kind that holds, or may hold, coprine; None for all others."""
    if "coprine" not in taxon.harm.classes:
        return None
    return max((caution.alcohol_days or 0.0 for caution in taxon.cautions), default=0.0) or 5.0
