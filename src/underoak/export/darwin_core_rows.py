"""Which Darwin Core terms a record fills, and with what."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from underoak.export.blurred_record import WITHHELD, BlurredRecord, Terms, uncertainty_words

_DWC = "http://rs.tdwg.org/dwc/terms/"
_DC = "http://purl.org/dc/terms/"


def _dwc(*names: str) -> tuple[str, ...]:
    return tuple(_DWC + name for name in names)


#: (row type, terms in column order) of each table. Source: Darwin Core, issued 2025-07-10 (seen).
OCCURRENCE = (
    _DWC + "Occurrence",
    (
        *_dwc("occurrenceID", "basisOfRecord", "occurrenceStatus", "scientificName", "taxonRank", "kingdom"),
        *_dwc("identificationQualifier", "verbatimIdentification", "identificationVerificationStatus"),
        *_dwc("eventDate", "decimalLatitude", "decimalLongitude", "geodeticDatum"),
        *_dwc("coordinateUncertaintyInMeters", "dataGeneralizations", "informationWithheld"),
        *_dwc("individualCount", "organismQuantity", "organismQuantityType", "lifeStage"),
        *_dwc("samplingProtocol", "samplingEffort", "datasetName"),
        _DC + "license",
        _DC + "rightsHolder",
    ),
)
MEASUREMENT = (
    _DWC + "MeasurementOrFact",
    _dwc(
        "occurrenceID",
        "measurementType",
        "measurementValue",
        "measurementUnit",
        "measurementDeterminedDate",
        "measurementMethod",
        "measurementRemarks",
    ),
)
IDENTIFICATION = (
    _DWC + "Identification",
    _dwc(
        "occurrenceID",
        "scientificName",
        "taxonRank",
        "identificationQualifier",
        "verbatimIdentification",
        "identifiedBy",
        "dateIdentified",
        "identificationVerificationStatus",
        "identificationRemarks",
    ),
)
MULTIMEDIA = (
    "http://rs.gbif.org/terms/1.0/Multimedia",
    (
        _DWC + "occurrenceID",
        *(_DC + name for name in ("type", "format", "identifier", "title", "license", "rightsHolder")),
    ),
)


def occurrence_row(record: BlurredRecord, terms: Terms) -> Sequence[object]:
    """One row of the core.

    A find is a human observation. What was looked for and not found has the status absent; a look that
    found nothing at a spot without history is an absence of any mushroom the household gathers.
    """
    lon, lat = record.cell.centre
    given = record.names[-1].status if record.names else "unverified"
    weighed = record.fresh_g is not None
    return (
        record.id,
        "HumanObservation",
        "present" if record.present else "absent",
        record.scientific_name,
        record.rank,
        "Fungi",
        record.qualifier,
        record.verbatim,
        given if record.present else "",
        record.when,
        f"{lat:.5f}",
        f"{lon:.5f}",
        "EPSG:4326",
        record.cell.uncertainty_m,
        uncertainty_words(record.cell.size_km),
        WITHHELD,
        record.bodies,
        record.fresh_g,
        "fresh mass in grams" if weighed else "",
        record.stage,
        "searching known spots on foot",
        ""
        if record.searched is None
        else f"share of what stood there that would be seen: {record.searched:g}",
        terms.title,
        terms.licence_url,
        terms.by,
    )


def measurement_rows(records: Iterable[BlurredRecord]) -> Iterator[Sequence[object]]:
    """One row for each character of each body that was looked at."""
    for record in records:
        for fact in record.facts:
            body = f"fruit body {fact.body}"
            yield (record.id, fact.kind, fact.value, fact.unit, fact.seen_on, fact.method, body)


def identification_rows(records: Iterable[BlurredRecord]) -> Iterator[Sequence[object]]:
    """One row for each verdict, oldest first."""
    for record in records:
        for name in record.names:
            yield (
                record.id,
                name.scientific_name,
                name.rank,
                name.qualifier,
                name.verbatim,
                name.by,
                name.given_on,
                name.status,
                name.remarks,
            )


def multimedia_rows(records: Iterable[BlurredRecord], terms: Terms) -> Iterator[Sequence[object]]:
    """One row for each picture; its identifier is the file's name inside the archive."""
    for record in records:
        for picture in record.pictures:
            title = picture.shows or record.scientific_name
            yield (
                record.id,
                "StillImage",
                "image/jpeg",
                picture.file,
                title,
                terms.licence_url,
                terms.by,
            )
