"""A feed as an Atom document (RFC 4287): what feed readers poll for."""

import datetime as dt
import re
import xml.etree.ElementTree as ET
from collections.abc import Sequence
from dataclasses import dataclass

NAMESPACE = "http://www.w3.org/2005/Atom"
MEDIA_TYPE = "application/atom+xml"
# Characters that XML 1.0 does not know, escaped or not (its production 2).
NOT_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
REPLACED = "\ufffd"


@dataclass(frozen=True, slots=True)
class Link:
    """An address; without a relation it is the page that shows the same."""

    href: str
    rel: str | None = None


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing told.

    Attributes
    ----------
    id : str
        An address that never changes and names nothing else.
    title, summary : str
        Plain text.
    updated : datetime.datetime
        UTC: when it last changed in a way worth reading.
    links : sequence of Link
    published : datetime.datetime, optional
        UTC.
    categories : sequence of str
    """

    id: str
    title: str
    summary: str
    updated: dt.datetime
    links: Sequence[Link] = ()
    published: dt.datetime | None = None
    categories: Sequence[str] = ()


@dataclass(frozen=True, slots=True)
class Feed:
    """A list of entries with its own name; fields as those of an entry."""

    id: str
    title: str
    author: str
    updated: dt.datetime
    entries: Sequence[Entry] = ()
    links: Sequence[Link] = ()
    subtitle: str | None = None


def document(feed: Feed) -> bytes:
    """Return a feed as an XML document in UTF-8.

    Text is escaped; a character that XML cannot hold becomes U+FFFD.
    """
    root = ET.Element("feed", xmlns=NAMESPACE)
    _text(root, "title", feed.title)
    _text(root, "subtitle", feed.subtitle)
    _links(root, feed.links)
    _text(root, "updated", _moment(feed.updated))
    _text(ET.SubElement(root, "author"), "name", feed.author)
    _text(root, "id", feed.id)
    for entry in feed.entries:
        _entry(ET.SubElement(root, "entry"), entry)
    ET.indent(root)
    return bytes(ET.tostring(root, encoding="utf-8", xml_declaration=True))


def _entry(element: ET.Element, entry: Entry) -> None:
    _text(element, "title", entry.title)
    _links(element, entry.links)
    _text(element, "id", entry.id)
    _text(element, "updated", _moment(entry.updated))
    if entry.published:
        _text(element, "published", _moment(entry.published))
    for term in entry.categories:
        ET.SubElement(element, "category", term=_known(term))
    _text(element, "summary", entry.summary)


def _text(parent: ET.Element, name: str, text: str | None) -> None:
    if text is not None:
        ET.SubElement(parent, name).text = _known(text)


def _links(parent: ET.Element, links: Sequence[Link]) -> None:
    for link in links:
        rel = {"rel": link.rel} if link.rel else {}
        ET.SubElement(parent, "link", rel, href=_known(link.href))


def _known(text: str) -> str:
    return NOT_XML.sub(REPLACED, text)


def _moment(at: dt.datetime) -> str:
    # RFC 3339; the store keeps UTC without a zone.
    return f"{at.replace(tzinfo=None, microsecond=0).isoformat()}Z"
