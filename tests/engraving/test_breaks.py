"""Line breaks: even ones of our own, or those of the source."""

from __future__ import annotations

from lxml import etree
from scores_at_hand import CORPUS

from annotator.engraving.pages import engrave
from annotator.marking import Markings
from annotator.reading import load, read_document
from annotator.style import Style

BREAKING = CORPUS / "schubert" / "Lindenbaum.xml"  # a score that says where its systems begin


def systems(pages: tuple[str, ...]) -> int:
    """Return the number of systems on the pages."""
    return sum(text.count('class="system"') for text in pages)


def test_the_breaks_of_the_source_are_kept_when_asked_for() -> None:
    document = load(BREAKING)
    score = read_document(document)
    told = {
        place
        for part in document.tree.getroot().iter("part")
        for place, measure in enumerate(part.iter("measure"))
        if any("yes" in (each.get("new-system"), each.get("new-page")) for each in measure.iter("print"))
    }
    none = Markings((), frozenset(), frozenset())
    source = engrave(document, score, none, Style(), "a4", breaks="source")
    even = engrave(document, score, none, Style(), "a4", breaks="even")
    assert systems(source) == len(told | {0})
    assert systems(even) != systems(source)
    assert all(etree.fromstring(page.encode()) is not None for page in (*source, *even))
