"""Papers and what a page carries beside the music: the head with title and names, the foot with what the marks mean.

Conventions
-----------
Paper is measured in tenths of a millimetre, everything drawn in hundredths, from the top left corner inside the margins.

>>> paper_of("letter").width
2159
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import takewhile
from typing import Any

from lxml import etree

from annotator.errors import UsageError
from annotator.music.score import Score
from annotator.pages import fonts
from annotator.pages.svg import SVG, classes
from annotator.reading.document import Document
from annotator.reading.parts import clean

MARGIN = 120
FOOT = 85
"""What the lower margin has more than the others, for the page foot."""

POINT = 35.28  # hundredths of a millimetre


@dataclass(frozen=True, slots=True)
class HeadLine:
    """One line of the page head: text, side (``start``, ``middle``, ``end``), size in points, italic."""

    text: str
    side: str
    points: float
    italic: bool = False

    @property
    def size(self) -> float:
        """Size in hundredths of a millimetre."""
        return self.points * POINT


@dataclass(frozen=True, slots=True)
class Extra:
    """What the pages of a score carry beside their own head and foot where they are part of a larger file.

    ``head`` are further lines of the head, ``notice`` a further notice on the first page, ``legend`` what the foot says of the marks in
    place of the usual.
    """

    head: tuple[HeadLine, ...] = ()
    notice: str = ""
    legend: str = ""


@dataclass(frozen=True, slots=True)
class Paper:
    """A paper's width and height, and its upper margin, in tenths of a millimetre.

    ``bare``: without head and foot, systems close. ``extra`` is what its pages carry as part of a larger file.
    """

    width: int
    height: int
    top: int = MARGIN
    bare: bool = False
    extra: Extra = Extra()

    @property
    def inner_width(self) -> float:
        """Width between the margins, in hundredths of a millimetre."""
        return 10.0 * (self.width - 2 * MARGIN)

    @property
    def inner_height(self) -> float:
        """Height between the margins, in hundredths of a millimetre."""
        return 10.0 * (self.height - self.top - MARGIN - FOOT)


PAPERS = {
    "a4": Paper(2100, 2970),
    "letter": Paper(2159, 2794),
    "a4-landscape": Paper(2970, 2100),
    "tablet": Paper(1800, 2400),
}
"""By name. Sizes: ISO 216, ANSI/ASME Y14.1; the tablet is 3 : 4."""


def paper_of(name: str | Paper) -> Paper:
    """Return a paper by its name; a paper is itself."""
    if isinstance(name, Paper):
        return name
    if name not in PAPERS:
        raise UsageError(f"there is no paper '{name}': choose among {', '.join(PAPERS)}")
    return PAPERS[name]


def head_lines(document: Document, score: Score, paper: Paper) -> list[HeadLine]:
    """Return the lines of the head: the title, then composer, arranger and author, as far as the score names them."""
    lines: list[HeadLine] = []
    if paper.bare:
        return lines
    if score.title.strip():
        lines.append(_fitted(HeadLine(clean(score.title), "middle", 18.0), paper))
    people = [(clean(score.composer) or _credited(document), "end")]
    for creator in document.tree.getroot().iterfind("identification/creator"):
        role = creator.get("type", "")
        text = clean(creator.text)
        if role in ("arranger", "lyricist", "poet") and text:
            people.append((text, "end" if role == "arranger" else "start"))
    lines += [_fitted(HeadLine(text, side, 11.0, True), paper) for text, side in dict.fromkeys(people) if text]
    return [*lines, *(_fitted(line, paper) for line in paper.extra.head)]


def _credited(document: Document) -> str:
    """Who stands at the right of the first page's head, where the score names a composer nowhere else."""
    for credit in document.tree.getroot().iterfind("credit"):
        for words in credit.iterfind("credit-words[@justify='right']"):
            if credit.get("page", "1") == "1" and credit.find("credit-type") is None and words.get("valign", "top") == "top":
                return clean(words.text)
    return ""


def rights(document: Document) -> str:
    """Return the score's copyright lines as one."""
    found = [clean(each.text) for each in document.tree.getroot().iterfind("identification/rights")]
    return " · ".join(text for text in found if text)


def _fitted(line: HeadLine, paper: Paper) -> HeadLine:
    """Make a line smaller until it has room, and cut it at a word where it still has none."""
    width = fonts.text_width(line.text, line.size, italic=line.italic)
    room = 0.95 * paper.inner_width
    if width <= room:
        return line
    points = max(8.0, line.points * room / width)
    return HeadLine(cut_text(line.text, points * POINT, room, line.italic), line.side, points, line.italic)


def cut_text(text: str, size: float, room: float, italic: bool = False) -> str:
    """Return a text, cut at a word where it is too wide, within its first word where that is."""
    if fonts.text_width(text, size, italic=italic) <= room:
        return text

    def fits(start: str) -> bool:
        """Return whether the beginning of the text has room, with the sign that it goes on."""
        return fonts.text_width(start + " …", size, italic=italic) <= room

    words = text.split(" ")
    starts = list(takewhile(fits, (" ".join(words[:count]) for count in range(1, len(words)))))
    starts = starts or list(takewhile(fits, (text[:count] for count in range(1, len(text)))))
    return (starts[-1] if starts else text[:1]) + " …"


def keep_room(lines: Sequence[HeadLine]) -> list[HeadLine]:
    """Return the head as the engraver needs it to keep room: every row once."""
    return [row[0] for row in _rows(lines)]


def _rows(lines: Sequence[HeadLine]) -> list[list[HeadLine]]:
    """Lines of the left and of the right side share rows."""
    rows: list[list[HeadLine]] = []
    filled = {"start": 0, "middle": 0, "end": 0}
    titles = sum(line.side == "middle" for line in lines)
    for line in lines:
        place = filled[line.side] + (0 if line.side == "middle" else titles)
        filled[line.side] += 1
        while len(rows) <= place:
            rows.append([])
        rows[place].append(line)
    return rows


def draw_head(margin: Any, lines: Sequence[HeadLine], paper: Paper) -> None:
    """Put our head in the place of the engraver's, if the page has one."""
    head = next((child for child in margin if "pgHead" in classes(child)), None)
    if head is None:
        return
    heights = [float(each.get("y")) for each in head.iter(SVG + "tspan") if each.get("y")]
    for child in list(head):
        head.remove(child)
    at = {"start": 0.0, "middle": paper.inner_width / 2, "end": paper.inner_width}
    for height, row in zip(heights, _rows(lines), strict=False):
        for line in row:
            head.append(text_line(line.text, at[line.side], height, line.size, line.side, line.italic))


def draw_foot(margin: Any, page: int, pages: int, title: str, legend: str, notice: str, paper: Paper) -> None:
    """Draw the page foot: title, what the marks mean, page number; on the first page the copyright notice over it."""
    if paper.bare:
        return
    group = etree.SubElement(margin, SVG + "g", {"class": "sheet"})
    size = 8.0 * POINT
    height = paper.inner_height + 10.0 * FOOT
    extra = paper.extra
    number = f"{page} / {pages}"
    notice = " · ".join(filter(None, (notice, extra.notice)))
    left_end, right_start = 2 * size, paper.inner_width - fonts.text_width(number, size) - 2 * size
    room = right_start - left_end - fonts.text_width(legend, size)
    title = cut_text(clean(title), size, room) if room >= 6 * size else ""
    left_end += fonts.text_width(title, size)
    half = fonts.text_width(legend, size) / 2
    middle = max(paper.inner_width / 2, left_end + half)
    texts = [(0.0, "start", title), (paper.inner_width, "end", number), (min(middle, right_start - half), "middle", legend)]
    for x, anchor, text in texts:
        if text:
            group.append(text_line(text, x, height, size, anchor))
    if page == 1 and notice:
        notice = cut_text(notice, 0.8 * size, paper.inner_width)
        group.append(text_line(notice, paper.inner_width / 2, height - 1.15 * size, 0.8 * size, "middle"))


def text_line(text: str, x: float, y: float, size: float, anchor: str, italic: bool = False) -> Any:
    """Return a line of text as a page has it; ``anchor`` is ``start``, ``middle`` or ``end``."""
    place = {"x": f"{x:.0f}", "y": f"{y:.0f}", "font-size": f"{size:.0f}px", "text-anchor": anchor}
    element = etree.Element(SVG + "text", place | ({"font-style": "italic"} if italic else {}))
    element.text = text
    return element
