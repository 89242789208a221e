"""Check that the documentation keeps up with the program; prints every gap and exits 1 if there is one.

Checked: every command and every setting is explained, every decision record has its four headings,
every link between documents leads somewhere, every cited source key exists, and every daily quantity
stands in the nomenclature.
"""

from __future__ import annotations

import re
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

from underoak.cli.main import COMMANDS
from underoak.model.household import Settings
from underoak.model.weather import DAILY_QUANTITIES

ROOT = Path(__file__).resolve().parents[1]
DOCS = ROOT / "docs"
HEADINGS = ("## Context", "## Decision", "## Rejected", "## How to undo")


def gaps() -> Iterator[str]:
    """Every gap as one line."""
    yield from missing_words(DOCS / "commands.md", (f"`underoak {name}" for name in COMMANDS))
    yield from missing_words(DOCS / "settings.md", setting_names())
    yield from missing_words(DOCS / "nomenclature.md", (f"`{name}`" for name in DAILY_QUANTITIES))
    yield from decision_gaps()
    yield from dead_links()
    yield from unknown_sources()


def missing_words(path: Path, words: Iterator[str]) -> Iterator[str]:
    """Words that the document at ``path`` must contain and does not."""
    text = path.read_text("utf-8")
    return (f"{path.relative_to(ROOT)}: {word} is not explained" for word in words if word not in text)


def setting_names() -> Iterator[str]:
    """All settings, as `name` or `table.name`."""
    schema = Settings.model_json_schema()
    for name, field in schema["properties"].items():
        yield f"`{name}`"
        reference = field.get("$ref") or field.get("items", {}).get("$ref")
        if reference:
            parts = schema["$defs"][reference.rsplit("/", 1)[-1]]["properties"]
            yield from (f"`{name}.{part}`" for part in parts)


def decision_gaps() -> Iterator[str]:
    """Decision records without their headings."""
    for path in sorted((DOCS / "decisions").glob("*.md")):
        text = path.read_text("utf-8")
        yield from (f"{path.relative_to(ROOT)}: no '{head}'" for head in HEADINGS if head not in text)


def dead_links() -> Iterator[str]:
    """Relative links in Markdown files that lead nowhere."""
    for path in [*ROOT.glob("*.md"), *DOCS.rglob("*.md")]:
        for target in re.findall(r"\]\(([^)#:\s]+)(?:#[^)]*)?\)", path.read_text("utf-8")):
            if not (path.parent / target).exists():
                yield f"{path.relative_to(ROOT)}: the link to {target} leads nowhere"


def unknown_sources() -> Iterator[str]:
    """Keys that the book cites and `sources.toml` does not explain."""
    book = ROOT / "src/underoak/book"
    known = set(tomllib.loads((book / "sources.toml").read_text("utf-8")))
    for path in sorted(book.rglob("*.toml")):
        for key in sorted(set(cited(tomllib.loads(path.read_text("utf-8"))))):
            if key not in known:
                yield f"{path.relative_to(ROOT)}: source {key!r} is not in sources.toml"


def cited(document: object) -> Iterator[str]:
    """Every value of a field called source or sources, at any depth."""
    if isinstance(document, dict):
        for name, value in document.items():
            if name == "source" and isinstance(value, str):
                yield value
            elif name == "sources" and isinstance(value, list):
                yield from (str(key) for key in value if isinstance(key, str))
            else:
                yield from cited(value)
    elif isinstance(document, list):
        for item in document:
            yield from cited(item)


def main() -> int:
    """Print the gaps; 1 if there are any."""
    found = list(gaps())
    for line in found:
        print(line)
    print(f"docs: {len(found)} gaps" if found else "docs: complete")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
