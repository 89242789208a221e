"""Who walks, who cooks, and with what: the settings of one home."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, field_validator

from underoak.model.club import parse_address
from underoak.model.strict import Strict


class Whereabouts(Strict):
    """Where the home stands."""

    latitude_deg: Annotated[float, Field(ge=-66.0, le=66.0)]
    longitude_deg: Annotated[float, Field(ge=-180.0, le=180.0)]
    elevation_m: Annotated[float, Field(ge=-430.0, le=4500.0)] = 0.0
    timezone: str = "America/New_York"


class Person(Strict):
    """One of the household and what they can do."""

    name: Annotated[str, Field(min_length=1, max_length=60)]
    carries_kg: Annotated[float, Field(ge=0.0, le=40.0)] = 6.0
    cooks: bool = True
    child: bool = False
    drinks_alcohol: bool = False


class Kitchen(Strict):
    """What stands in the kitchen, and the hours it is used."""

    burners: Annotated[int, Field(ge=0, le=12)] = 4
    pots: Annotated[int, Field(ge=0, le=20)] = 3
    pans: Annotated[int, Field(ge=0, le=20)] = 2
    dryer_trays: Annotated[int, Field(ge=0, le=60)] = 6
    tray_holds_kg: Annotated[float, Field(gt=0.0, le=5.0)] = 0.5
    freezer_free_l: Annotated[float, Field(ge=0.0, le=1000.0)] = 40.0
    freezer_load_kg_day: Annotated[float, Field(ge=0.0, le=100.0)] = 3.0
    fridge_free_l: Annotated[float, Field(ge=0.0, le=1000.0)] = 30.0
    half_pint_jars: Annotated[int, Field(ge=0, le=500)] = 12
    pint_jars: Annotated[int, Field(ge=0, le=500)] = 12
    freezer_bags: Annotated[int, Field(ge=0, le=1000)] = 40
    evening_starts: Annotated[str, Field(pattern=r"^\d\d:\d\d$")] = "17:00"
    bedtime: Annotated[str, Field(pattern=r"^\d\d:\d\d$")] = "22:30"


class ClubLedger(Strict):
    """Where a club keeps the record: ``address`` of a database, never with a password."""

    address: Annotated[str, Field(max_length=400)] = ""

    @field_validator("address")
    @classmethod
    def _can_be_reached(cls, text: str) -> str:
        """The address; refused in words when it is none, or holds a password."""
        if text:
            parse_address(text)
        return text


class Settings(Strict):
    """Everything in ``underoak.toml``."""

    name: Annotated[str, Field(min_length=1, max_length=80)] = "Our household"
    units: Literal["metric", "us"] = "metric"
    where: Whereabouts
    people: Annotated[tuple[Person, ...], Field(min_length=1, max_length=30)]
    kitchen: Kitchen = Kitchen()
    ledger: ClubLedger = ClubLedger()
    export_cell_km: Annotated[float, Field(ge=1.0, le=100.0)] = 10.0
    poison_help: Annotated[str, Field(min_length=3, max_length=60)] = "1-800-222-1222"
