"""Single figures of the kitchen, each with its method and what it is not good for."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from pathlib import Path

from underoak.book.methods import load_methods
from underoak.errors import BadData, NoAnswer, UserMistake
from underoak.intake.temperature_log import HEAT_C, STORE_C, as_keeping, read_temperature_log
from underoak.kitchen.acid import TARGET_PH, pickle_acid
from underoak.kitchen.altitude import band_for, boiling_point_at_c, gauge_psi
from underoak.kitchen.drying import drying_time
from underoak.kitchen.freezer import freezer_load_kg_day
from underoak.kitchen.lethality import lethality_min
from underoak.kitchen.yields import dried_g
from underoak.model.kitchen import Keeping
from underoak.model.method import Method
from underoak.model.quantities import percent
from underoak.sheets.wording import ACID_CAUTION, CULTIVATED_ONLY, FIGURE_ONLY, KITCHEN_CAUTIONS


@dataclass(frozen=True, slots=True)
class Figure:
    """An answer in lines, with the values behind them and the cautions that belong to it."""

    about: str
    values: dict[str, float]
    lines: tuple[str, ...]
    cautions: tuple[str, ...]


def heat_figure(log: Path) -> Figure:
    """F0 of a logged heat process; BadData with every faulty line of the log."""
    reading = read_temperature_log(log, low_c=HEAT_C[0], high_c=HEAT_C[1])
    if reading.problems:
        raise BadData(reading.problems)
    minutes = lethality_min(reading.records)
    hottest = max(t for _, t in reading.records)
    return Figure(
        "lethality",
        {"f0_min": minutes, "hottest_c": hottest},
        (
            f"F0 = {minutes:.2f} min at 121.1 °C, z 10 °C, trapezoids over {len(reading.records)} readings",
            f"hottest reading {hottest:.1f} °C",
        ),
        (FIGURE_ONLY, KITCHEN_CAUTIONS[0]),
    )


def kept_from_log(log: Path) -> tuple[Keeping, ...]:
    """The temperature history of a lot out of a logger's file; BadData with every faulty line."""
    reading = read_temperature_log(log, low_c=STORE_C[0], high_c=STORE_C[1])
    if reading.problems:
        raise BadData(reading.problems)
    return as_keeping(reading.records)


def acid_figure(vinegar_l: float, acid_percent: float, food_kg: float, water_l: float) -> Figure:
    """Acid and pH of a pickle at equilibrium; the meter decides."""
    found = pickle_acid(vinegar_l=vinegar_l, acid_g_l=acid_percent * 10.0, food_kg=food_kg, water_l=water_l)
    verdict = (
        f"by calculation at or under {TARGET_PH:g} even with twice the assumed base; measure it"
        if found.keep
        else f"may be above {TARGET_PH:g}: more vinegar or less water, or do not make it"
    )
    return Figure(
        "acid",
        {"acid_g_l": found.acid_g_l, "ph": found.ph, "highest_ph": found.highest_ph},
        (
            f"{found.acid_g_l:.1f} g/l acetic acid when even, "
            f"pH about {found.ph:.2f}, at most {found.highest_ph:.2f}",
            verdict,
        ),
        (ACID_CAUTION, KITCHEN_CAUTIONS[1]),
    )


def drying_figure(fresh_g: float, thickness_mm: float, temperature_c: float, water_dried: float) -> Figure:
    """Hours in the dryer with their spread, and grams that come out."""
    time = drying_time(thickness_mm=thickness_mm, temperature_c=temperature_c, water_share_dried=water_dried)
    low, high = (dried_g(fresh_g, w, water_dried) for w in (0.92, 0.90))
    return Figure(
        "drying",
        {**asdict(time), "low_g": low, "high_g": high},
        (
            f"about {time.hours:.1f} h; published studies spread "
            f"from {time.shortest_h:.1f} to {time.longest_h:.1f} h",
            f"{low:.0f} to {high:.0f} g come out at {percent(water_dried)} water",
            "stop by the bend, not by the clock: leathery to brittle, a bent slice cracks",
        ),
        (KITCHEN_CAUTIONS[2],),
    )


def height_figure(elevation_m: float) -> Figure:
    """Boiling point and gauge pressure at a height."""
    boils = boiling_point_at_c(elevation_m)
    gauge = gauge_psi((240.0 - 32.0) / 1.8, elevation_m)
    return Figure(
        "height",
        {"boils_c": boils, "gauge_psi_240f": gauge},
        (
            f"water boils at {boils:.1f} °C ({boils * 1.8 + 32:.1f} °F) at {elevation_m:.0f} m",
            f"240 °F in saturated steam shows {gauge:.1f} psi on a dial; the published table decides",
        ),
        (FIGURE_ONLY,),
    )


def freezer_figure(volume_l: float) -> Figure:
    """Kilograms a freezer freezes in a day."""
    load = freezer_load_kg_day(volume_l)
    return Figure(
        "freezer", {"kg_day": load}, (f"{volume_l:g} l freeze about {load:.1f} kg a day without warming",), ()
    )


def method_figure(name: str, elevation_m: float) -> Figure:
    """One method of the book in full: what it is tested for, steps, storage of every source, cautions."""
    methods = load_methods()
    if name not in methods:
        raise UserMistake(f"there is no method {name!r}", expected="one of " + ", ".join(methods))
    method = methods[name]
    warning = () if method.for_wild else (CULTIVATED_ONLY,)
    return Figure(name, {}, tuple(_method_lines(method, elevation_m)), (*warning, *method.cautions))


def _method_lines(method: Method, elevation_m: float) -> list[str]:
    seen = "seen" if method.seen else "not seen"
    lines = [f"{method.name} ({method.source}, {seen})", f"tested for: {method.tested_for}"]
    lines += [f"  {n}. {step.name}: {step.words}" for n, step in enumerate(method.steps, 1)]
    if method.packing:
        packing = method.packing
        lines.append(
            f"into: {packing.container.replace('_', ' ')}, {packing.holds_g:.0f} g, "
            f"{packing.headspace_mm:.0f} mm headspace"
        )
    lines += [f"takes: {r.amount_per_kg:g} {r.unit} {r.what} for a kilogram cleaned" for r in method.ratios]
    for life in method.storage:
        note = f"; {life.note}" if life.note else ""
        lines.append(
            f"keeps: {life.days:g} days in the {life.where.replace('_', ' ')} at {life.temperature_c:g} °C "
            f"({life.source}, {'seen' if life.seen else 'not seen'}{note})"
        )
    lines += [f"another source, {d.about}: {d.says} ({d.source})" for d in method.differing]
    lines += [f"done when: {words}" for words in method.ends_when]
    if method.altitude:
        lines.append(f"height: {method.altitude.words}")
        lines += _band_lines(method, elevation_m)
    return lines


def _band_lines(method: Method, elevation_m: float) -> list[str]:
    if method.altitude is None or not method.altitude.bands:
        return []
    try:
        band = band_for(method.altitude, elevation_m)
    except NoAnswer as error:
        return [f"at {elevation_m:.0f} m: {error.problem.what}"]
    told = [f"{band.minutes:g} min"] if band.minutes else []
    told += [f"dial {band.dial_psi:g} psi, weighted {band.weighted_psi:g} psi"] if band.dial_psi else []
    return [f"at {elevation_m:.0f} m: {', '.join(told)}"]
