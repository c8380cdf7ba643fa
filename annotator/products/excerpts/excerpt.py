"""Some bars of a score, of both hands or one: a little score of its own, its figures, and its picture for a page or a notebook.

Conventions
-----------
* Bars are told by their indices in the whole. Printed bar numbers and the ids of notes stay; the notes are numbered anew.
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

import copy
import re
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from html import escape
from pathlib import Path
from typing import Any

from lxml import etree

from annotator.errors import EngraverError, UsageError
from annotator.figures.figure import Figure
from annotator.figures.law import holds
from annotator.marks.finding import parts_looked_at, stretches
from annotator.marks.marking import Markings, markings
from annotator.marks.report import Report
from annotator.marks.style import Style, load_style
from annotator.music.score import Note, Part, Score
from annotator.musicxml.files import write_file
from annotator.options.settings import Options, options_of
from annotator.pages.boxes import Box, around, boxes_of
from annotator.pages.engraving import engrave
from annotator.pages.paper import MARGIN, Paper
from annotator.pages.svg import HREF, SVG, classes, margin_of, numbers, parsed
from annotator.products.excerpts.cutting import cut_bars, drop_half_slurs, keep_staves, remove, take_over, untie
from annotator.products.marked_copies import found, unmarked
from annotator.reading import Document, read_document
from annotator.reading.parts import as_partwise

WIDTH = 180.0
"""How wide a picture is at most, in millimetres: the music of an A4 page."""

AIR = 60.0
"""Left free around the ink, in hundredths of a millimetre."""

TALL = 20000
"""Height of the paper, in tenths of a millimetre: room for all systems on one page."""


@dataclass(frozen=True, slots=True)
class Excerpt:
    """Some bars of a score: a document of their own, and the little ``score`` that is read from it.

    ``origins`` is the number in the whole of each of its notes, by its own number; ``spans`` are the printed numbers of the first and the
    last bar of each stretch.
    """

    document: Document
    score: Score
    origins: Mapping[int, int]
    spans: tuple[tuple[str, str], ...]

    @property
    def twins(self) -> dict[int, Note]:
        """Its notes by the numbers that they have in the whole."""
        return {self.origins[note.number]: note for part in self.score.parts for note in part.notes}


def excerpt_of(document: Document, score: Score, options: Options) -> Excerpt:
    """Return the bars and the hand that the options ask for, of the parts looked at. A ``UsageError`` says what is not there."""
    chosen = parts_looked_at(score, options)
    if not any(part.bars for part in chosen):
        names = ", ".join(name for part in score.parts for name in part.names)
        raise UsageError(f"no keyboard part to cut an excerpt from: name one with --parts; this score has {names}")
    longest = max(chosen, key=lambda part: len(part.bars))
    return cut_out(document, score, stretches(longest, options.bars), options.hand, [part.id for part in chosen])


def cut_out(
    document: Document, score: Score, bars: Sequence[range], hand: str, parts: Collection[str], directions: bool = True
) -> Excerpt:
    """Return the bars with these indices, of ``hand`` (``both``: all staves) and of the parts with these ids.

    Without ``directions`` only those are left that are needed to read the notes: octave lines. The document stays as it is.
    """
    root = copy.deepcopy(document.tree.getroot())
    numbers = {note: number for number, note in enumerate(root.iter("note"), 1)}
    for note, number in numbers.items():
        note.set("id", note.get("id") or f"n{number}")
    root = as_partwise(root) if document.timewise else root
    chosen = [part for part in score.parts if part.id in parts and any(stretch.start < len(part.bars) for stretch in bars)]
    kept = {name: (part, staves) for part in chosen for name, staves in _shares(part, hand)}
    if not kept:
        raise UsageError(f"no staff of this score is the {hand} hand's: leave --hand out")
    elements = {each.get("id", ""): each for each in root.iterfind("part")}
    for name, (part, _) in kept.items():
        for other in {half for half, *_ in part.halves} - kept.keys():
            take_over(elements[name], elements[other])
    remove(each for each in [*elements.values(), *root.iterfind("part-list/score-part")] if each.get("id", "") not in kept)
    for element in root.iterchildren("part"):
        part, staves = kept[element.get("id", "")]
        cut_bars(element, part.bars, bars)
        if staves is not None:
            keep_staves(element, {str(staff): str(place) for place, staff in enumerate(staves, 1)}, part, numbers)
        drop_half_slurs(element)
    untie(chosen, bars, {numbers[note]: note for note in root.iter("note") if note.find("rest") is None})
    if not directions:
        remove(each for each in root.iter("direction") if each.find("direction-type/octave-shift") is None)
    made = Document(etree.ElementTree(root), document.name)
    origins = {own: numbers[note] for own, note in enumerate(root.iter("note"), 1)}
    little = read_document(made)
    hands = [_with_hands(each, kept[each.id][0], hand) for each in little.parts]
    longest = max(chosen, key=lambda part: len(part.bars)).bars
    found = [longest[stretch.start : stretch.stop] for stretch in bars]
    spans = tuple((each[0].number, each[-1].number) for each in found if each)
    return Excerpt(made, replace(little, parts=tuple(hands), repairs=score.repairs), origins, spans)


def _shares(part: Part, hand: str) -> Iterator[tuple[str, list[int] | None]]:
    """Yield the parts of the document that a hand plays of a part, and which of its staves (None: all)."""
    own = [staff for staff in range(1, part.staves + 1) if hand in ("both", "left" if staff in part.left_staves else "right")]
    if part.halves:
        yield from ((part.halves[staff - 1][0], None) for staff in own)
    elif own:
        yield part.id, own if len(own) < part.staves else None


def _with_hands(little: Part, part: Part, hand: str) -> Part:
    """Return a part that was read from an excerpt with the hands, and the name for a keyboard, that it has in the whole."""
    left = range(1, little.staves + 1) if hand == "left" else part.left_staves if hand == "both" else ()
    return replace(little, keyboard=part.keyboard, left_staves=frozenset(left))


def carried(report: Report, excerpt: Excerpt) -> Report:
    """Return the figures of the whole piece's report that lie wholly in an excerpt, under their own names.

    A figure is carried over if every note it strikes and every note its label points to (the model of a copy, the other hand) is in the
    excerpt, and if it still can be spelled out from what is there. All others are left out, and their notes stay dark.
    """
    twins = excerpt.twins
    bars = {part.id: part.bars for part in excerpt.score.parts}
    moved = ((name, _told_of(figure, twins)) for name, figure in report.figures)
    figures = tuple((name, figure) for name, figure in moved if figure is not None and holds(figure, bars[figure.part]))
    origins = {note.number: note.continues for part in report.score.parts for note in part.notes}

    def is_counted(number: int | None) -> bool:
        """Return whether a note counts in the whole, or one that it is tied from."""
        return number is not None and (number in report.counted or is_counted(origins[number]))

    counted = frozenset(note.number for number, note in twins.items() if note.counted and is_counted(number))
    return Report(excerpt.score, counted, figures, report.language)


def _told_of(figure: Figure, twins: Mapping[int, Note]) -> Figure | None:
    """Return a figure told of an excerpt's notes; None where some are missing, or are struck on one page and tied on in the other."""
    needed = (*figure.struck, *figure.anchors, *(note for moment in figure.model for note in moment))
    if any(note.number not in twins for note in needed) or any(twins[note.number].continues is not None for note in figure.struck):
        return None

    def row(notes: Iterable[Note]) -> tuple[Note, ...]:
        """Return the same notes of the excerpt."""
        return tuple([twins[note.number] for note in notes])

    first = twins[figure.moments[0][0].number]
    return replace(
        figure,
        part=first.part,
        staff=first.staff,
        voice=first.voice,
        moments=tuple([row(moment) for moment in figure.moments]),
        anchors=row(figure.anchors),
        odd=row(figure.odd),
        changes=tuple([change._replace(note=twins[change.note.number]) for change in figure.changes]),
        model=tuple([row(moment) for moment in figure.model]),
        tied=row(note for note in figure.tied if note.number in twins),
    )


@dataclass(frozen=True, slots=True)
class Snippet:
    """One picture: its SVG text, its width and height in millimetres."""

    svg: str
    width_mm: float
    height_mm: float


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
    page = parsed(pages[0])
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
        return engrave_snippet(self.excerpt, markings(self.report), self.style, self.width_mm, self.report.language)

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
