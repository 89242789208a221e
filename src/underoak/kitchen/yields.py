"""Fresh to cleaned to product: how much comes out, as a range, and where the rest went."""

from __future__ import annotations

from dataclasses import dataclass

from underoak.errors import UserMistake
from underoak.model.method import Method

#: Share left after cleaning where the book says nothing about the kind; own judgement.
CLEANED_SHARE = (0.75, 0.9)


@dataclass(frozen=True, slots=True)
class Amounts:
    """Grams at each stage, lowest and highest; ``trimmed_g`` and ``lost_g`` close the balance."""

    fresh_g: float
    cleaned_g: tuple[float, float]
    product_g: tuple[float, float]

    @property
    def trimmed_g(self) -> tuple[float, float]:
        """What cleaning takes off."""
        return self.fresh_g - self.cleaned_g[1], self.fresh_g - self.cleaned_g[0]

    @property
    def lost_g(self) -> tuple[float, float]:
        """Water and juice that the process takes out (negative where it takes something up)."""
        return self.cleaned_g[0] - self.product_g[0], self.cleaned_g[1] - self.product_g[1]


def amounts(
    method: Method, fresh_g: float, *, taxon_id: str = "", cleaned_share: tuple[float, float] = CLEANED_SHARE
) -> Amounts:
    """What ``fresh_g`` grams of fresh mushrooms come to.

    Low goes with low: the range is that of the household's result, not of a single piece.

    Raises
    ------
    UserMistake   for a negative weight, or shares that run backwards
    """
    checked_weight(fresh_g, "fresh weight")
    low, high = cleaned_share
    if not 0.0 < low <= high <= 1.0:
        raise UserMistake(f"cleaned share {low:g} to {high:g}", expected="0 < lowest <= highest <= 1")
    cleaned = (fresh_g * low, fresh_g * high)
    if method.yields is None:
        return Amounts(fresh_g, cleaned, cleaned)
    least, most = method.yields.by_taxon.get(taxon_id, method.yields.product_g_per_kg)
    return Amounts(fresh_g, cleaned, (cleaned[0] * least / 1000.0, cleaned[1] * most / 1000.0))


def dried_g(fresh_g: float, water_share_fresh: float, water_share_dried: float) -> float:
    """Grams of dried product from fresh, by what both share: the dry matter.

    Parameters
    ----------
    fresh_g : g, 0 or more
    water_share_fresh, water_share_dried : wet basis, 0 to less than 1; dried below fresh

    Method
    ------
    m1 = m0 (1 - w0) / (1 - w1)

    Source
    ------
    mass_balance. 90 % in and 13 % out: range published for Pleurotus eryngii 2022, seen. Check:
    tests/published/kitchen.toml, computed.
    """
    checked_weight(fresh_g, "fresh weight")
    if not 0.0 <= water_share_dried <= water_share_fresh < 1.0:
        raise UserMistake(
            f"water {water_share_fresh:g} before and {water_share_dried:g} after drying",
            expected="shares from 0 to below 1, less after than before",
        )
    return fresh_g * (1.0 - water_share_fresh) / (1.0 - water_share_dried)


def checked_weight(grams: float, what: str) -> float:
    """``grams`` itself; UserMistake when it is negative, endless or more than a household carries."""
    if not 0.0 <= grams <= 200_000.0:
        raise UserMistake(f"{what} of {grams:g} g", expected="0 to 200,000 g", remedy="weigh it again")
    return grams
