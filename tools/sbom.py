"""A bill of materials of underoak and what it runs on: ``python -m tools.sbom > underoak.cdx.json``.

Source: CycloneDX 1.6, JSON (ECMA-424). Written from the metadata of what is installed, so it tells what a
release was tested with. The same set of libraries gives the same bytes; no time and no machine stands in it.
"""

from __future__ import annotations

import json
import sys
import uuid
from importlib.metadata import distribution
from typing import Any

from tools.licences import Library, libraries, licence_of, plain_name


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


def _licence(library: Library) -> dict[str, Any]:
    """An expression where it is one of the SPDX list, else the name as told."""
    return {"expression": library.licence} if library.free else {"license": {"name": library.licence}}


def bill(root: str = "underoak") -> dict[str, Any]:
    """The whole document."""
    every = libraries(root)
    installed = distribution(root)
    refs = {library.key: _purl(library) for library in every}
    needs = tuple(sorted(key for key in refs if key in _named(root)))
    own = Library(root, installed.version, licence_of(installed), needs)
    document: dict[str, Any] = {
        "bomFormat": "CycloneDX",
        "specVersion": "1.6",
        "version": 1,
        "metadata": {"component": _component(own, "application")},
        "components": [_component(library, "library") for library in every],
        "dependencies": [
            {"ref": _purl(library), "dependsOn": sorted(refs[need] for need in library.needs if need in refs)}
            for library in (own, *every)
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
