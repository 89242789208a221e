"""Blurred records as a Darwin Core archive: occurrences, facts, identifications and pictures in one zip."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from underoak.export.blurred_record import BlurredRecord, Terms, in_order
from underoak.export.csv_table import csv_text, tsv_text
from underoak.export.darwin_core_documents import eml_xml, meta_xml
from underoak.export.darwin_core_rows import (
    IDENTIFICATION,
    MEASUREMENT,
    MULTIMEDIA,
    OCCURRENCE,
    identification_rows,
    measurement_rows,
    multimedia_rows,
    occurrence_row,
)

#: The same for every member of every archive: when it was packed is nobody's business.
_MOMENT = (1980, 1, 1, 0, 0, 0)


@dataclass(frozen=True, slots=True)
class TableFile:
    """One table of the archive: its file, what a row is, and the full addresses of its terms.

    The first column of the core is the record's id; of an extension, the id of the core record.
    """

    file: str
    row_type: str
    terms: tuple[str, ...]
    rows: tuple[Sequence[object], ...]

    def text(self) -> str:
        """The table, tab-separated, with one header line of plain term names."""
        return tsv_text([term.rpartition("/")[2] for term in self.terms], self.rows)


def tables(records: Iterable[BlurredRecord], terms: Terms) -> tuple[TableFile, ...]:
    """Core and extensions; extensions without a row are left out."""
    ordered = in_order(records)
    core = TableFile("occurrence.txt", *OCCURRENCE, tuple(occurrence_row(r, terms) for r in ordered))
    extensions = (
        TableFile("measurementorfact.txt", *MEASUREMENT, tuple(measurement_rows(ordered))),
        TableFile("identification.txt", *IDENTIFICATION, tuple(identification_rows(ordered))),
        TableFile("multimedia.txt", *MULTIMEDIA, tuple(multimedia_rows(ordered, terms))),
    )
    return (core, *(table for table in extensions if table.rows))


def darwin_core_archive(records: Iterable[BlurredRecord], terms: Terms) -> bytes:
    """The archive's bytes; the same records and terms give the same bytes.

    Source: Darwin Core Text Guide (TDWG) and its schema tdwg_dwc_text.xsd (seen); EML 2.2.0 (seen).
    """
    kept = list(records)
    parts = tables(kept, terms)
    members: dict[str, bytes] = {
        "meta.xml": meta_xml([(part.file, part.row_type, part.terms) for part in parts]).encode(),
        "eml.xml": eml_xml(terms).encode(),
        **{part.file: part.text().encode() for part in parts},
    }
    for picture in (picture for record in kept for picture in record.pictures):
        members[picture.file] = picture.data
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name in sorted(members):
            info = zipfile.ZipInfo(name, _MOMENT)
            info.compress_type = zipfile.ZIP_DEFLATED
            info.create_system = 3
            info.external_attr = 0o644 << 16
            archive.writestr(info, members[name])
    return out.getvalue()


def occurrence_csv(records: Iterable[BlurredRecord], terms: Terms) -> str:
    """The occurrences alone, as a comma-separated table with Darwin Core headers."""
    names = [term.rpartition("/")[2] for term in OCCURRENCE[1]]
    return csv_text(names, [occurrence_row(record, terms) for record in in_order(records)])
