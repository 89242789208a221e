"""What every page can say: the frame around it, days, weights and lengths in the household's units."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime
from typing import Any

from flask import Flask, request

from underoak.web.form_token import FIELD, new_token
from underoak.web.site import Site

#: address, words, picture
NAVIGATION = (
    ("/", "This week", "week"),
    ("/map", "Map", "map"),
    ("/walk", "Walk", "walk"),
    ("/finds", "Finds", "finds"),
    ("/vetting", "Vetting", "vetting"),
    ("/kitchen", "Kitchen", "kitchen"),
    ("/pantry", "Pantry", "pantry"),
    ("/season", "Season", "season"),
)
MORE = (
    ("/book", "The book"),
    ("/outlook", "How good the outlook is"),
    ("/ground", "Woods, spots and files"),
    ("/settings", "Settings"),
    ("/phones", "Telephones"),
)
_G_PER_LB, _G_PER_OZ, _M_PER_FT, _M_PER_MILE, _MM_PER_INCH = 453.59237, 28.349523125, 0.3048, 1609.344, 25.4


def dress(app: Flask, site: Site) -> None:
    """Give the templates of ``app`` their words."""

    def in_units(us: Callable[[float], str], metric: Callable[[float], str]) -> Callable[[float], str]:
        def shown(value: float) -> str:
            return us(value) if site.home.settings.units == "us" else metric(value)

        return shown

    from underoak.model.book import DANGER_WORDS, harm_words
    from underoak.model.characters import character_name
    from underoak.model.quantities import amount, chance_words, weight

    app.jinja_env.filters.update(
        day=day_words,
        full_day=full_day,
        short_day=short_day,
        clock=clock_words,
        percent=percent,
        likely=chance_words,
        begin=lambda text: str(text)[:1].upper() + str(text)[1:],
        plain=lambda text: str(text).replace("_", " "),
        latin=latin,
        method=method_words,
        character=character_name,
        duration=duration,
        harms=harm_words,
        common=common,
        kg=in_units(lambda kg: f"{1000.0 * kg / _G_PER_LB:.1f} lb", lambda kg: f"{kg:.2f} kg"),
        grams=lambda g: weight(g, site.home.settings.units),
        amount=lambda value, unit: amount(value, unit, site.home.settings.units),
        metres=in_units(lambda m: f"{m / _M_PER_FT:.0f} ft", lambda m: f"{m:.0f} m"),
        km=in_units(lambda m: f"{m / _M_PER_MILE:.1f} miles", lambda m: f"{m / 1000.0:.1f} km"),
        celsius=in_units(lambda c: f"{1.8 * c + 32.0:.0f} °F", lambda c: f"{c:.0f} °C"),
        mm=in_units(lambda mm: f"{mm / _MM_PER_INCH:.2f} in", lambda mm: f"{mm:.1f} mm"),
    )
    app.jinja_env.tests["match_start"] = lambda text, start: str(text).startswith(start)
    app.jinja_env.trim_blocks = app.jinja_env.lstrip_blocks = True

    @app.context_processor
    def frame() -> dict[str, Any]:
        settings = site.home.settings
        return {
            "household": settings.name,
            "people": settings.people,
            "today": site.today(),
            "now": site.now(),
            "navigation": NAVIGATION,
            "more": MORE,
            "here": _here(request.path),
            "poison_help": settings.poison_help,
            "danger_words": DANGER_WORDS,
            "form_token": new_token,
            "token_field": FIELD,
        }


def _here(path: str) -> str:
    """Address of the navigation's entry that a page belongs to."""
    head = "/" + path.strip("/").partition("/")[0]
    return "/" if head == "/why" else head


def day_words(day: Any) -> str:
    """A day as Sat 3 Oct; ISO text is taken too."""
    one = date.fromisoformat(day[:10]) if isinstance(day, str) else day
    return f"{one:%a} {one.day} {one:%b}"


def full_day(day: Any) -> str:
    """A day as Saturday, 3 October 2026."""
    one = date.fromisoformat(day[:10]) if isinstance(day, str) else day
    return f"{one:%A}, {one.day} {one:%B} {one.year}"


def short_day(day: Any) -> str:
    """A day as 3 Oct 2026, for tables."""
    one = date.fromisoformat(day[:10]) if isinstance(day, str) else day
    return f"{one.day} {one:%b} {one.year}"


def duration(minutes: float) -> str:
    """How long a check takes, as a person says it."""
    if minutes < 1.0:
        return "a few seconds" if minutes < 0.3 else "less than a minute"
    if minutes < 100.0:
        return f"about {minutes:.0f} {'minute' if round(minutes) == 1 else 'minutes'}"
    return f"about {minutes / 60.0:.0f} hours"


def clock_words(moment: Any) -> str:
    """A moment's time of day."""
    one = datetime.fromisoformat(moment) if isinstance(moment, str) else moment
    return f"{one:%H:%M}"


def latin(taxon_id: str) -> str:
    """Scientific name of a taxon, its id in words where the book no longer has it."""
    from underoak.book.load import load_book

    taxon = load_book().taxa.get(taxon_id)
    return taxon.scientific_name if taxon else taxon_id.replace("_", " ").capitalize()


def common(taxon_id: str) -> str:
    """What the household calls a taxon; its scientific name where it has no other."""
    from underoak.book.load import load_book

    taxon = load_book().taxa.get(taxon_id)
    return taxon.common_names[0] if taxon and taxon.common_names else latin(taxon_id)


def method_words(method_id: str) -> str:
    """Name of a method, its id in words where the book no longer has it."""
    from underoak.book.methods import load_methods

    method = load_methods().get(method_id)
    return method.name if method else method_id.replace("_", " ")


def percent(chance: float) -> str:
    """A chance, 0 to 1; small ones with a decimal, none as 0 or 100 where it is not."""
    if 0.0 < chance < 0.001:
        return "< 0.1 %"
    return f"{100.0 * chance:.0f} %" if chance >= 0.095 or chance == 0.0 else f"{100.0 * chance:.1f} %"
