"""The page for the screen: one HTML file with the marked score in it, whose marks fade in and out.

Conventions
-----------
* ``page.html`` says what stands where. The music is one small SVG a system, in systems as wide as the paper and in short ones for narrow
  windows; the glyphs are shared by all.
* What is grey for one reason has one class (``g0`` …), coloured by one property of the page (``--g0``).
* Under the music of a system lies a rectangle for each of its figures (class ``light``), over bracket and notes: it can be lit.
* A note tells its own id in ``data-note``; there are no ids beside those of the page itself and of the glyphs, so none occurs twice.

Rule: groups of the engraver that only say what they hold are opened, which makes a page half as long.
Source: WAI-ARIA 1.2 (W3C).
"""

from __future__ import annotations

import copy
import json
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import partial
from typing import Any

from lxml import etree
from markupsafe import Markup

from annotator.figures.registry import kind_of
from annotator.marks.report import Report
from annotator.marks.style import Style
from annotator.pages import fonts
from annotator.pages.boxes import around, boxes_of
from annotator.pages.svg import SVG, chunks_of, classes
from annotator.products.compare.plain_and_marked import NAMESPACES, Cut, System, take_grey
from annotator.products.html_page import Lettering, faces, html_page, words_on
from annotator.words.labels import kind_name
from annotator.words.phrases import comparing, heading

LEFT, RIGHT, EDGE = 320.0, 60.0, 40.0
"""What a system's picture has beside the width of the music (the brace stands to the left of it), and above and below its ink."""

AROUND_LIGHT = 70.0
FEW = 4
"""Lists up to this length are shown whole; longer ones give way where there is little room, and scroll."""

KEYS = (
    ("key-tab", "tab"),
    ("← →", "arrows"),
    ("key-home key-end", "ends"),
    ("key-space", "space"),
    ("↑ ↓", "list-arrows"),
    ("key-enter", "enter"),
    ("key-escape", "escape"),
    ("key-page-down → ↓ key-space", "next-page"),
    ("key-page-up ← ↑", "page-before"),
)
"""The keys the page answers to: their names, and the word that says what they do."""

_TELLING = frozenset({"figure", "bracket", "label", "note", "anchor", "grey", "note-name"})
"""Classes that are kept: those that people style and script pages by, and those the engraver's own style rules name."""
_WRITTEN = "0123456789 %·–…"
"""What the page's script writes beside the words it is given."""


def page(
    report: Report, sizes: Sequence[Cut], ids: Mapping[int, str], style: Style, counts: Mapping[str, int], **texts: Any
) -> str:
    """Return the page.

    ``sizes`` are the same music for wide and for narrow windows; ``ids`` those of notes on the pages, by their numbers; ``counts`` the grey
    notes by the reason they are grey for. ``texts`` are what the page says of the score: ``title``, ``people``, ``legend``, ``rights``.
    """
    wide, narrow = sizes
    music = (each for size in sizes for system in size.systems for each in system.music.iter(etree.Element))
    reasons = sorted({reason for each in music if (reason := each.get("data-grey"))})
    systems, narrow_systems = ([_slimmed(each, reasons, size.rules) for each in _pictures(size, report, ids, style)] for size in sizes)
    words = _words(report, style) | texts | {"reasons": json.dumps(reasons), "counts": json.dumps(counts)}
    on_page = words_on(__package__, **words, glyphs="", systems="", narrow="")
    letters = [Lettering(on_page + _WRITTEN), *(Lettering(text, italic=True) for text in texts["people"])]
    letters += [each for picture in (*systems, *narrow_systems) for each in _letters(picture)]
    greys = [f".g{at}{{fill:var(--g{at},{style.grey});color:var(--g{at},{style.grey})}}" for at in range(len(reasons))]
    return html_page(
        __package__,
        (f"{faces(letters)}\n{wide.fonts}", "\n".join([_scoped(wide.rules, ".system"), *greys])),
        **words,
        glyphs=_text(each for _, each in sorted({**narrow.glyphs, **wide.glyphs}.items())),
        systems=_text(systems),
        narrow=_text(narrow_systems),
    )


def _words(report: Report, style: Style) -> dict[str, Any]:
    """Return what the page says in the report's language, with the functions that its template asks for words."""
    language = report.language
    return {
        "language": language,
        "comparing": partial(comparing, language=language),
        "heading": partial(heading, language=language),
        "report": report,
        "style": style,
        "few": FEW,
        "kinds": [(count, kind_name(count.kind, language), style.bracket(kind_of(count.kind).family)) for count in report.by_kind()],
        "figures": list(zip(report.figures, report.rows(), strict=True)),
        "keys": KEYS,
    }


def _text(elements: Iterable[Any]) -> Markup:
    """Return elements as they stand in the page."""
    return Markup("\n".join(etree.tostring(each, encoding="unicode") for each in elements))


def _pictures(size: Cut, report: Report, ids: Mapping[int, str], style: Style) -> Iterator[Any]:
    """Yield the systems as SVGs of their own, each with a rectangle over every figure and a name for those who hear the page."""
    kinds = {name: figure.kind for name, figure in report.figures}
    figures = {name: [ids[note.number] for note in figure.notes] for name, figure in report.figures}
    bars = {ids[note.number]: note.bar for part in report.score.parts for note in part.notes}
    look = {"color": style.ink, "fill": style.ink, "font-family": f"{fonts.SERIF}, '{fonts.SANS}', Times, serif"}
    for number, system in enumerate(size.systems, 1):
        top, bottom = system.ink.top - EDGE, system.ink.bottom + EDGE
        box = f"{-LEFT:.0f} {top:.0f} {LEFT + size.paper.inner_width + RIGHT:.0f} {bottom - top:.0f}"
        name = _name(report, sorted({bars[note] for note in system.notes if note in bars}), number, len(size.systems))
        telling = {"class": "system", "viewBox": box, "role": "img", "aria-label": name}
        picture: Any = etree.Element(SVG + "svg", telling | look, nsmap=NAMESPACES)
        picture.extend(_light(each, system, kinds, figures) for each in system.figures)
        picture.append(copy.deepcopy(system.music))
        for each in system.figures:
            figure = copy.deepcopy(each)
            figure.set("data-kind", kinds[figure.get("data-figure")])
            picture.append(figure)
        yield picture


def _name(report: Report, bars: Sequence[int], number: int, count: int) -> str:
    """Return what a system is called: its number and its bars."""
    printed = report.score.parts[0].bars
    ends = list(dict.fromkeys(printed[bar].number for bar in (*bars[:1], *bars[-1:]) if bar < len(printed)))
    words = comparing("system" if len(ends) > 1 else "system-one", report.language)
    return words.format(number=number, count=count, bars="–".join(ends))


def _light(figure: Any, system: System, kinds: Mapping[str, str], figures: Mapping[str, Sequence[str]]) -> Any:
    """Return the rectangle over a figure: its bracket and its notes in this system."""
    name = figure.get("data-figure")
    box = around([*boxes_of(figure), *(system.notes[note] for note in figures[name] if note in system.notes)])
    numbers = {
        "x": box.left - AROUND_LIGHT,
        "y": box.top - AROUND_LIGHT,
        "width": box.right - box.left + 2 * AROUND_LIGHT,
        "height": box.bottom - box.top + 2 * AROUND_LIGHT,
        "rx": 60,
    }
    told = {"class": "light", "data-figure": name, "data-kind": kinds[name]}
    return etree.Element(SVG + "rect", told | {key: f"{value:.0f}" for key, value in numbers.items()})


def _slimmed(picture: Any, reasons: Sequence[str], rules: str) -> Any:
    """Return a picture without what a page does not need, with classes in the place of grey."""
    kept = _TELLING.union(re.findall(r"\.([\w-]+)", re.sub(r"\{[^}]*\}", " ", rules)))
    for element in list(picture.iter(etree.Element)):
        if element is picture or not {"light", "figure"}.isdisjoint(classes(element)):
            continue
        names = [name for name in classes(element) if name in kept]
        reason = take_grey(element)
        if reason is not None:
            names.append(f"g{reasons.index(reason)}")
        element.attrib.pop("class", None)
        if names:
            element.set("class", " ".join(names))
        ident = element.attrib.pop("id", None)
        if ident and "note" in names:
            element.set("data-note", ident)
    for element in picture.iter(SVG + "g"):
        if not element.attrib:
            element.tag = "opened"
    etree.strip_tags(picture, "opened")
    return picture


def _letters(picture: Any) -> Iterator[Lettering]:
    """Yield the text of a picture as it stands on the page."""
    for element in picture.iter(SVG + "text"):
        for piece in [each for chunk in chunks_of(element) for each in chunk.pieces]:
            text, _, bold, italic, family = piece.letters
            yield Lettering(text, bold, italic, family)


def _scoped(rules: str, place: str) -> str:
    """Return the engraver's style rules for what stands in a place (a selector), without those of its own editor."""
    made = []
    for rule in rules.split("}"):
        selectors, brace, body = rule.partition("{")
        if brace and ".cursor" not in selectors and ".placeholder" not in selectors:
            made.append(",".join(f"{place} {each.strip()}" for each in selectors.split(",")) + "{" + body.strip() + "}")
    return "\n".join(made)
