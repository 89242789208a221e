"""The dossier of a find for a person who knows, as PDF and as one HTML page."""

from __future__ import annotations

import html
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from underoak.model.book import DANGER_WORDS, harm_words
from underoak.sheets.pdf import compile_typst
from underoak.sheets.wording import EATING_CAUTIONS
from underoak.vetting.verdict import named

QUESTION = (
    "Would you look at this, best with the find in hand, and say what it is, or that it cannot be told? "
    "Please say so plainly when in doubt."
)


def write_dossier(folder: Path, dossier: Any, paper: str) -> tuple[Path, Path]:
    """Write ``ask-FIND.pdf`` and ``ask-FIND.html`` and hand back both paths; the photos are in the page."""
    folder.mkdir(parents=True, exist_ok=True)
    stem = "".join(c if c.isalnum() or c in "-_" else "-" for c in dossier.find_id)
    content = dossier_content(dossier, paper)
    pdf, page = folder / f"ask-{stem}.pdf", folder / f"ask-{stem}.html"
    pdf.write_bytes(compile_typst("dossier", content))
    page.write_text("\n".join(_page(content, dossier.photos)), "utf-8")
    return pdf, page


def dossier_content(dossier: Any, paper: str) -> dict[str, Any]:
    """Everything on the page as plain data; nothing in it says where the find was made."""
    verdict = dossier.verdict
    return {
        "title": f"What is this? Noted as {dossier.target}",
        "paper": paper,
        "question": QUESTION,
        "cautions": [verdict.words, EATING_CAUTIONS[0]],
        "facts": [
            ["Found in", dossier.month],
            ["Bodies in the lot", str(verdict.bodies_in_lot)],
            ["Book", f"{verdict.book_version}. {verdict.reviewed}"],
            ["Photos", f"{len(dossier.photos)}, in the page beside this one" if dossier.photos else "none"],
        ],
        "bodies": [_body(b) for b in dossier.bodies],
        "open": [r.words for r in verdict.reasons if r.state in ("open", "refused")] or ["Nothing."],
        "beside": [_side(b) for b in dossier.beside],
    }


def _body(body: Any) -> dict[str, Any]:
    stems = f", {body.stems} stems" if body.stems > 1 else ""
    return {
        "heading": f"{named(body.body_id)}: {body.kind}{stems}, {body.age}",
        "seen": list(body.seen),
        "unclear": list(body.unclear),
    }


def _side(beside: Any) -> dict[str, Any]:
    return {
        "heading": f"{beside.scientific_name} ({DANGER_WORDS[beside.danger]}: {harm_words(beside.harm)})",
        "rows": [
            [d.question, d.mine or "not told", d.other or "not told", "yes" if d.decisive else ""]
            for d in beside.differences
        ],
    }


def _page(content: dict[str, Any], photos: tuple[tuple[str, str], ...]) -> Iterator[str]:
    def text(words: str) -> str:
        return html.escape(words, quote=True)

    yield '<!doctype html><html lang="en"><head><meta charset="utf-8">'
    yield '<meta name="viewport" content="width=device-width, initial-scale=1">'
    yield f"<title>{text(content['title'])}</title><style>{_STYLE}</style></head><body>"
    yield f"<h1>{text(content['title'])}</h1><p>{text(content['question'])}</p>"
    yield "".join(f'<p class="caution"><strong>Caution.</strong> {text(c)}</p>' for c in content["cautions"])
    yield _table([[text(a), text(b)] for a, b in content["facts"]])
    for picture, shows in photos:
        words = text(shows or "photo")
        yield f'<figure><img alt="{words}" src="data:image/jpeg;base64,{picture}">'
        yield f"<figcaption>{words}</figcaption></figure>"
    yield "<h2>What was seen</h2>"
    for body in content["bodies"]:
        yield f"<h3>{text(body['heading'])}</h3>"
        yield _list([text(line) for line in body["seen"]])
        if body["unclear"]:
            yield "<p>Looked, but could not tell:</p>" + _list([text(line) for line in body["unclear"]])
    yield "<h2>What is open</h2>" + _list([text(line) for line in content["open"]])
    yield "<h2>Side by side</h2>"
    for side in content["beside"]:
        yield f"<h3>{text(side['heading'])}</h3>"
        head = ["character", "noted name", "this one", "decides"]
        yield _table([[text(cell) for cell in row] for row in side["rows"]], head)
    yield "<h2>Your answer</h2><p>Name, day, what it is, seen in hand or on photos:</p></body></html>"


def _list(lines: list[str]) -> str:
    return "<ul>" + "".join(f"<li>{line}</li>" for line in lines) + "</ul>"


def _table(rows: list[list[str]], head: list[str] | None = None) -> str:
    top = "<tr>" + "".join(f'<th scope="col">{cell}</th>' for cell in head) + "</tr>" if head else ""
    body = "".join("<tr>" + "".join(f"<td>{cell}</td>" for cell in row) + "</tr>" for row in rows)
    return f"<table>{top}{body}</table>"


_STYLE = (
    "body{font:16px/1.45 serif;max-width:60rem;margin:1rem auto;padding:0 1rem}"
    "table{border-collapse:collapse;width:100%}td,th{border:1px solid #444;padding:.3rem;text-align:left;"
    "vertical-align:top}.caution{border-left:.4rem solid #000;padding:.3rem .6rem}img{max-width:100%}"
)
