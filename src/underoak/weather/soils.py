"""Soil textures: how much water they hold between field capacity and wilting."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Soil:
    """Water contents (m3/m3) at field capacity and wilting point, depth of roots, and runoff group.

    ``depletion`` is the share of the available water that can be used without stress.
    """

    texture: str
    field_capacity: float
    wilting_point: float
    hydrologic_group: str
    root_depth_m: float = 0.6
    depletion: float = 0.5

    @property
    def available_mm(self) -> float:
        """Total available water: 1000 (field capacity - wilting point) root depth. FAO-56 Eq. 82."""
        return 1000.0 * (self.field_capacity - self.wilting_point) * self.root_depth_m

    @property
    def readily_mm(self) -> float:
        """Readily available water: depletion share times total. FAO-56 Eq. 83."""
        return self.depletion * self.available_mm


#: Texture -> middle of the published ranges (FAO-56 Table 19: ranges from memory, the means of loamy
#: sand, silt and silty clay second-hand) and hydrologic group (TR-55 Appendix A, from memory).
#: Root depth 0.6 m and depletion 0.5 for oak woods are the developers' judgement.
TEXTURES: dict[str, Soil] = {
    soil.texture: soil
    for soil in (
        Soil("sand", 0.12, 0.045, "A"),
        Soil("loamy sand", 0.15, 0.06, "A"),
        Soil("sandy loam", 0.23, 0.11, "A"),
        Soil("loam", 0.25, 0.12, "B"),
        Soil("silt loam", 0.29, 0.15, "B"),
        Soil("silt", 0.32, 0.15, "B"),
        Soil("silt clay loam", 0.335, 0.205, "D"),
        Soil("silty clay", 0.35, 0.23, "D"),
        Soil("clay", 0.36, 0.22, "D"),
    )
}
#: Used where the household does not say.
USUAL_SOIL = TEXTURES["silt loam"]
