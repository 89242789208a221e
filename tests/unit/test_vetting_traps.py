"""The sixteen traps of a naive engine: each must end in refused or open, never in consistent."""

from __future__ import annotations

import pytest

from tests.vetting_finds import body, document, find_of, notes
from underoak.book.load import load_book
from underoak.errors import UserMistake
from underoak.model.vetting import Observations, Verdict
from underoak.vetting.case import noted
from underoak.vetting.lapse import Standing, lapsed
from underoak.vetting.likelihood import log_prior, shares
from underoak.vetting.matrix import compiled
from underoak.vetting.trials import without
from underoak.vetting.verdict import evaluate

HONEY = "desarmillaria_caespitosa"


def verdict(doc: Observations) -> Verdict:
    return evaluate(load_book(), doc)


def kinds(answer: Verdict) -> set[str]:
    return {reason.kind for reason in answer.reasons}


@pytest.mark.parametrize("taxon", [t.id for t in load_book().taxa.values() if t.gathered])
def test_a_typical_careful_find_is_consistent_so_that_no_trap_below_passes_for_free(taxon: str) -> None:
    answer = verdict(find_of(taxon))
    assert answer.state == "consistent", [r.words for r in answer.reasons]


def test_trap_01_a_button_stays_open_whatever_the_rest_says() -> None:
    answer = verdict(document(HONEY, body(notes(HONEY), age="button")))
    assert answer.state == "open"
    assert "age" in kinds(answer)


def test_trap_01_an_age_that_was_not_noted_stays_open() -> None:
    assert verdict(document(HONEY, body(notes(HONEY), age=None))).state == "open"


@pytest.mark.parametrize("look", ["not_looked", "cant_tell", None])
def test_trap_02_a_base_left_in_the_ground_is_no_absent_sac(look: str | None) -> None:
    answer = verdict(find_of("coprinus_comatus", sac=look))
    assert answer.state == "open"
    open_taxa = {d.taxon_id for b in answer.bodies for d in b.doubles if not d.excluded}
    assert "amanita_bisporigera" in open_taxa
    assert any("sac" in r.characters and r.at_home is False for r in answer.reasons if r.kind == "missing")


def test_trap_03_a_lost_ring_excludes_no_galerina() -> None:
    book = load_book()
    find = noted(book, document(HONEY, body({"ring": {"look": "absent"}})).bodies)
    assert not find.exclusions.by[0, find.matrix.rows["galerina_marginata"]].any()


def test_trap_03_a_ring_that_is_there_excludes_the_ringless() -> None:
    answer = verdict(find_of(HONEY, ring="thin"))
    assert answer.state == "refused"


def test_trap_03_a_faded_cap_says_nothing_for_the_name() -> None:
    answer = verdict(find_of("armillaria_mellea_group", cap_surface="smooth"))
    assert answer.state == "open"
    assert "unclear" in kinds(answer)


def test_trap_04_one_strange_body_fails_the_whole_basket() -> None:
    good = [body(notes(HONEY), id=str(n)) for n in range(6)]
    assert verdict(document(HONEY, *good)).state == "consistent"
    answer = verdict(document(HONEY, *good, body(notes("galerina_marginata"), id="x")))
    assert answer.state == "refused"


def test_trap_04_a_body_nobody_looked_at_keeps_the_basket_open() -> None:
    answer = verdict(document(HONEY, body(notes(HONEY)), bodies_in_lot=2))
    assert answer.state == "open"
    assert "count" in kinds(answer)


def test_trap_04_stems_of_a_cluster_that_were_not_looked_at_keep_it_open() -> None:
    every = {n: {**o, "stems": 12} for n, o in notes(HONEY).items()}
    some = {**every, "cap_surface": {**every["cap_surface"], "stems": 11}}
    assert verdict(document(HONEY, body(every, kind="cluster", stems=12))).state == "consistent"
    assert verdict(document(HONEY, body(some, kind="cluster", stems=12))).state == "open"


@pytest.mark.parametrize(
    ("target", "changes"),
    [
        (HONEY, {"gill_colour": "rusty"}),
        ("grifola_frondosa", {"gill_attachment": "decurrent"}),
        ("coprinus_comatus", {"print_colour": "white"}),
        ("pleurotus_ostreatus_group", {"substrate": "standing_wood", "base_rises_from": "soil"}),
    ],
)
def test_trap_05_contradictions_hold_and_show_both(target: str, changes: dict[str, str]) -> None:
    answer = verdict(find_of(target, **changes))
    assert answer.state in ("open", "refused")
    pair = next(r for r in answer.reasons if r.kind == "contradiction")
    assert len(pair.characters) == 2
    assert "Look again" in pair.words


def test_trap_06_an_unknown_host_keeps_wood_growers_open() -> None:
    for target in ("pleurotus_ostreatus_group", "laetiporus_sulphureus", "laetiporus_cincinnatus"):
        assert verdict(find_of(target, host="cant_tell")).state == "open"


def test_trap_06_on_the_ground_without_digging_excludes_no_wood_grower() -> None:
    book = load_book()
    find = noted(book, document(None, body({"substrate": {"look": "seen", "states": ["ground"]}})).bodies)
    for taxon in ("galerina_marginata", "omphalotus_illudens", HONEY):
        assert not find.exclusions.by[0, find.matrix.rows[taxon]].any()


@pytest.mark.parametrize(
    ("name", "taxon"),
    [
        ("Armillaria tabescens", HONEY),
        ("Clitocybe nuda", "lepista_nuda"),
        ("Collybia nuda", "lepista_nuda"),
        ("Lycoperdon pyriforme", "apioperdon_pyriforme"),
        ("Armillaria gallica", "armillaria_mellea_group"),
        ("Galerina autumnalis", "galerina_marginata"),
    ],
)
def test_trap_07_renamed_taxa_and_members_lead_to_one_entry(name: str, taxon: str) -> None:
    assert load_book().find(name).id == taxon


def test_trap_07_groups_name_their_members() -> None:
    assert all(t.members for t in load_book().taxa.values() if t.rank == "group")


def test_trap_08_season_never_speaks_against_a_danger_and_raises_none_of_these() -> None:
    book = load_book()
    matrix = compiled(book)
    in_season, winter = log_prior(book, matrix, 255), log_prior(book, matrix, 20)
    for taxon in book.taxa.values():
        if taxon.dangerous:
            assert winter[matrix.rows[taxon.id]] == in_season[matrix.rows[taxon.id]]
    assert winter[matrix.rows[HONEY]] < in_season[matrix.rows[HONEY]]
    find = noted(book, find_of(HONEY).bodies)
    other = [shares(matrix, find.seen, prior)[0, -1] for prior in (in_season, winter)]
    assert other[1] > other[0]


def test_trap_08_season_and_setting_exclude_nothing() -> None:
    book = load_book()
    find = noted(book, document(None, body({"setting": {"look": "seen", "states": ["grass"]}})).bodies)
    assert not find.exclusions.by.any()


def test_trap_09_neighbouring_colours_exclude_nothing() -> None:
    book = load_book()
    for colour in ("cream", "white"):
        find = noted(
            book, document(None, body({"print_colour": {"look": "seen", "states": [colour]}})).bodies
        )
        assert not find.exclusions.by[0, find.matrix.rows["omphalotus_illudens"]].any()
    find = noted(book, document(None, body({"print_colour": {"look": "seen", "states": ["white"]}})).bodies)
    assert not find.exclusions.by[0, find.matrix.rows["chlorophyllum_molybdites"]].any()


@pytest.mark.parametrize("look", ["not_looked", "cant_tell", None])
def test_trap_10_no_powder_is_unknown_not_white(look: str | None) -> None:
    answer = verdict(find_of(HONEY, print_colour=look))
    assert answer.state == "open"
    open_taxa = {d.taxon_id for b in answer.bodies for d in b.doubles if not d.excluded}
    assert "galerina_marginata" in open_taxa
    assert "print_colour" in {check.character for check in answer.next_checks}


def test_trap_11_an_aborted_lump_with_an_outline_is_refused() -> None:
    assert verdict(find_of("entoloma_abortivum", section="outline")).state == "refused"


def test_trap_11_the_gilled_form_is_never_called_by_the_name() -> None:
    gilled = notes("entoloma_sinuatum_group")
    assert verdict(document("entoloma_abortivum", body(gilled))).state == "refused"


def test_trap_11_a_crust_on_another_mushroom_is_no_milk_cap() -> None:
    assert verdict(find_of("lactarius_deliciosus_group", hymenium="crust")).state == "refused"


@pytest.mark.parametrize("name", ["honey mushroom", "chicken of the woods"])
def test_trap_12_a_shared_common_name_is_refused_with_its_candidates(name: str) -> None:
    with pytest.raises(UserMistake) as error:
        load_book().find(name)
    assert len(error.value.problem.expected.split(";")) > 1


def test_trap_13_an_unlisted_species_is_not_the_last_one_standing() -> None:
    """Everything but a few neutral observations blank: survival alone names nothing."""
    sparse = {"form": "cap_and_stem", "hymenium": "gills", "cap_colour": "brown"}
    noted_few = {n: {"look": "seen", "states": [s]} for n, s in sparse.items()}
    answer = verdict(document(HONEY, body(noted_few)))
    assert answer.state == "open"
    assert "missing" in kinds(answer)


def test_trap_13_what_the_book_does_not_know_is_none_of_these() -> None:
    book = without(load_book(), "coprinus_comatus")
    answer = evaluate(book, document(None, body(notes("coprinus_comatus"))))
    assert answer.state != "consistent"
    assert answer.candidates[0].taxon_id is None or answer.candidates[0].share < 0.999


def test_trap_14_correlated_evidence_counts_once() -> None:
    book = load_book()
    both = {
        "gill_colour": {"look": "seen", "states": ["dark"]},
        "print_colour": {"look": "seen", "states": ["black"]},
    }
    find = noted(book, document(None, body(both)).bodies)
    row = find.matrix.rows["amanita_bisporigera"]
    assert find.exclusions.by[0, row].sum() == 2
    assert find.exclusions.groups[0, row] == 1


def test_trap_14_a_photo_alone_excludes_nothing() -> None:
    photo = {n: {**o, "by": "photo"} for n, o in notes(HONEY).items()}
    answer = verdict(document(HONEY, body(photo)))
    assert answer.state == "open"
    assert all(not d.excluded for b in answer.bodies for d in b.doubles)


def test_trap_15_every_question_offers_all_states_and_is_neutral() -> None:
    for character in load_book().characters.values():
        assert character.question.endswith("?")
        assert " and " not in character.question.split(":")[0] or character.question.count("?") == 1
        assert character.unit or len(character.states) >= 2


def test_trap_15_the_hoped_name_changes_no_exclusion() -> None:
    book = load_book()
    one = noted(book, document(HONEY, body(notes("galerina_marginata"))).bodies)
    two = noted(book, document("pleurotus_dryinus", body(notes("galerina_marginata"))).bodies)
    assert (one.exclusions.by == two.exclusions.by).all()


def test_trap_16_a_verdict_lapses_when_bodies_are_added_or_the_book_changes() -> None:
    then = Standing(HONEY, bodies=5, fresh_g=400.0, book_version="a", day=100)
    assert lapsed(then, then) == ()
    assert lapsed(then, Standing(HONEY, 6, 400.0, "a", 100))
    assert lapsed(then, Standing(HONEY, 5, 460.0, "a", 100))
    assert lapsed(then, Standing(HONEY, 5, 400.0, "b", 100))
    assert lapsed(then, Standing("lepista_nuda", 5, 400.0, "a", 100))
    assert lapsed(then, Standing(HONEY, 5, 400.0, "a", 110))
    assert lapsed(then, Standing(HONEY, 5, 400.0, "a", 90))
    assert lapsed(then, Standing(HONEY, 3, 250.0, "a", 101)) == ()
