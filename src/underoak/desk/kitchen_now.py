"""What of the kitchen is still free after today's batches, and what is left of earlier years."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime

from underoak.kitchen.wishes import Busy
from underoak.ledger.connection import Ledger
from underoak.ledger.pantry import batches, jars, kept_lots
from underoak.ledger.shelf import net_of_batches
from underoak.model.household import Kitchen
from underoak.model.kitchen import Jar
from underoak.model.method import Method


def kitchen_now(
    kitchen: Kitchen, connection: Ledger, methods: Mapping[str, Method], day: date, now: datetime
) -> tuple[Kitchen, tuple[Busy, ...]]:
    """The kitchen of the settings less the jars, litres and freezer load of the day's batches.

    The settings say what is free at the start of the day. Dryer trays that a batch still occupies come back
    as busy until it is ready.
    """
    every = batches(connection)
    made = {key: batch for key, batch in every.items() if batch.made_on == day}
    filled = jars(connection, batch_ids=made)
    litres = {
        place: sum(_volume_l(jar, made, methods) for jar in filled if jar.stands == place)
        for place in ("freezer", "refrigerator")
    }
    frozen_kg = sum(jar.net_g for jar in filled if jar.stands == "freezer") / 1000.0
    count = {
        c: sum(1 for jar in filled if jar.container == c)
        for c in ("half_pint_jar", "pint_jar", "freezer_bag")
    }
    free = kitchen.model_copy(
        update={
            "half_pint_jars": max(kitchen.half_pint_jars - count["half_pint_jar"], 0),
            "pint_jars": max(kitchen.pint_jars - count["pint_jar"], 0),
            "freezer_bags": max(kitchen.freezer_bags - count["freezer_bag"], 0),
            "freezer_free_l": max(kitchen.freezer_free_l - litres["freezer"], 0.0),
            "fridge_free_l": max(kitchen.fridge_free_l - litres["refrigerator"], 0.0),
            "freezer_load_kg_day": max(kitchen.freezer_load_kg_day - frozen_kg, 0.0),
        }
    )
    busy = tuple(
        Busy("tray", batch.trays, batch.ready_at)
        for batch in every.values()
        if batch.trays and batch.ready_at and batch.ready_at > now
    )
    return free, busy


def _volume_l(jar: Jar, made: Mapping[str, object], methods: Mapping[str, Method]) -> float:
    batch = made[jar.batch_id]
    method = methods.get(getattr(batch, "method_id", ""))
    return method.packing.volume_l if method and method.packing else 0.5


def left_of_earlier_years(connection: Ledger, day: date) -> dict[tuple[str, str], float]:
    """Fresh kilograms that the jars still kept from before ``day`` stand for, by (taxon, method)."""
    net = net_of_batches(connection)
    kept = {key for key, one in net.items() if one.kept_g > 0.0}
    made = batches(connection, kept)
    lots = kept_lots(connection, {lot_id for batch in made.values() for lot_id, _ in batch.lots})
    left: dict[tuple[str, str], float] = {}
    for batch in made.values():
        if batch.made_on >= day or batch.against_advice:
            continue
        share = net[batch.id].kept_g / net[batch.id].filled_g
        for lot_id, grams in batch.lots:
            key = (lots[lot_id].taxon_id, batch.method_id)
            left[key] = left.get(key, 0.0) + grams / 1000.0 * share
    return left
