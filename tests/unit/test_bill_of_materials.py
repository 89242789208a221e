"""Licences and the bill of materials."""

from __future__ import annotations

import hashlib
import json
import re
from pathlib import Path

import pytest
from tools.licences import Library, libraries
from tools.sbom import bill
from tools.vendored import FOLDER, LIST_NAME, parts

ROOT = Path(__file__).parents[2]


def test_every_library_has_a_free_licence() -> None:
    assert [f"{each.name}: {each.licence}" for each in libraries() if not each.free] == []


@pytest.mark.parametrize(
    ("licence", "free"),
    [("MIT", True), ("GPL-3.0-only", False), ("not named", False), ("MIT OR GPL-2.0-only", True),
     ("MIT AND GPL-2.0-only", False), ("BSD-3-Clause AND (MIT OR Zlib)", True), ("", False)],
)  # fmt: skip
def test_what_counts_as_free(licence: str, free: bool) -> None:
    assert Library("x", "1", licence, ()).free is free


def test_the_bill_names_what_the_lock_file_pins() -> None:
    """requirements/run.txt, made by a resolver of its own."""
    text = (ROOT / "requirements" / "run.txt").read_text()
    pinned = {m[1].lower().replace("_", "-") for m in re.finditer(r"^([\w.-]+)==", text, re.M)}
    named = {each["purl"].split("/")[1].split("@")[0] for each in bill()["components"]}
    assert pinned <= named | {"colorama", "tzdata"}


def test_every_carried_file_is_listed_and_unchanged() -> None:
    """The sums are those of the files in the package that its registry hands out."""
    listed = {name: told for part in parts() for name, told in part.sha256.items()}
    there = {str(path.relative_to(FOLDER)): path for path in FOLDER.rglob("*") if path.is_file()}
    assert set(listed) == set(there) - {LIST_NAME}
    assert {name: hashlib.sha256(there[name].read_bytes()).hexdigest() for name in listed} == listed


def test_carried_parts_are_what_they_say_of_themselves() -> None:
    (leaflet,) = parts()
    assert f"Leaflet {leaflet.version}," in (FOLDER / "leaflet/leaflet.js").read_text("utf-8")[:200]
    assert (FOLDER / "leaflet/LICENSE").read_text("utf-8").startswith("BSD 2-Clause License")
    assert leaflet.licence == "BSD-2-Clause"
    assert leaflet.as_library().free


def test_the_bill_holds_the_carried_parts() -> None:
    document = bill()
    component = next(each for each in document["components"] if each["purl"] == "pkg:npm/leaflet@1.9.4")
    assert {each["name"] for each in component["components"]} == set(parts()[0].sha256)
    own = document["metadata"]["component"]["bom-ref"]
    needs = next(each["dependsOn"] for each in document["dependencies"] if each["ref"] == own)
    assert component["bom-ref"] in needs


def test_the_bill_is_valid_and_the_same_every_time() -> None:
    """The JSON schema of CycloneDX 1.6, as its own library carries it."""
    text = json.dumps(bill())
    assert json.dumps(bill()) == text
    refs = {each["bom-ref"] for each in [*bill()["components"], bill()["metadata"]["component"]]}
    assert {each["ref"] for each in bill()["dependencies"]} == refs
    pytest.importorskip("jsonschema")
    validation = pytest.importorskip("cyclonedx.validation.json")
    schema = pytest.importorskip("cyclonedx.schema")
    assert validation.JsonStrictValidator(schema.SchemaVersion.V1_6).validate_str(text) is None
