"""XML from outside, read without entities, document types or anything fetched."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from underoak.errors import BadData
from underoak.intake.reading import read_bytes
from underoak.model.problem import Problem

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element


def read_xml(path: Path, *, root: str, expected: str) -> Element:
    """Root element of an XML file, with namespaces left out of all tag names.

    Raises
    ------
    BadData   when the file is missing, empty or binary, is no well-formed XML, declares a document type or
              entities (they can be made to fill the memory), or has another root than ``root``
    """
    return parse_xml(read_bytes(path), path.name, root=root, expected=expected)


def parse_xml(data: bytes, where: str, *, root: str, expected: str) -> Element:
    """The same from bytes; ``where`` names them in problems."""
    from xml.etree.ElementTree import ParseError

    from defusedxml.common import DefusedXmlException
    from defusedxml.ElementTree import fromstring

    if b"\0" in data[:4096] and not data.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise BadData([Problem("this is a binary file", where, expected, "choose the XML file")])
    try:
        tree: Element = fromstring(data, forbid_dtd=True)
    except DefusedXmlException as error:
        raise BadData(
            [
                Problem(
                    f"the XML declares a document type or entities ({type(error).__name__})",
                    where,
                    expected,
                    "such files are refused, they can hide harm; export it again",
                )
            ]
        ) from error
    except ParseError as error:
        line, column = error.position
        reason = str(error).split(":")[0]
        raise BadData(
            [Problem(f"this is no whole XML: {reason}", f"{where}, line {line}, column {column}", expected)]
        ) from error
    except (ValueError, LookupError) as error:
        raise BadData([Problem(f"the XML cannot be read: {error}", where, expected)]) from error
    for element in tree.iter():
        element.tag = element.tag.rpartition("}")[2]
    if tree.tag != root:
        raise BadData([Problem(f"the document is <{tree.tag}>", where, f"<{root}>: {expected}")])
    return tree


def text_of(element: Element, tag: str) -> str:
    """Text of the first child called ``tag``, stripped; empty when there is none."""
    return (element.findtext(tag) or "").strip()


def children(element: Element, tag: str) -> Iterator[tuple[int, Element]]:
    """Children called ``tag`` with their number from 1."""
    return enumerate(element.findall(tag), start=1)
