"""A bill of materials of underoak and what it runs on: ``python -m tools.sbom > underoak.cdx.json``.

Source: CycloneDX 1.6, JSON (ECMA-424). Written from the metadata of what is installed, so it tells what a
release was tested with, and from the list of the parts that are carried as files. The same set of libraries
gives the same bytes; no time and no machine stands in it.
"""

from __future__ import annotations

import json
import sys
import uuid
from importlib.metadata import distribution
from typing import Any

from tools.licences import Library, libraries, licence_of, plain_name
from tools.vendored import Part, parts


def _purl(library: Library) -> str:
    return f"pkg:pypi/{library.key}@{library.version}"


def _component(library: Library, kind: str) -> dict[str, Any]:
    known = library.licence != "not named"
    return {
        "type": kind,
        "bom-ref": _purl(library),
        "name": library.name,
        "version": library.version,
        "purl": _purl(library),
        **({"licenses": [_licence(library)]} if known else {}),
    }


def _carried(part: Part) -> dict[str, Any]:
    """A part of another project that stands among our files, with the sum of each of its files."""
    return {
        "type": "library",
        "bom-ref": part.purl,
        "name": part.name,
        "version": part.version,
        "purl": part.purl,
        "licenses": [{"expression": part.licence}],
        "externalReferences": [{"type": "website", "url": part.website}],
        "components": [
            {"type": "file", "name": name, "hashes": [{"alg": "SHA-256", "content": told}]}
            for name, told in sorted(part.sha256.items())
        ],
    }


def _licence(library: Library) -> dict[str, Any]:
    """An expression where it is one of the SPDX list, else the name as told."""
    return {"expression": library.licence} if library.free else {"license": {"name": library.licence}}


def bill(root: str = "underoak") -> dict[str, Any]:
    """The whole document."""
    every = libraries(root)
    installed = distribution(root)
    refs = {library.key: _purl(library) for library in every}
    carried = parts()
    needs = tuple(sorted(key for key in refs if key in _named(root)))
    own = Library(root, installed.version, licence_of(installed), needs)
    document: dict[str, Any] = {
        "bomFormat": "CycloneDX",
        "specVersion": "1.6",
        "version": 1,
        "metadata": {"component": _component(own, "application")},
        "components": [
            *(_component(library, "library") for library in every),
            *(_carried(part) for part in carried),
        ],
        "dependencies": [
            {
                "ref": _purl(own),
                "dependsOn": sorted([*(refs[need] for need in needs), *(p.purl for p in carried)]),
            },
            *(
                {"ref": _purl(each), "dependsOn": sorted(refs[need] for need in each.needs if need in refs)}
                for each in every
            ),
            *({"ref": part.purl, "dependsOn": []} for part in carried),
        ],
    }
    told = json.dumps(document, sort_keys=True)
    return {"serialNumber": f"urn:uuid:{uuid.uuid5(uuid.NAMESPACE_URL, told)}", **document}


def _named(root: str) -> set[str]:
    from tools.licences import needs_of

    return {plain_name(name) for name in needs_of(distribution(root).requires or ())}


def main() -> int:
    """Print the document."""
    print(json.dumps(bill(), indent=1))
    return 0


if __name__ == "__main__":
    sys.exit(main())
