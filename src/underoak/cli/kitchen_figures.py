"""``kitchen method``, ``heat``, ``acid``, ``dryer``, ``height``, ``freezer``: single figures, cautions."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from underoak.cli.output import home_option, json_option, show

if TYPE_CHECKING:
    from underoak.desk.kitchen_figures import Figure


def _show(figure: Callable[[], Figure], *, as_json: bool) -> None:
    found = figure()
    show(found, _lines(found), as_json=as_json)


def _lines(found: Figure) -> Iterator[str]:
    yield from found.lines
    yield from (f"Caution: {words}" for words in found.cautions)


@click.command()
@home_option
@click.argument("name")
@json_option
def method(home: Path, name: str, as_json: bool) -> None:
    """Show one method of the book in full, with what other sources say."""
    from underoak.desk.kitchen_figures import method_figure
    from underoak.settings import load_home

    elevation_m = load_home(home).settings.where.elevation_m
    _show(lambda: method_figure(name, elevation_m), as_json=as_json)


@click.command()
@click.argument("log", type=click.Path(path_type=Path))
@json_option
def heat(log: Path, as_json: bool) -> None:
    """Lethality F0 of a logged heat process (CSV: minutes, temperature_c)."""
    from underoak.desk.kitchen_figures import heat_figure

    _show(lambda: heat_figure(log), as_json=as_json)


@click.command()
@click.option("--vinegar-l", type=float, required=True)
@click.option("--percent", type=float, default=5.0, show_default=True, help="Acidity on the label.")
@click.option("--food-kg", type=float, required=True)
@click.option("--water-l", type=float, default=0.0, show_default=True)
@json_option
def acid(vinegar_l: float, percent: float, food_kg: float, water_l: float, as_json: bool) -> None:
    """Acid and pH of a pickle once it has evened out, by calculation."""
    from underoak.desk.kitchen_figures import acid_figure

    _show(lambda: acid_figure(vinegar_l, percent, food_kg, water_l), as_json=as_json)


@click.command()
@click.option("--fresh-g", type=float, required=True)
@click.option("--slices-mm", type=float, default=8.0, show_default=True)
@click.option("--temperature-c", type=float, default=60.0, show_default=True)
@click.option("--water", type=click.FloatRange(0.04, 0.4), default=0.10, help="Share at the end.")
@json_option
def dryer(fresh_g: float, slices_mm: float, temperature_c: float, water: float, as_json: bool) -> None:
    """Hours in the dryer, with their spread, and what comes out."""
    from underoak.desk.kitchen_figures import drying_figure

    _show(lambda: drying_figure(fresh_g, slices_mm, temperature_c, water), as_json=as_json)


@click.command()
@click.argument("elevation_m", type=float)
@json_option
def height(elevation_m: float, as_json: bool) -> None:
    """Boiling point and gauge pressure at a height in metres."""
    from underoak.desk.kitchen_figures import height_figure

    _show(lambda: height_figure(elevation_m), as_json=as_json)


@click.command()
@click.argument("volume_l", type=float)
@json_option
def freezer(volume_l: float, as_json: bool) -> None:
    """Kilograms a freezer of so many litres freezes in a day."""
    from underoak.desk.kitchen_figures import freezer_figure

    _show(lambda: freezer_figure(volume_l), as_json=as_json)


FIGURES = (method, heat, acid, dryer, height, freezer)
