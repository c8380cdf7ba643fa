"""Examples from the piece itself, engraved small: the legend of its kinds of figures, and the warm-up page.

Rule of the examples
--------------------
* An example is the first of some figures that lies, with the model it points to, in two bars; it is shown as it stands in the score.
* Where none does, the first figure's beginning is shown: its first two bars are looked at as a piece of their own.
* Where that is no figure by itself, up to four bars are shown whole.
* Where its model is farther away than that (= bar 3), the bracket stands over the notes of its first two bars and nothing is grey: what
  is not on the page cannot be read off it.

Rule of the warm-up
-------------------
* Figures that one label names are one figure. Hands apart, then together: those of the right hand, those of the left, those that both hands
  play. Where there is not room for all on one page, the least frequent are left out.
* An excerpt shows all its notes black: the bracket names the figure, the fingers learn it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from annotator.figures.figure import Figure
from annotator.figures.lines import hand_of
from annotator.figures.registry import KINDS, OWN, kind_of
from annotator.marks.finding import find_figures
from annotator.marks.marking import Markings, markings
from annotator.music.score import Note, Part, Score
from annotator.pages.paper import Paper
from annotator.products.excerpts import Excerpt, Snippet, carried, cut_out, engrave_snippet
from annotator.products.handout.blocks import GAP, Block, draw_all, flow, frame_of, over_pages
from annotator.products.handout.lesson import Lesson
from annotator.products.handout.look_through import bars_of, spans_of
from annotator.products.handout.sheet import BODY, HEADING, SIDE, SMALL_ITALIC, Sheet
from annotator.words.labels import kind_name, labels, rule_words
from annotator.words.phrases import bars_words, explaining, times_words, title_words

FEW, MANY = 2, 4  # bars of an example, and at most
SMALL_UNIT = 7.5
PICTURE = 0.58
"""Share of the page's width that a picture of the legend may take."""

BESIDE = 700.0  # between the widest picture and the text
ONE_COLUMN = 4
"""Up to so many figures of a warm-up stand in one column, over the whole width."""
MOST = 16
"""The most figures that a warm-up tries; more have no room on any paper."""

Group = list[tuple[str, Figure]]
"""Figures that share an example, each with its name in the report."""


@dataclass(frozen=True, slots=True)
class Example:
    """A picture of one of some figures, of which kind it is, and how often and where they stand, in words."""

    kind: str
    where: str
    picture: Snippet


def examples(lesson: Lesson, groups: Sequence[Group], width_mm: float) -> list[Example]:
    """Return an example of each group of figures of one kind, at most so wide."""
    language = lesson.language
    wording = "fit" if lesson.style.labels in ("blank", "none") else lesson.style.labels
    style = replace(lesson.style, unit=min(lesson.style.unit, SMALL_UNIT), labels=wording)
    found = []
    for number, group in enumerate(groups, 1):
        picture = engrave_snippet(*chosen(lesson, group), style, width_mm, language, f"x{number}-")
        bars = _part(lesson.score, group[0][1]).bars
        where = bars_words(spans_of((index for _, figure in group for index in bars_of(figure)), bars), language)
        found.append(Example(group[0][1].kind, f"{times_words(len(group), language)}: {where}", picture))
    return found


def chosen(lesson: Lesson, figures: Group) -> tuple[Excerpt, Markings]:
    """Return the bars to show and the one mark on them (see the module's rule)."""
    def tried() -> Iterator[tuple[Excerpt, Markings] | None]:
        """Yield what may be shown, best first."""
        yield from (_whole(lesson, *each, FEW) for each in figures)
        yield _beginning(lesson, figures[0][1])
        yield from (_whole(lesson, *each, MANY) for each in figures)

    return next((found for found in tried() if found), None) or _dark(lesson, *figures[0])


def _whole(lesson: Lesson, name: str, figure: Figure, most: int) -> tuple[Excerpt, Markings] | None:
    """Show a figure with its model, if they stand in so few bars."""
    notes = [*figure.struck, *(note for moment in figure.model for note in moment)]
    first, last = min(note.bar for note in notes), max(note.bar for note in notes)
    if last - first >= most:
        return None
    little = _cut(lesson, figure, first, last, notes)
    report = carried(lesson.report, little)
    own = tuple(each for each in report.figures if each[0] == name)
    return (little, markings(replace(report, figures=own))) if own else None


def _beginning(lesson: Lesson, figure: Figure) -> tuple[Excerpt, Markings] | None:
    """Show the beginning of a long figure as the figure that it is by itself."""
    first = figure.moments[0][0].bar
    last = min(first + FEW - 1, len(_part(lesson.score, figure).bars) - 1)
    little = _cut(lesson, figure, first, last, [note for note in figure.struck if note.bar <= last])
    options = replace(lesson.options, kinds=(figure.kind,), without=(), hand="both", bars=None)
    report = find_figures(little.score, options)
    own = next((each for each in report.figures if each[1].hand == figure.hand), None)
    return (little, markings(replace(report, figures=(own,)))) if own else None


def _dark(lesson: Lesson, name: str, figure: Figure) -> tuple[Excerpt, Markings]:
    """Show the first bars of a figure under its bracket, nothing grey."""
    first = figure.moments[0][0].bar
    last = min(first + FEW - 1, bars_of(figure)[-1])
    little = _cut(lesson, figure, first, last, [note for note in figure.struck if note.bar <= last])
    twins = little.twins
    only = replace(lesson.report, figures=((name, figure),))
    mark = markings(only).marks[0]
    notes = tuple(twins[note.number] for note in mark.notes if note.number in twins)
    changes = tuple((twins[note.number], text) for note, text in mark.changes if note.number in twins)
    ends = notes[0], twins.get(mark.last.number, notes[-1])
    moved = replace(mark, first=ends[0], last=ends[1], notes=notes, changes=changes, staff=ends[0].staff)
    return little, Markings((moved,), frozenset(), frozenset(note.number for note in notes))


def _cut(lesson: Lesson, figure: Figure, first: int, last: int, notes: Iterable[Note]) -> Excerpt:
    """Return the bars from one index to another, of one hand where all that is to be seen is that hand's."""
    part = _part(lesson.score, figure)
    hands = {hand_of(part, note) for note in notes}
    hand = hands.pop() if len(hands) == 1 and part.staves > 1 else "both"
    return cut_out(lesson.document, lesson.score, [range(first, last + 1)], hand, [part.id], directions=False)


def _part(score: Score, figure: Figure) -> Part:
    return next(part for part in score.parts if part.id == figure.part)


def of_each_kind(lesson: Lesson) -> list[Example]:
    """Return an example of each kind found, in the order of the vocabulary."""
    groups = [[each for each in lesson.report.figures if each[1].kind == kind.name] for kind in KINDS]
    return examples(lesson, [group for group in groups if group], PICTURE * lesson.paper.inner_width / 100)


@dataclass(frozen=True, slots=True)
class Entry:
    """The block of one kind: the picture at the left, in so much room; name, sentence and bars beside it; a remark on all kinds below."""

    example: Example
    language: str
    left: float
    remark: str = ""

    def draw(self, sheet: Sheet, x: float, y: float, width: float) -> float:
        """Draw it."""
        picture, left = self.example.picture, x + self.left + BESIDE
        high, room = 100 * picture.height_mm, width - self.left - BESIDE
        sheet.picture(x, y, 100 * picture.width_mm, high, picture.svg)
        sheet.text(left, y + HEADING.size, kind_name(self.example.kind, self.language), HEADING)
        below = sheet.lines(left, y + HEADING.size, BODY.wrapped(rule_words(self.example.kind, self.language), room))
        below = sheet.lines(left, below + 0.3 * SMALL_ITALIC.line, SMALL_ITALIC.wrapped(self.example.where, room), SMALL_ITALIC)
        y = max(below + HEADING.line - HEADING.size, y + high) + 250.0
        return sheet.lines(x, y + GAP, SMALL_ITALIC.wrapped(self.remark, width), SMALL_ITALIC) if self.remark else y


def place_legend(found: Sequence[Example], there: Sequence[Sheet], paper: Paper, language: str) -> list[Sheet]:
    """Draw the legend on the pages that are there and on as many new ones as it needs; return all of them, the new ones last."""
    widest = 100 * max((example.picture.width_mm for example in found), default=0.0)
    entries = [Entry(example, language, widest) for example in found]
    entries[-1:] = [replace(entry, remark=explaining("in-the-key", language)) for entry in entries[-1:]]
    return over_pages(entries, there, paper, 1, title_words("legend", language))


@dataclass(frozen=True, slots=True)
class Warmth:
    """The block of one figure of a warm-up: its picture, and the bars below it. ``heading`` stands above the first of a hand."""

    example: Example
    hand: str
    heading: str = ""

    def draw(self, sheet: Sheet, x: float, y: float, width: float) -> float:
        """Draw it."""
        if self.heading:
            sheet.text(x, y + HEADING.size, self.heading, HEADING)
            y += 1.6 * HEADING.line
        picture = self.example.picture
        scale = min(100.0, width / picture.width_mm)
        sheet.picture(x, y, scale * picture.width_mm, scale * picture.height_mm, picture.svg)
        below = y + scale * picture.height_mm + 100.0 - 0.25 * SMALL_ITALIC.line
        return sheet.lines(x, below, SMALL_ITALIC.wrapped(self.example.where, width), SMALL_ITALIC) + 0.25 * SMALL_ITALIC.line


def warm_up_page(lesson: Lesson) -> str:
    """Return the page as SVG text."""
    language = lesson.language
    page = Sheet(lesson.paper)
    page.head(lesson)
    page.heading(lesson.titled("warm-up"))
    groups = _by_label(lesson)[:MOST]
    frame = frame_of(page, 1 if len(groups) <= ONE_COLUMN else 2)
    if not groups:
        page.text(SIDE, page.top + BODY.size, lesson.said("none"))
    plain = replace(lesson, style=replace(lesson.style, greying=False, note_names_on_anchors=False))
    shown = examples(plain, groups, frame.width / 100)
    warm = [Warmth(example, _played_by(group[0][1])) for group, example in zip(groups, shown, strict=True)]
    for most in range(len(warm), 0, -1):
        blocks = _in_order(warm[:most], language)
        placed = flow(blocks, frame)
        if most == 1 or len(placed) == len(blocks):
            draw_all(placed, page, frame.width)
            page.top += 2 * GAP
            page.fill(language)
            break
    page.foot(1, 1, lesson.score.title, lesson.said("permission"))
    return page.to_svg()


def _by_label(lesson: Lesson) -> list[Group]:
    """Return the figures under one label each, most frequent first, then as they come."""
    found: dict[tuple[str, str, str], Group] = {}
    for name, figure in lesson.report.figures:
        if figure.kind != OWN.name:
            found.setdefault((figure.kind, _played_by(figure), labels(figure, lesson.language)[0]), []).append((name, figure))
    return sorted(found.values(), key=len, reverse=True)


def _played_by(figure: Figure) -> str:
    """Return ``right``, ``left`` or ``together``."""
    both = figure.both_hands or kind_of(figure.kind).family == "hands"
    return "together" if both else figure.hand


def _in_order(warm: Sequence[Warmth], language: str) -> list[Block]:
    """Return the blocks, hands apart and then together, the first of each with its heading."""
    blocks: list[Block] = []
    for hand in ("right", "left", "together"):
        own = [block for block in warm if block.hand == hand]
        blocks += [replace(block, heading=title_words(hand, language) if at == 0 else "") for at, block in enumerate(own)]
    return blocks
