"""The shelf, the traces and the kitchen's sums are what reading every record and counting by hand gives."""

from __future__ import annotations

import random
from datetime import date, datetime, timedelta

import pytest

from tests.unit.kitchen_home import DAY, give_verdict, with_finds
from underoak.book.load import load_book
from underoak.book.methods import load_methods
from underoak.desk.feel_ill import IllNote, feel_ill
from underoak.desk.kitchen_now import left_of_earlier_years
from underoak.desk.pantry_shelf import Shelf, change_jar, shelf, write_labels
from underoak.errors import NoAnswer
from underoak.kitchen.onset import LOOK_BACK
from underoak.ledger.connection import Ledger
from underoak.ledger.database import open_ledger, writing
from underoak.ledger.evidence import evidence_of
from underoak.ledger.pantry import batches, jars, kept_lots, store_batch, store_lot
from underoak.ledger.servings import Serving, servings, store_servings
from underoak.ledger.trace import recall, trace_batch, trace_jar
from underoak.model.kitchen import LETS_THROUGH, Batch, Jar, JarState, Lot
from underoak.settings import Home

TODAY = DAY + timedelta(days=100)
KINDS = ("grifola_frondosa", "hericium_group", "laetiporus_sulphureus", "a_kind_of_no_book")
STATES: tuple[JarState, ...] = ("kept", "kept", "kept", "eaten", "given", "thrown")


@pytest.fixture(scope="module")
def pantry(tmp_path_factory: pytest.TempPathFactory) -> Home:
    """Sixty batches of one or two lots with some 200 jars in every state, drawn at random."""
    from underoak.desk.make_home import make_home
    from underoak.model.household import Person, Settings, Whereabouts

    where = Whereabouts(latitude_deg=41.5, longitude_deg=-74.5)
    home = make_home(
        tmp_path_factory.mktemp("pantry") / "home",
        Settings(name="Invented", where=where, people=(Person(name="Ada"),)),
    )
    rng = random.Random(7)  # noqa: S311 - no secret
    with_finds(home, [(f"f{n}", KINDS[n % 4], 5000.0, "consistent") for n in range(12)])
    connection = open_ledger(home.ledger)
    with writing(connection):
        for n in range(12):
            store_lot(connection, Lot(f"lot-{n}", KINDS[n % 4], None, 5000.0, at(DAY), find_id=f"f{n}"))
        for n in range(60):
            store_batch(connection, *filled(rng, n))
        give_verdict(connection, "f3", KINDS[3], "refused")  # of the same day and later: it is the last one
        held = jars(connection)
        store_servings(
            connection,
            [
                Serving(f"s{n}", at(TODAY - timedelta(days=n)), "Ada", KINDS[n % 4], jar_id=jar.id,
                        batch_id=jar.batch_id if n % 2 else None)
                for n, jar in enumerate(held[::9])
            ],
        )  # fmt: skip
    connection.close()
    return home


def at(day: date) -> datetime:
    return datetime(day.year, day.month, day.day, 19)  # noqa: DTZ001 - local time


def filled(rng: random.Random, n: int) -> tuple[Batch, list[Jar]]:
    made_on = DAY + timedelta(days=rng.randrange(90))
    lots = tuple((f"lot-{i}", 50.0) for i in rng.sample(range(12), rng.choice((1, 1, 2))))
    method = rng.choice(("dry", "freeze_cooked", "cook_tonight", "no_method_any_more"))
    against = ("stored warm",) if n % 13 == 0 else ()
    batch = Batch(f"b{n}", method, made_on, "1", lots, against_advice=against)
    made = []
    for unit in range(rng.randrange(7)):
        state = rng.choice(STATES)
        use_by = None if against or rng.random() < 0.1 else made_on + timedelta(days=rng.randrange(20, 200))
        gone = made_on + timedelta(days=rng.randrange(1, 60)) if state != "kept" else None
        code = f"{n:02d}-{unit}x"
        why = "smelt" if state == "thrown" else ""
        net_g = 100.0 + n + unit / 8
        made.append(
            Jar(
                f"id-{code}",
                batch.id,
                code,
                "pint_jar",
                net_g,
                made_on,
                use_by,
                "room",
                ("Mind.",),
                state,
                gone,
                why,
            )
        )
    return batch, made


def plain_shelf(home: Home, words: str, *, every: bool) -> dict[str, object]:
    """The same by reading every jar, batch, lot and verdict, one at a time."""
    connection = open_ledger(home.ledger)
    made, lots, book, methods = batches(connection), kept_lots(connection), load_book(), load_methods()
    rows = []
    for jar in jars(connection):
        batch = made[jar.batch_id]
        finds = [lots[i].find_id or "" for i, _ in batch.lots]
        told = [evidence_of(connection, [find])[0] for find in finds]
        taxa = list(dict.fromkeys(lots[i].taxon_id for i, _ in batch.lots))
        kind = " + ".join(
            book.taxa[t].common_names[0] if t in book.taxa else t.replace("_", " ") for t in taxa
        )
        latin = " + ".join(
            book.taxa[t].scientific_name if t in book.taxa else "not in the book" for t in taxa
        )
        product = methods[batch.method_id].product if batch.method_id in methods else batch.method_id
        text = f"{jar.code} {kind} {latin} {product} {batch.method_id} {batch.made_on}".casefold()
        bad = bool(batch.against_advice) or any(one.state not in LETS_THROUGH for one in told)
        if all(word in text for word in words.casefold().split()) and (every or jar.state == "kept"):
            rows.append((jar, bad, kind, product))
    connection.close()
    kept = [row for row in rows if row[0].state == "kept"]
    good = [row for row in kept if row[0].use_by and not row[1]]
    left: dict[tuple[int, str, str], list[float]] = {}
    for jar, _, kind, product in good:
        left.setdefault((jar.made_on.year, kind, product), []).append(jar.net_g)
    return {
        "jars": [jar for jar, *_ in rows],
        "over": [jar.code for jar, *_ in kept if jar.use_by and jar.use_by < TODAY],
        "soon": [j.code for j, *_ in good if TODAY <= (j.use_by or TODAY) <= TODAY + timedelta(days=7)],
        "never": sorted(row[0].code for row in kept if row not in good),
        "left": [(*key, len(net), round(sum(net), 1)) for key, net in sorted(left.items())],
    }


def as_told(found: Shelf) -> dict[str, object]:
    return {
        "jars": [one.jar for one in found.jars],
        "over": list(found.over),
        "soon": list(found.this_week),
        "never": list(found.never),
        "left": [(one.year, one.kind, one.product, one.units, one.net_g) for one in found.left],
    }


@pytest.mark.parametrize("every", [False, True])
@pytest.mark.parametrize("words", ["", "2", "MAITAKE", "dried 1x", "26-11", "no such word"])
def test_the_shelf_is_what_counting_by_hand_gives(pantry: Home, words: str, every: bool) -> None:
    found = shelf(pantry, today=TODAY, words=words, all_states=every)
    plain = plain_shelf(pantry, words, every=every)
    assert as_told(found) == plain
    assert found.count == len(found.jars)
    if words == "":
        assert min(map(len, (found.over, found.this_week, found.never, found.losses))) > 0


@pytest.mark.parametrize("every", [False, True])
@pytest.mark.parametrize("words", ["", "2"])
def test_pages_of_the_shelf_are_its_parts(pantry: Home, words: str, every: bool) -> None:
    whole = shelf(pantry, today=TODAY, words=words, all_states=every)
    parts = [
        shelf(pantry, today=TODAY, words=words, all_states=every, first=first, most=17)
        for first in range(0, whole.count + 17, 17)
    ]
    assert [one for part in parts for one in part.jars] == list(whole.jars)
    assert all((part.count, part.over, part.left) == (whole.count, whole.over, whole.left) for part in parts)


def test_a_trace_is_what_is_found_among_all_records(pantry: Home) -> None:
    connection = open_ledger(pantry.ledger)
    for jar in jars(connection)[::11]:
        back = trace_jar(connection, jar.code.upper())
        assert (back.jar, back.batch) == (jar, batches(connection)[jar.batch_id])
        assert [origin.lot_id for origin in back.origins] == [lot for lot, _ in back.batch.lots]
        eaten = [s for s in servings(connection) if s.batch_id == jar.batch_id or s.jar_id == jar.id]
        assert list(back.eaten) == eaten
        assert trace_batch(connection, jar.batch_id).batch == back.batch
    connection.close()


@pytest.mark.parametrize(
    ("kind", "name"), [("find", "f3"), ("lot", "lot-4"), ("batch", "b7"), ("batch", "b0")]
)
def test_a_recall_names_everything_that_holds_it(pantry: Home, kind: str, name: str) -> None:
    connection = open_ledger(pantry.ledger)
    lots = {key for key, lot in kept_lots(connection).items() if name in (lot.find_id, key)}
    held = [b for b in batches(connection).values() if b.id == name or lots & {i for i, _ in b.lots}]
    found = recall(connection, kind=kind, name=name)
    assert list(found.batches) == held
    assert list(found.jars) == [jar for jar in jars(connection) if jar.batch_id in {b.id for b in held}]
    ids, codes = {b.id for b in held}, {jar.id for jar in found.jars}
    assert list(found.eaten) == [s for s in servings(connection) if s.batch_id in ids or s.jar_id in codes]
    connection.close()


def plain_left(connection: Ledger, day: date) -> dict[tuple[str, str], float]:
    lots, left = kept_lots(connection), dict[tuple[str, str], float]()
    for batch in batches(connection).values():
        own = [jar for jar in jars(connection) if jar.batch_id == batch.id]
        if batch.made_on < day and own and not batch.against_advice:
            kept_g = sum(jar.net_g for jar in own if jar.state == "kept")
            share = kept_g / sum(jar.net_g for jar in own)
            for lot_id, grams in batch.lots:
                key = (lots[lot_id].taxon_id, batch.method_id)
                left[key] = left.get(key, 0.0) + grams / 1000.0 * share
    return left


def test_what_is_left_of_earlier_years(pantry: Home) -> None:
    connection = open_ledger(pantry.ledger)
    day = DAY + timedelta(days=60)
    plain = {key: kg for key, kg in plain_left(connection, day).items() if kg > 0.0}
    assert left_of_earlier_years(connection, day) == pytest.approx(plain)
    connection.close()


def test_every_day_on_which_a_jar_was_opened_counts_as_a_meal(pantry: Home) -> None:
    """Two jars of one batch on two days are two meals: late poisonings come from the earlier one."""
    connection = open_ledger(pantry.ledger)
    every, made = jars(connection), batches(connection)
    now = at(DAY + timedelta(days=80))
    told = {s.batch_id for s in servings(connection, now - LOOK_BACK, now)}
    opened = {
        (jar.batch_id, jar.state_on)
        for jar in every
        if jar.state == "eaten" and jar.state_on and jar.batch_id not in told
    } | {(b.id, b.made_on) for b in made.values() if b.method_id == "cook_tonight" and b.id not in told}
    connection.close()
    incident = feel_ill(pantry.folder, IllNote("Ada", now, now))
    shown = {(meal.batch_id, max(meal.moments).date()) for meal in incident.meals if not meal.known_time}
    assert shown == {(b, day) for b, day in opened if day and (now - LOOK_BACK).date() <= day <= now.date()}
    assert len({batch for batch, _ in shown}) < len(shown)


def test_only_a_kept_jar_gets_a_label_and_a_doubtful_one_is_not_given(pantry: Home) -> None:
    whole = shelf(pantry, today=TODAY, all_states=True)
    kept = next(one for one in whole.jars if one.jar.state == "kept")
    gone = next(one for one in whole.jars if one.jar.state == "eaten")
    doubtful = next(one for one in whole.jars if one.doubt and one.jar.state == "kept" and one.jar.use_by)
    assert [one.jar for one in write_labels(pantry, today=TODAY, codes=[kept.jar.code]).jars] == [kept.jar]
    with pytest.raises(NoAnswer, match=gone.jar.code.upper()):
        write_labels(pantry, today=TODAY, codes=[gone.jar.code])
    with pytest.raises(NoAnswer, match="not given to anybody"):
        change_jar(pantry, doubtful.jar.code, "given", today=TODAY)
