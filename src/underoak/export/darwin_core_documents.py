"""The two documents of a Darwin Core archive: how its tables are built, and what it is."""

from __future__ import annotations

from collections.abc import Sequence
from xml.sax.saxutils import escape, quoteattr

from underoak.export.blurred_record import WITHHELD, Terms

_TEXT = (
    'encoding="UTF-8" fieldsTerminatedBy="\\t" linesTerminatedBy="\\n" '
    'fieldsEnclosedBy="" ignoreHeaderLines="1"'
)
_RIGHTS = {
    "cc0": "To the extent possible under law, the publisher has waived all rights to these data (CC0 1.0).",
    "cc-by": "These data may be used under the Creative Commons Attribution licence (CC BY 4.0).",
}


def meta_xml(tables: Sequence[tuple[str, str, Sequence[str]]]) -> str:
    """meta.xml for tables given as (file, row type, terms); the first is the core.

    Source: Darwin Core Text Guide, schema tdwg_dwc_text.xsd (seen). What the schema lets pass is kept by
    construction: the core has an id, indexes stand inside the columns.
    """
    parts = []
    for number, (file, row_type, terms) in enumerate(tables):
        kind, key = ("core", "id") if number == 0 else ("extension", "coreid")
        fields = "\n".join(
            f'    <field index="{index}" term={quoteattr(term)}/>'
            for index, term in enumerate(terms)
            if number == 0 or index > 0
        )
        parts.append(
            f"  <{kind} {_TEXT} rowType={quoteattr(row_type)}>\n"
            f"    <files><location>{escape(file)}</location></files>\n"
            f'    <{key} index="0"/>\n{fields}\n  </{kind}>'
        )
    body = "\n".join(parts)
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<archive xmlns="http://rs.tdwg.org/dwc/text/" metadata="eml.xml">\n{body}\n</archive>\n'
    )


def eml_xml(terms: Terms) -> str:
    """eml.xml of the data set. Source: EML 2.2.0 (seen); GBIF also expects date, language and abstract."""
    party = f"<organizationName>{escape(terms.by)}</organizationName>"
    abstract = (
        "Fruit bodies of fungi that one household found, and those it looked for and did not find. "
        f"Left out: {WITHHELD}. Positions are centres of grid cells. Names are the household's own unless "
        "a person confirmed them. Nothing here says that anything may be eaten."
    )
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        '<eml:eml xmlns:eml="https://eml.ecoinformatics.org/eml-2.2.0" '
        'xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance" '
        f'packageId={quoteattr(terms.dataset_id)} system="underoak" scope="system" xml:lang="en">\n'
        " <dataset>\n"
        f"  <title>{escape(terms.title)}</title>\n"
        f"  <creator>{party}</creator>\n"
        f"  <pubDate>{terms.published_on.isoformat()}</pubDate>\n"
        "  <language>en</language>\n"
        f"  <abstract><para>{escape(abstract)}</para></abstract>\n"
        f"  <intellectualRights><para>{_RIGHTS[terms.licence]}</para></intellectualRights>\n"
        f"  <contact>{party}</contact>\n"
        " </dataset>\n"
        "</eml:eml>\n"
    )
