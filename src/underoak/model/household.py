"""Who walks, who cooks, and with what: the settings of one home."""

from __future__ import annotations

import re
import zoneinfo
from typing import Annotated, Literal

from pydantic import Field, field_validator

from underoak.model.club import parse_address
from underoak.model.strict import Strict

#: A plain address: scheme, one host (no name in brackets, no user), a path without quotes or blanks.
_TILE_ADDRESS = r"https?://[A-Za-z0-9]([A-Za-z0-9.-]*[A-Za-z0-9])?(:\d{1,5})?/[A-Za-z0-9{}/._~?&=%+@,:-]*"


class Whereabouts(Strict):
    """Where the home stands."""

    latitude_deg: Annotated[float, Field(ge=-66.0, le=66.0)]
    longitude_deg: Annotated[float, Field(ge=-180.0, le=180.0)]
    elevation_m: Annotated[float, Field(ge=-430.0, le=4500.0)] = 0.0
    timezone: Annotated[str, Field(max_length=60)] = "America/New_York"

    @field_validator("timezone")
    @classmethod
    def _is_known(cls, name: str) -> str:
        """The name; refused when this computer has a list of time zones that does not hold it."""
        if not _zone_is_listed(name) and _zone_is_listed("UTC"):
            raise ValueError(f"{name!r} is no time zone; write it like America/New_York")
        return name


def _zone_is_listed(name: str) -> bool:
    try:
        zoneinfo.ZoneInfo(name)
    except (zoneinfo.ZoneInfoNotFoundError, ValueError, OSError):
        return False
    return True


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
    evening_starts: Annotated[str, Field(pattern=r"^([01]\d|2[0-3]):[0-5]\d$")] = "17:00"
    bedtime: Annotated[str, Field(pattern=r"^([01]\d|2[0-3]):[0-5]\d$")] = "22:30"


class Backdrop(Strict):
    """What is drawn below the map on the screen: pictures of a map in tiles, from a file or from a server.

    ``tile_address`` holds ``{z}``, ``{x}`` and ``{y}``; ``tile_file`` is the name of an MBTiles file in the
    home's folder ``maps``; ``credit`` is what its makers want to read at the map's edge.
    """

    tile_address: Annotated[str, Field(max_length=400)] = ""
    tile_file: Annotated[str, Field(pattern=r"^([\w-][\w. -]*\.mbtiles)?$", max_length=120)] = ""
    credit: Annotated[str, Field(max_length=200)] = ""

    @field_validator("tile_address")
    @classmethod
    def _is_address(cls, text: str) -> str:
        """The address; refused when it is none that a browser may be told to load pictures from."""
        whole = re.fullmatch(_TILE_ADDRESS, text) and all(part in text for part in ("{z}", "{x}", "{y}"))
        if text and not whole:
            raise ValueError("it is no address of tiles; write it like https://tiles.example/{z}/{x}/{y}.png")
        return text

    @property
    def tile_host(self) -> str:
        """Scheme, host and port of the tiles' server; empty without one."""
        return "/".join(self.tile_address.split("/")[:3])


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
    likings: dict[str, Annotated[float, Field(ge=0.0, le=5.0)]] = Field(default_factory=dict, max_length=60)
    ledger: ClubLedger = ClubLedger()
    backdrop: Backdrop = Backdrop()
    export_cell_km: Annotated[float, Field(ge=1.0, le=100.0)] = 10.0
    poison_help: Annotated[str, Field(min_length=3, max_length=60)] = "1-800-222-1222"
