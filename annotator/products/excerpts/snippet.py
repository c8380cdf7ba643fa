"""Excerpts engraved as small pictures, our marks drawn, cropped to their ink; for a page of ours, a notebook or a page of one's own.

Conventions
-----------
* A picture goes through the same engraving as a page, on a bare paper: no title, no head, no foot. Lines that do not fill the width
  stay as narrow as their notes are, so a snippet may be narrower than asked for, never wider.
* Lengths are millimetres; a snippet is drawn at the size of its style's staff.
* Ids in a picture begin with its prefix, so that several can stand in one page.

>>> import annotator
>>> shown = annotator.excerpt(annotator.example(), bars="5-8", hand="left")
>>> shown.report.headline, [figure.kind for _, figure in shown.report.figures]
('29 notes, 9 to read', ['broken-chord'])
>>> shown._repr_svg_()[:4]
'<svg'

A notebook shows ``shown`` as music where it stands last in a cell; ``shown.write("bars-5-8.svg")`` keeps the picture.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from functools import cached_property
from html import escape
from pathlib import Path
from typing import Any

from lxml import etree

from annotator.errors import EngraverError
from annotator.marks.marking import Markings, markings
from annotator.marks.report import Report
from annotator.marks.style import Style, load_style
from annotator.musicxml.files import write_file
from annotator.options.settings import options_of
from annotator.pages.boxes import Box, around, boxes_of
from annotator.pages.engraving import engrave
from annotator.pages.paper import MARGIN, Paper
from annotator.pages.svg import SVG, classes, margin_of, numbers
from annotator.products.excerpts.excerpt import Excerpt, carried, excerpt_of
from annotator.products.marked_copies import found, unmarked

WIDTH = 180.0
"""How wide a picture is at most, in millimetres: the music of an A4 page."""

AIR = 60.0
"""Left free around the ink, in hundredths of a millimetre."""

TALL = 20000
"""Height of the paper, in tenths of a millimetre: room for all systems on one page."""

HREF = "{http://www.w3.org/1999/xlink}href"


@dataclass(frozen=True, slots=True)
class Snippet:
    """One picture: its SVG text, its width and height in millimetres."""

    svg: str
    width_mm: float
    height_mm: float

    def _repr_svg_(self) -> str:
        """Show it in a notebook."""
        return self.svg


def engrave_snippet(
    excerpt: Excerpt, marked: Markings, style: Style, width_mm: float, language: str = "en", prefix: str = ""
) -> Snippet:
    """Engrave an excerpt with its marks as a picture, at most ``width_mm`` wide. Raises an ``EngraverError``.

    ``prefix`` is what every id in it begins with, a letter first.
    """
    paper = Paper(round(10 * width_mm - 2 * AIR / 10) + 2 * MARGIN, TALL, bare=True)
    pages = engrave(excerpt.document, excerpt.score, marked, style, paper, "even", language).pages
    if len(pages) > 1:
        raise EngraverError("too much music for one picture: take fewer bars")
    page = etree.fromstring(pages[0].encode())
    width, height = _crop(page, _ink(page), width_mm)
    if prefix:
        _prefix(page, prefix)
    page.insert(0, etree.Comment(" made by annotator "))
    text: str = etree.tostring(page, encoding="unicode")
    return Snippet(text + "\n", width, height)


def _ink(page: Any) -> Box:
    """Return the room of all that is drawn, in hundredths of a millimetre of the paper."""
    margin = margin_of(page)
    x, y = numbers(margin.get("transform"))
    return around([box for child in margin for box in boxes_of(child)]).moved(x, y)


def _crop(page: Any, ink: Box, most: float) -> tuple[float, float]:
    """Cut the picture down to its ink; return its width and height in millimetres. What stands out over the width makes all smaller."""
    left, top = ink.left - AIR, ink.top - AIR
    wide, high = round(ink.right + AIR - left), round(ink.bottom + AIR - top)
    inner = next(each for each in page.iter(SVG + "svg") if "definition-scale" in classes(each))
    inner.set("viewBox", f"{left:.0f} {top:.0f} {wide} {high}")
    page.set("viewBox", f"0 0 {wide / 10:g} {high / 10:g}")
    scale = min(1.0, 100 * most / wide)
    width, height = round(scale * wide / 100, 2), round(scale * high / 100, 2)
    page.set("width", f"{width:g}mm")
    page.set("height", f"{height:g}mm")
    return width, height


def _prefix(page: Any, prefix: str) -> None:
    """Put a prefix before every id, and wherever one is referred to."""
    names = {element.get("id"): prefix + element.get("id") for element in page.iter(etree.Element) if element.get("id")}
    for element in page.iter(etree.Element):
        for name in ("id", "href", HREF):
            value = element.get(name)
            if value is not None:
                mark = "#" if value.startswith("#") else ""
                element.set(name, mark + names.get(value.removeprefix("#"), value.removeprefix("#")))
    for sheet in page.iter(SVG + "style"):
        sheet.text = re.sub(r"#([\w-]+)", lambda found: "#" + names.get(found[1], found[1]), sheet.text or "")


@dataclass(frozen=True, repr=False)
class MarkedExcerpt:
    """Some bars with their figures: the little score, the report of its figures, the look, and how wide it may be in millimetres.

    A notebook shows it as music. ``annotator.excerpt`` makes one.
    """

    excerpt: Excerpt
    report: Report
    style: Style
    width_mm: float = WIDTH

    @cached_property
    def snippet(self) -> Snippet:
        """The engraved picture. Raises ``EngraverError``."""
        return self.picture()

    def picture(self, prefix: str = "") -> Snippet:
        """Return the engraved picture; with a prefix of its ids, for several in one page."""
        marks = markings(self.report, self.excerpt.score)
        return engrave_snippet(self.excerpt, marks, self.style, self.width_mm, self.report.language, prefix)

    def write(self, path: Path | str, force: bool = False) -> Path:
        """Write the picture as an SVG file, never over a file that is not this program's own without ``force``."""
        write_file(Path(path), self.snippet.svg.encode(), force=force)
        return Path(path)

    def __repr__(self) -> str:
        """Return it in one line."""
        bars = ", ".join("–".join(span) for span in self.excerpt.spans)
        return f"<MarkedExcerpt of {self.excerpt.score.title!r}, bars {bars}: {self.report.headline}>"

    def _repr_svg_(self) -> str:
        """Show it in a notebook."""
        return self.snippet.svg

    def _repr_html_(self) -> str:
        """Show it in a notebook that takes HTML, with its headline below."""
        return f"<figure>{self.snippet.svg}<figcaption>{escape(self.report.headline)}</figcaption></figure>"


def excerpt(
    path: Path | str,
    bars: str,
    hand: str = "both",
    style: str = "default",
    of_the_whole: bool = False,
    width_mm: float = WIDTH,
    **options: Any,
) -> MarkedExcerpt:
    """Return bars of a score, marked, for a notebook or a page of one's own.

    ``bars`` are printed numbers: ``5-8``, ``5``, ``5-``, ``-8`` or ``1-4,9-12``; ``hand`` is ``right``, ``left`` or ``both``; ``options``
    are fields of ``Options``. The figures are looked for in these bars alone; ``of_the_whole`` shows those of the whole piece that lie in
    them. Raises an ``AnnotatorError``.

    >>> import annotator
    >>> shown = annotator.excerpt(annotator.example("lamps-on-the-water"), bars="5-8", hand="right", language="fr")
    >>> shown.report.headline
    '25 notes, 5 à lire'
    """
    document, score = unmarked(path)
    look = load_style(style)
    cutting = options_of({**options, "bars": bars, "hand": hand}, "figures")
    little = excerpt_of(document, score, cutting)
    wanted = replace(cutting, bars=None, hand="both")
    report = carried(found(score, wanted, look)[0], little) if of_the_whole else found(little.score, wanted, look, score)[0]
    return MarkedExcerpt(little, report, look, width_mm)
