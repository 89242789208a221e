"""The run sheet for the door of the refrigerator, and its picture."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from pathlib import Path
from typing import Any, Protocol

from underoak.model.kitchen import Deadline, Leftover, Lot, Schedule
from underoak.sheets.pdf import compile_typst
from underoak.sheets.timeline import timeline_svg


class _Product(Protocol):
    """What the sheet prints of a product."""

    task_id: str
    kind: str
    scientific_name: str
    method: str
    fresh_g: float
    product_g: tuple[float, float]
    container: str
    containers: int
    use_by: date | None
    ends_when: tuple[str, ...]
    cautions: tuple[str, ...]


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
    kept_kg = plan.schedule.kept_g / 1000.0
    total_kg = sum(lot.fresh_g for lot in plan.lots) / 1000.0
    return {
        "title": f"Kitchen, {plan.day:%A %d %B %Y}",
        "opening": f"{kept_kg:.1f} of {total_kg:.1f} kg are put up or eaten. Stop at bedtime; what is not "
        "begun by its deadline is left.",
        "paper": paper,
        "picture": picture,
        "clock": list(clock_rows(plan.schedule)),
        "products": [_product(p) for p in plan.products],
        "sections": [
            {"heading": "Deadlines", "lines": list(deadline_lines(plan.lots, plan.deadlines))},
            {"heading": "Not kept", "lines": list(leftover_lines(plan.leftovers))},
            {"heading": "Have ready", "lines": [f"{n.what}: {n.amount:g} {n.unit}" for n in plan.shopping]},
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


def _product(product: _Product) -> dict[str, Any]:
    low, high = product.product_g
    lines = [f"{product.fresh_g:.0f} g fresh give about {low:.0f} to {high:.0f} g"]
    if product.containers:
        lines[0] += f" in {product.containers} × {product.container.replace('_', ' ')}"
    if product.use_by:
        lines.append(f"Use by {product.use_by}")
    return {
        "title": f"{product.task_id} {product.kind} ({product.scientific_name}): {product.method}",
        "lines": [*lines, *product.ends_when, *product.cautions],
    }


def deadline_lines(lots: Sequence[Lot], deadlines: Sequence[Deadline]) -> Iterator[str]:
    """One line a lot: begin by when, and why."""
    for lot, due in zip(lots, deadlines, strict=True):
        yield f"{lot.id} ({lot.taxon_id}, {lot.fresh_g:.0f} g): begin by {due.by:%a %H:%M}; {due.reason}"


def leftover_lines(leftovers: Sequence[Leftover]) -> Iterator[str]:
    """One line for each part that is not kept."""
    for rest in leftovers:
        goes = rest.goes.replace("_", " ")
        yield f"{rest.lot_id} ({rest.taxon_id}): {goes} {rest.fresh_g:.0f} g; {rest.reason}"
