"""The one-entry feed of RFC 4287, section 1.1, written by our own writer.

Data    M. Nottingham, R. Sayre, The Atom Syndication Format, RFC 4287 (December 2005),
        section 1.1: "A brief, single-entry Atom Feed Document".
Values  Every element of the example, with its text and attributes, in the order
        printed there.
Read    2026-11-27, from two copies of the example in public repositories.
Digits  Character for character, but for white space between elements.
"""

import datetime as dt
import xml.etree.ElementTree as ET

from dashboard.atom import Entry, Feed, Link, document

EXAMPLE = """<?xml version="1.0" encoding="utf-8"?>
<feed xmlns="http://www.w3.org/2005/Atom">
  <title>Example Feed</title>
  <link href="http://example.org/"/>
  <updated>2003-12-13T18:30:02Z</updated>
  <author>
    <name>John Doe</name>
  </author>
  <id>urn:uuid:60a76c80-d399-11d9-b93C-0003939e0af6</id>
  <entry>
    <title>Atom-Powered Robots Run Amok</title>
    <link href="http://example.org/2003/12/13/atom03"/>
    <id>urn:uuid:1225c695-cfb8-4ebb-aaaa-80da344efa6a</id>
    <updated>2003-12-13T18:30:02Z</updated>
    <summary>Some text.</summary>
  </entry>
</feed>
"""


def content(text):
    root = ET.fromstring(text)  # noqa: S314 - the text is printed above, or our own
    return [
        (element.tag, (element.text or "").strip(), element.attrib)
        for element in root.iter()
    ]


def test_the_example_comes_out_as_printed():
    at = dt.datetime(2003, 12, 13, 18, 30, 2, tzinfo=dt.UTC)
    entry = Entry(
        id="urn:uuid:1225c695-cfb8-4ebb-aaaa-80da344efa6a",
        title="Atom-Powered Robots Run Amok",
        summary="Some text.",
        updated=at,
        links=[Link("http://example.org/2003/12/13/atom03")],
    )
    feed = Feed(
        id="urn:uuid:60a76c80-d399-11d9-b93C-0003939e0af6",
        title="Example Feed",
        author="John Doe",
        updated=at,
        links=[Link("http://example.org/")],
        entries=[entry],
    )

    assert content(document(feed)) == content(EXAMPLE)
