"""The book: what is known of each kind, beside what it could be taken for."""

from __future__ import annotations

from flask import Blueprint, render_template, request

from underoak.web.site import site

page = Blueprint("book", __name__)


@page.get("/book")
def contents() -> str:
    """All entries; ``find`` narrows by any name."""
    from underoak.desk.read_book import entries

    words = request.args.get("find", "")[:120].strip()
    found = [
        t
        for t in entries()
        if words.casefold() in " ".join((t.scientific_name, *t.common_names, *t.synonyms, t.kin)).casefold()
    ]
    return render_template("book.html", taxa=found, words=words)


@page.get("/book/<taxon>")
def entry(taxon: str) -> str:
    """One entry with its doubles side by side."""
    from underoak.desk.read_book import entry as read

    found = site().remembered.answer(("book", taxon), lambda: read(taxon))
    return render_template("entry.html", entry=found, open=request.args.get("double", ""))
