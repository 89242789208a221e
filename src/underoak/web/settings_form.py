"""The household as a form: shown from settings, and read back into settings."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from underoak.errors import BadData
from underoak.web.ask import Answers

if TYPE_CHECKING:
    from underoak.model.household import Settings

#: People that a home may have, and rows that a form offers beyond those that are known.
MOST_PEOPLE, MORE_PEOPLE = 30, 3
UNITS = {"metric": "metric (kg, km, °C)", "us": "US (pounds, miles, °F)"}
#: field -> words for it
WHERE = {"latitude_deg": "latitude", "longitude_deg": "longitude", "elevation_m": "elevation"}
KITCHEN = {
    "burners": "burners at once",
    "pots": "large pots",
    "pans": "pans for sautéing",
    "dryer_trays": "dehydrator trays",
    "tray_holds_kg": "one tray holds, kg",
    "freezer_free_l": "free in the freezer, litres",
    "freezer_load_kg_day": "freezes in a day, kg",
    "fridge_free_l": "free in the refrigerator, litres",
    "half_pint_jars": "half-pint jars with lids",
    "pint_jars": "pint jars with lids",
    "freezer_bags": "freezer bags",
}
CLOCKS = {"evening_starts": "the kitchen opens at", "bedtime": "work ends at"}
MARKS = {"cooks": "helps in the kitchen", "child": "a child", "drinks_alcohol": "drinks alcohol"}
#: Texts that stand on the first level of the settings or under a heading, where they were filled in.
_TEXTS = {"timezone": "where", **dict.fromkeys(CLOCKS, "kitchen"), "poison_help": ""}


def shown_values(settings: Settings) -> dict[str, str]:
    """The settings as the fields of the form."""
    document = settings.model_dump()
    values = {name: _shown(document[name]) for name in ("name", "units", "poison_help", "export_cell_km")}
    for part in ("where", "kitchen", "backdrop"):
        values |= {name: _shown(value) for name, value in document[part].items()}
    for number, person in enumerate(document["people"]):
        values |= {f"{name}-{number}": _shown(value) for name, value in person.items()}
    return values | {f"cooks-{number}": "1" for number in range(len(settings.people), MOST_PEOPLE)}


def _shown(value: Any) -> str:
    if isinstance(value, bool):
        return "1" if value else ""
    return f"{value:.10g}" if isinstance(value, float) else str(value)


def asked(values: Mapping[str, Any]) -> dict[str, Any]:
    """What the fields of a home are drawn from, where one is made and where it is changed."""
    return {
        "values": values, "rows": rows_of(values), "units": UNITS, "kitchen": KITCHEN, "clocks": CLOCKS,
        "marks": MARKS,
    }  # fmt: skip


def rows_of(values: Mapping[str, Any]) -> range:
    """Rows of people to show: those filled in, and a few more."""
    filled = [n for n in range(MOST_PEOPLE) if values.get(f"name-{n}") or values.get(f"carries_kg-{n}")]
    return range(min(max(filled, default=-1) + 1 + MORE_PEOPLE, MOST_PEOPLE))


def settings_in(form: Mapping[str, Any], before: Settings | None = None) -> Settings:
    """The settings that a form holds; what it leaves out stays as ``before``, or as the record has it.

    Raises BadData with every fault at once.
    """
    from underoak.model.household import Backdrop, Kitchen, Settings, Whereabouts
    from underoak.model.strict import validate_document

    told = Answers(form)
    document: dict[str, Any] = before.model_dump() if before else {"where": {}, "kitchen": {}}
    document["name"] = told.text("name", 80)
    document["units"] = told.choice("units", "units", UNITS, "metric")
    document["where"] |= _numbers(told, Whereabouts, WHERE)
    document["kitchen"] |= _numbers(told, Kitchen, KITCHEN)
    document["people"] = _people(told)
    document |= _numbers(told, Settings, {"export_cell_km": "side of the cell of shared spots"})
    for name, part in _TEXTS.items():
        if text := told.text(name, 60):
            (document[part] if part else document)[name] = text
    if before is not None:
        document["backdrop"] = {name: told.text(name, 400) for name in Backdrop.model_fields}
    if not document["name"]:
        told.fault("the household has no name", "name", "what it calls itself")
    if not all(name in document["where"] or form.get(name) for name in ("latitude_deg", "longitude_deg")):
        told.fault("it is not said where home stands", "latitude and longitude", "degrees, two numbers")
    settings, problems = validate_document(Settings, document, "settings")
    known = ("settings, name", "settings, where.l", "settings, people")  # told above in the words of the form
    problems = tuple(one for one in problems if not told.problems or not one.where.startswith(known))
    if told.problems or settings is None:
        raise BadData([*told.problems, *problems])
    return settings


def _numbers(told: Answers, record: Any, fields: Mapping[str, str]) -> dict[str, Any]:
    """What was filled in of the fields of a record, each within the record's own limits."""
    found: dict[str, Any] = {}
    for name, words in fields.items():
        field = record.model_fields[name]
        low = next(m.ge if hasattr(m, "ge") else m.gt for m in field.metadata if not hasattr(m, "le"))
        high = next(m.le for m in field.metadata if hasattr(m, "le"))
        number = (told.whole if field.annotation is int else told.number)(name, words, low, high)
        if number is not None:
            found[name] = number
    return found


def _people(told: Answers) -> list[dict[str, Any]]:
    """Everybody with a name; a fault where nobody is named, or two alike."""
    people: list[dict[str, Any]] = []
    for number in range(MOST_PEOPLE):
        name = told.text(f"name-{number}", 60)
        carries = told.number(f"carries_kg-{number}", f"person {number + 1}, carries", 0.0, 40.0)
        if name:
            marks = {mark: told.text(f"{mark}-{number}", 1) == "1" for mark in MARKS}
            people.append({"name": name, **marks, **({} if carries is None else {"carries_kg": carries})})
        elif carries is not None:
            told.fault("a person has no name", f"person {number + 1}", "a name")
    names = {person["name"].casefold() for person in people}
    if not people:
        told.fault("nobody is named", "people", "at least one person")
    if len(names) < len(people):
        told.fault("two people have the same name", "people", "a name for each")
    return people
