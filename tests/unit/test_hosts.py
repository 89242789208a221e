"""Names of trees and the groups they mean."""

from __future__ import annotations

import pytest

from underoak.book.hosts import host_groups, host_preference, match_host


@pytest.mark.parametrize(
    ("text", "group"),
    [
        ("Quercus alba L.", "white_oak"),
        ("Quercus alba var. repanda", "white_oak"),
        ("northern red oak", "red_oak"),
        ("Oak, white", "white_oak"),
        ("whiteoak", "white_oak"),
        ("blackoak", "red_oak"),
        ("QURU", "red_oak"),
        ("quru", "red_oak"),
        ("old oaks along here", "oak"),
        ("Quercus sp.", "oak"),
        ("some old white oaks", "white_oak"),
        ("many beeches", "beech"),
        ("wild cherries", "cherry"),
        ("glasses", "unknown"),
        ("tulip poplar", "tulip_tree"),
        ("Picea abies (L.) H. Karst.", "spruce"),
        ("Abies balsamea", "fir"),
        ("Sycamore (Acer pseudoplatanus)", "maple"),
        ("Populus deltoides", "poplar"),
        ("mountain ash", "unknown_hardwood"),
        ("ash-leaf maple", "maple"),
        ("blue beech", "hornbeam"),
        ("Acer saccharum / sugar maple", "maple"),
        ("poison oak", "unknown_hardwood"),
        ("red_oak", "red_oak"),
        ("misc", "unknown"),
        ("soaked", "unknown"),
        ("", "unknown"),
    ],
)
def test_names_find_their_group(text: str, group: str) -> None:
    assert match_host(text) == group


def test_no_synonym_or_code_stands_in_two_groups() -> None:
    names = [name for group in host_groups().values() for name in (*group.synonyms, *group.codes)]
    assert sorted(names) == sorted(set(names))


def test_every_synonym_finds_its_own_group() -> None:
    for key, group in host_groups().items():
        assert [match_host(name) for name in group.synonyms] == [key] * len(group.synonyms)


def test_a_wider_group_gets_the_mean_of_its_parts_and_the_unknown_a_little() -> None:
    hosts = {"white_oak": 1.0, "red_oak": 0.6}
    assert host_preference(hosts, "white_oak") == 1.0
    assert host_preference(hosts, "oak") == pytest.approx(0.8)
    assert host_preference({"oak": 0.9}, "red_oak") == 0.9
    assert host_preference(hosts, "unknown_hardwood") == pytest.approx(0.2)
    assert host_preference(hosts, "unknown_conifer") == 0.0
    assert host_preference(hosts, "maple") == 0.0
    assert 0.0 < host_preference(hosts, "unknown") < host_preference(hosts, "unknown_hardwood")
