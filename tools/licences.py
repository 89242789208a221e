"""Under which licence each library and carried part stands: ``python -m tools.licences``.

Ends with code 1 where a library names no licence, or one that asks for more than its notice to be kept.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Iterable
from dataclasses import dataclass
from importlib.metadata import Distribution, PackageNotFoundError, distribution

from packaging.requirements import Requirement

#: Licences that ask for no more than keeping their notice (and, for MPL-2.0, their own changed files open).
#: Identifiers of the SPDX list.
FREE = frozenset(
    {
        "0BSD", "Apache-2.0", "BSD-2-Clause", "BSD-3-Clause", "BSL-1.0", "CC0-1.0", "HPND", "ISC", "MIT",
        "MIT-CMU", "MIT-0", "MPL-2.0", "PSF-2.0", "Python-2.0", "Unlicense", "Zlib", "ZPL-2.1",
    }
)  # fmt: skip
#: How older metadata name the same; anything else is told and not guessed.
_OLD_NAMES = {
    "MIT License": "MIT",
    "BSD License": "BSD-3-Clause",
    "BSD": "BSD-3-Clause",
    "BSD 3-Clause": "BSD-3-Clause",
    "3-Clause BSD License": "BSD-3-Clause",
    "BSD-2-Clause License": "BSD-2-Clause",
    "Apache Software License": "Apache-2.0",
    "Apache License 2.0": "Apache-2.0",
    "Apache 2.0": "Apache-2.0",
    "Apache License, Version 2.0": "Apache-2.0",
    "Mozilla Public License 2.0 (MPL 2.0)": "MPL-2.0",
    "Python Software Foundation License": "PSF-2.0",
    "PSFL": "PSF-2.0",
    "Zope Public License": "ZPL-2.1",
}


@dataclass(frozen=True)
class Library:
    """One installed library: what it is, its licence as SPDX expression, and what it needs."""

    name: str
    version: str
    licence: str
    needs: tuple[str, ...]

    @property
    def key(self) -> str:
        """The name as package indexes compare it."""
        return plain_name(self.name)

    @property
    def free(self) -> bool:
        """Whether every part of the licence is on the list."""
        parts = re.findall(r"[A-Za-z0-9][\w.+-]*", re.sub(r"\bWITH\s+\S+", "", self.licence))
        names = {part for part in parts if part not in ("AND", "OR")}
        if " OR " in self.licence and " AND " not in self.licence:
            return bool(names & FREE)
        return bool(names) and names <= FREE


def plain_name(name: str) -> str:
    """A package's name as indexes compare it (PEP 503)."""
    return re.sub(r"[-_.]+", "-", name).lower()


def licence_of(installed: Distribution) -> str:
    """SPDX expression of a library: as it says itself, else by its licence field or its classifiers."""
    metadata = installed.metadata
    if "License-Expression" in metadata:
        return str(metadata["License-Expression"])
    told = [metadata["License"].strip()] if "License" in metadata else []
    told += [c.rpartition(" :: ")[2] for c in metadata.get_all("Classifier") or () if c.startswith("License")]
    for text in told:
        if text in FREE or text in _OLD_NAMES:
            return _OLD_NAMES.get(text, text)
        if len(text) < 60 and (parts := re.split(r" AND | OR ", text)) and set(parts) <= FREE:
            return text
    return next((text.splitlines()[0][:60] for text in told if text), "") or "not named"


def libraries(root: str = "underoak") -> list[Library]:
    """Every library that is needed at run time, by name, found from what each says that it needs."""
    found: dict[str, Library] = {}
    wanted = [root]
    while wanted:
        name = plain_name(wanted.pop())
        if name in found:
            continue
        installed = distribution(name)
        needs = tuple(sorted({plain_name(need) for need in needs_of(installed.requires or ())}))
        found[name] = Library(installed.metadata["Name"], installed.version, licence_of(installed), needs)
        wanted += needs
    return [library for key, library in sorted(found.items()) if key != plain_name(root)]


def needs_of(requirements: Iterable[str]) -> list[str]:
    """Names of the requirements that count here: no extras, and installed on this kind of machine."""
    needs = []
    for text in requirements:
        requirement = Requirement(text)
        if requirement.marker is None or requirement.marker.evaluate({"extra": ""}):
            try:
                distribution(requirement.name)
            except PackageNotFoundError:
                continue
            needs.append(requirement.name)
    return needs


def main() -> int:
    """Print the table."""
    from tools.vendored import parts

    every = [*libraries(), *(part.as_library() for part in parts())]
    for library in every:
        mark = "" if library.free else "   <- look at this one"
        print(f"{library.name:24} {library.version:14} {library.licence}{mark}")
    strange = [library.name for library in every if not library.free]
    print(f"{len(every)} libraries; {len(strange)} to look at")
    return 1 if strange else 0


if __name__ == "__main__":
    sys.exit(main())
