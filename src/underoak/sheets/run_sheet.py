"""The run sheet for the door of the refrigerator, and its picture."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol, TypeVar

from underoak.model.kitchen import Deadline, Leftover, Lot, Schedule
from underoak.model.quantities import Units, amount, weight
from underoak.sheets.pdf import compile_typst
from underoak.sheets.timeline import timeline_svg

if TYPE_CHECKING:
    from underoak.kitchen.acid import PickleAcid


class _Product(Protocol):
    """What the sheet prints of a product."""

    @property
    def task_id(self) -> str: ...
    @property
    def kind(self) -> str: ...
    @property
    def scientific_name(self) -> str: ...
    @property
    def method(self) -> str: ...
    @property
    def fresh_g(self) -> float: ...
    @property
    def product_g(self) -> tuple[float, float]: ...
    @property
    def container(self) -> str: ...
    @property
    def containers(self) -> int: ...
    @property
    def use_by(self) -> date | None: ...
    @property
    def ends_when(self) -> tuple[str, ...]: ...
    @property
    def cautions(self) -> tuple[str, ...]: ...
    @property
    def acid(self) -> PickleAcid | None: ...


P = TypeVar("P", bound=_Product)


def write_run_sheet(folder: Path, plan: Any, paper: str) -> tuple[Path, ...]:
    """Write ``kitchen-DAY.pdf`` and ``.svg`` and hand back their paths.

    ``plan`` is an evening plan of the desk: day, lots, schedule, products, leftovers, shopping, cautions.
    """
    folder.mkdir(parents=True, exist_ok=True)
    names = {p.task_id: f"{p.kind}: {p.method}" for p in plan.products}
    picture = timeline_svg(plan.schedule, names)
    pdf = compile_typst("run_sheet", run_sheet_content(plan, picture, paper))
    paths = (folder / f"kitchen-{plan.day}.pdf", folder / f"kitchen-{plan.day}.svg")
    paths[0].write_bytes(pdf)
    paths[1].write_text(picture, "utf-8")
    return paths


def run_sheet_content(plan: Any, picture: str, paper: str) -> dict[str, Any]:
    """Everything on the run sheet as plain data for the template."""
    kept = weight(plan.schedule.kept_g, plan.units)
    total = weight(sum(lot.fresh_g for lot in plan.lots), plan.units)
    return {
        "title": f"Kitchen, {plan.day:%A} {plan.day.day} {plan.day:%B %Y}",
        "opening": f"{kept} of {total} are put up or eaten. Stop at bedtime; what is not "
        "begun by its deadline is left.",
        "paper": paper,
        "picture": picture,
        "clock": list(clock_rows(plan.schedule)),
        "products": [_product(alike, plan.units) for alike in grouped(plan.products)],
        "sections": [
            {"heading": "Begin by", "lines": begin_by_lines(plan.lots, plan.deadlines, plan.units)},
            {"heading": "Not kept", "lines": not_kept_lines(plan.leftovers, plan.units)},
            {
                "heading": "Have ready",
                "lines": [f"{n.what}: {amount(n.amount, n.unit, plan.units)}" for n in plan.shopping],
            },
        ],
        "cautions": list(plan.cautions),
    }


def clock_rows(plan: Schedule) -> Iterator[dict[str, str]]:
    """Every step in the order of the clock."""
    steps = [(step.start, task.id, step, task) for task in plan.tasks for step in task.steps]
    for start, task_id, step, _ in sorted(steps, key=lambda row: (row[0], row[1])):
        yield {
            "time": f"{start:%a %H:%M}–{step.end:%H:%M}",
            "task": task_id,
            "what": f"{step.name}: {step.words}",
            "who": ", ".join(step.people) or "waits",
        }


def grouped(products: Sequence[P]) -> list[list[P]]:
    """Products of one kind and method together: what is to be said of them is the same."""
    groups: dict[tuple[str, str, str], list[P]] = {}
    for product in products:
        groups.setdefault((product.kind, product.scientific_name, product.method), []).append(product)
    return list(groups.values())


def _product(alike: Sequence[_Product], units: Units) -> dict[str, Any]:
    first = alike[0]
    low, high = (sum(p.product_g[end] for p in alike) for end in (0, 1))
    fresh = weight(sum(p.fresh_g for p in alike), units)
    lines = [f"{fresh} fresh give about {weight(low, units)} to {weight(high, units)}"]
    if first.containers:
        lines[0] += f" in {sum(p.containers for p in alike)} × {first.container.replace('_', ' ')}"
    days = [p.use_by for p in alike if p.use_by]
    if days:
        lines.append(f"Use by {min(days)}")
    if first.acid:
        lines.append(acid_line(first.acid.acid_g_l, first.acid.ph, first.acid.highest_ph))
    tasks = " ".join(p.task_id for p in alike)
    return {
        "title": f"{first.kind} ({first.scientific_name}): {first.method} [{tasks}]",
        "lines": [*lines, *first.ends_when, *first.cautions],
    }


def acid_line(acid_g_l: float, ph: float, highest_ph: float) -> str:
    """What a pickle comes to once it has evened out, by calculation."""
    reckoned = f"{acid_g_l:.0f} g/l, pH about {ph:.1f}, at most {highest_ph:.1f}"
    return f"Acid when even: {reckoned} by calculation: measure it"


def begin_by_lines(lots: Sequence[Lot], deadlines: Sequence[Deadline], units: Units = "metric") -> list[str]:
    """Until when what has to be begun, and why; lots that wait alike in one line."""
    from underoak.book.load import load_book

    book = load_book()
    alike: dict[tuple[datetime, str], dict[str, float]] = {}
    for lot, due in zip(lots, deadlines, strict=True):
        kinds = alike.setdefault((due.by, due.reason), {})
        kinds[lot.taxon_id] = kinds.get(lot.taxon_id, 0.0) + lot.fresh_g
    return [
        f"{by:%A %H:%M}: "
        + ", ".join(f"{book.common_name(kind)} {weight(grams, units)}" for kind, grams in kinds.items())
        + f"; {reason}"
        for (by, reason), kinds in sorted(alike.items())
    ]


def not_kept_lines(leftovers: Sequence[Leftover], units: Units = "metric") -> list[str]:
    """What is not kept, one line for each kind, fate and reason."""
    from underoak.book.load import load_book

    book = load_book()
    alike: dict[tuple[str, str, str], float] = {}
    for rest in leftovers:
        key = (rest.taxon_id, rest.goes, rest.reason)
        alike[key] = alike.get(key, 0.0) + rest.fresh_g
    return [
        f"{book.common_name(kind)}, {weight(grams, units)}: {goes.replace('_', ' ')}; {reason}"
        for (kind, goes, reason), grams in alike.items()
    ]
