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
from dataclasses import dataclass
from functools import partial
from typing import Any

from lxml import etree
from markupsafe import Markup

from annotator.figures.registry import kind_of
from annotator.marks.report import Report
from annotator.marks.style import Style
from annotator.pages import fonts
from annotator.pages.boxes import around, boxes_of
from annotator.pages.svg import SVG, Stylesheet, classes
from annotator.products.compare.plain_and_marked import NAMESPACES, Cut, System, scoped
from annotator.products.compare.web_fonts import Lettering, faces
from annotator.products.html_page import html_page, words_on
from annotator.words import heading, kind_name
from annotator.words.phrases import comparing

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

_FONT = ("font-family", "font-weight", "font-style")
_TELLING = frozenset({"figure", "bracket", "label", "note", "anchor", "grey", "note-name"})
"""Classes that are kept: those that people style and script pages by, and those the engraver's own style rules name."""
_WRITTEN = "0123456789 %·–…"
"""What the page's script writes beside the words it is given."""


@dataclass(frozen=True, slots=True)
class Music:
    """The score in systems of one width: the systems, what each is called by those who hear the page, the width of the music."""

    cut: Cut
    names: Sequence[str]
    width: float


def page(
    report: Report, sizes: Sequence[Music], notes: Mapping[str, Sequence[str]], style: Style, counts: Mapping[str, int], **texts: Any
) -> str:
    """Return the page.

    ``sizes`` are the same music for wide and for narrow windows; ``notes`` the page ids of each figure's notes by the figure's id;
    ``counts`` the grey notes by the reason they are grey for. ``texts`` are what the page says of the score: ``title``, ``people``,
    ``legend``, ``rights``.
    """
    wide, narrow = sizes
    rules, reasons = wide.cut.rules, _reasons_in(wide.cut, narrow.cut)
    systems = [_systems(size, report, notes, style, reasons) for size in sizes]
    words = _words(report, style) | texts | {"reasons": json.dumps(reasons), "counts": json.dumps(counts)}
    on_page = words_on(__package__, **words, glyphs="", systems="", narrow="")
    letters = [Lettering(on_page + _WRITTEN), *(Lettering(text, italic=True) for text in texts["people"])]
    sheet = Stylesheet(rules, "")
    letters += [each for picture in (*systems[0], *systems[1]) for each in _letters(picture, {}, sheet)]
    greys = [f".g{at}{{fill:var(--g{at},{style.grey});color:var(--g{at},{style.grey})}}" for at in range(len(reasons))]
    return html_page(
        __package__,
        (f"{faces(letters)}\n", "\n".join([scoped(rules, ".system"), *greys])),
        **words,
        glyphs=_text(each for _, each in sorted({**narrow.cut.glyphs, **wide.cut.glyphs}.items())),
        systems=_text(systems[0]),
        narrow=_text(systems[1]),
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
    return Markup("\n".join(etree.tostring(_bare(each), encoding="unicode") for each in elements))


def _reasons_in(*cuts: Cut) -> tuple[str, ...]:
    """Return the reasons for which anything is grey in some music, in the order of their classes."""
    groups = (element for cut in cuts for system in cut.systems for element in system.music.iter(etree.Element))
    return tuple(sorted({reason for each in groups if (reason := each.get("data-grey"))}))


def _systems(size: Music, report: Report, notes: Mapping[str, Sequence[str]], style: Style, reasons: Sequence[str]) -> list[Any]:
    """Return the systems as SVGs of their own, without what the page does not need."""
    kinds = {name: figure.kind for name, figure in report.figures}
    named = _named_classes(size.cut.rules)
    pictures = []
    for system, name in zip(size.cut.systems, size.names, strict=True):
        pictures.append(_picture(system, kinds, notes, name, style, size.width))
        _slim(pictures[-1], reasons, named)
    return pictures


def _picture(
    system: System, kinds: Mapping[str, str], figures: Mapping[str, Sequence[str]], name: str, style: Style, width: float
) -> Any:
    """Return a system as an SVG of its own."""
    top, bottom = system.ink.top - EDGE, system.ink.bottom + EDGE
    box = f"{-LEFT:.0f} {top:.0f} {LEFT + width + RIGHT:.0f} {bottom - top:.0f}"
    look = {"color": style.ink, "fill": style.ink, "font-family": f"{fonts.SERIF}, '{fonts.SANS}', Times, serif"}
    telling = {"class": "system", "viewBox": box, "role": "img", "aria-label": name}
    picture: Any = etree.Element(SVG + "svg", telling | look, nsmap=NAMESPACES)
    picture.extend(_light(each, system, kinds, figures) for each in system.figures)
    picture.append(copy.deepcopy(system.music))
    for each in system.figures:
        figure = copy.deepcopy(each)
        figure.set("data-kind", kinds[figure.get("data-figure")])
        picture.append(figure)
    return picture


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


def _named_classes(rules: str) -> frozenset[str]:
    """Return the classes that the engraver's style rules name."""
    selectors = " ".join(rule.partition("{")[0] for rule in rules.split("}"))
    return frozenset(re.findall(r"\.([\w-]+)", selectors))


def _slim(picture: Any, reasons: Sequence[str], named: frozenset[str]) -> None:
    """Take off everything a page does not need, and put classes in the place of grey."""
    for element in list(picture.iter(etree.Element)):
        if element is picture or not {"light", "figure"}.isdisjoint(classes(element)):
            continue
        kept = [name for name in classes(element) if name in _TELLING or name in named]
        reason = element.attrib.pop("data-grey", None)
        if reason is not None:
            element.attrib.pop("fill", None)
            element.attrib.pop("color", None)
            kept.append(f"g{reasons.index(reason)}")
        element.attrib.pop("class", None)
        if kept:
            element.set("class", " ".join(kept))
        ident = element.attrib.pop("id", None)
        if ident and "note" in kept:
            element.set("data-note", ident)
    for element in [each for each in picture.iter(SVG + "g") if not each.attrib]:
        _open(element)


def _open(group: Any) -> None:
    """Put what is in a group in its place."""
    parent, at = group.getparent(), group.getparent().index(group)
    children = list(group)
    parent.remove(group)
    for offset, child in enumerate(children):
        parent.insert(at + offset, child)


def _bare(glyph: Any) -> Any:
    made = copy.deepcopy(glyph)
    etree.cleanup_namespaces(made)
    return made


def _letters(element: Any, inherited: dict[str, str], sheet: Stylesheet) -> Iterator[Lettering]:
    own = sheet.own(element, etree.QName(element).localname)
    properties = inherited | {name: own[name] for name in _FONT if name in own}
    if element.text and element.text.strip():
        bold, italic = (properties.get(name, "") for name in ("font-weight", "font-style"))
        yield Lettering(element.text, bold == "bold", italic == "italic", properties.get("font-family", fonts.FAMILY))
    for child in element.iterchildren(etree.Element):
        yield from _letters(child, properties, sheet)
