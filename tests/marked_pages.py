"""What the tests of engraved pages share: scores at hand, their marks, and the two layers of a page as pictures."""

from __future__ import annotations

import io
import re
from functools import cache
from itertools import combinations
from pathlib import Path
from typing import Any

import numpy
from lxml import etree
from PIL import Image
from scores_at_hand import CORPUS

from annotator.marks.finding import find_figures
from annotator.marks.marking import Markings, markings
from annotator.marks.style import load_style
from annotator.music.score import Score
from annotator.options.settings import Options
from annotator.pages import fonts
from annotator.pages.boxes import around, boxes_of
from annotator.pages.engraving import engrave
from annotator.pages.finishing import Engraving
from annotator.pages.greying import groups_of
from annotator.pages.paper import Paper
from annotator.pages.pdf import write_png
from annotator.reading import load, read_document
from annotator.reading.document import Document

SVG = "{http://www.w3.org/2000/svg}"
DRAWN = tuple(SVG + name for name in ("use", "path", "text", "rect", "polygon", "polyline", "ellipse", "circle", "line"))
DPI = 242  # A4 is then 2000 pixels wide


@cache
def prepared(path: Path) -> tuple[Document, Score, Markings]:
    """Return a score with its marks."""
    document = load(path)
    score = read_document(document)
    return document, score, markings(find_figures(score, Options()))


@cache
def engraving(path: Path, style: str = "default", paper: str = "a4") -> Engraving:
    """Return the pages of a score."""
    return engrave(*prepared(path), load_style(style), paper)


def corpus(name: str) -> Path:
    """Return a score of the corpus of music21."""
    return next(CORPUS / f"{name}{ending}" for ending in (".mxl", ".xml") if (CORPUS / f"{name}{ending}").exists())


def margin_of(page: Any) -> Any:
    """Return the group all of a page is drawn in."""
    return next(each for each in page.iter(SVG + "g") if "page-margin" in each.get("class", ""))


def layer(svg: str, figures: bool) -> str:
    """Return a page with nothing but its figures, or with everything but those."""
    page = etree.fromstring(svg.encode(), etree.XMLParser(huge_tree=True))
    for element in list(page.iter(*DRAWN)):
        around = list(element.iterancestors())
        within = any("figure" in each.get("class", "").split() for each in around)
        if within != figures and not any(each.tag == SVG + "defs" for each in around):
            element.getparent().remove(element)
    return etree.tostring(page, encoding="unicode")


def ink(svg: str, paper: str | Paper) -> Any:
    """Return which pixels of a page have ink."""
    return numpy.asarray(Image.open(io.BytesIO(write_png(svg, paper, DPI))).convert("L")) < 235


def collisions(pages: tuple[str, ...], paper: str | Paper) -> list[int]:
    """Return for each page the number of pixels inked by figures and by something else."""
    return [int((ink(layer(page, True), paper) & ink(layer(page, False), paper)).sum()) for page in pages]


def overlapping_labels(svg: str) -> list[tuple[str, str]]:
    """Return the pairs of labels of a page whose boxes meet."""
    boxes = []
    for text in etree.fromstring(svg.encode(), etree.XMLParser(huge_tree=True)).iter(SVG + "text"):
        if text.get("class") == "label":
            x, y, size = (float(text.get(name).removesuffix("px")) for name in ("x", "y", "font-size"))
            boxes.append((_place_of(text), x, y - 0.66 * size, x + float(text.get("textLength")), y, text.text or ""))
    return _meeting(boxes)


def meeting_texts(svg: str) -> list[tuple[str, str]]:
    """Return the pairs of texts of ours (of sheets, no labels) whose boxes meet."""
    boxes = []
    for text in etree.fromstring(svg.encode(), etree.XMLParser(huge_tree=True)).iter(SVG + "text"):
        ours = "sheet" in text.getparent().get("class", "").split()
        if ours and text.text and not any("\ue000" <= sign <= "\uf8ff" for sign in text.text):
            size = float(text.get("font-size").removesuffix("px"))
            width = fonts.text_width(text.text, size, text.get("font-weight") == "bold", text.get("font-style") == "italic")
            left = float(text.get("x")) - width * {"middle": 0.5, "end": 1.0}.get(text.get("text-anchor", ""), 0.0)
            boxes.append((_place_of(text), left, float(text.get("y")) - 0.66 * size, left + width, float(text.get("y")), text.text))
    return _meeting(boxes)


def meeting_names(svg: str) -> list[tuple[str, str]]:
    """Return the pairs of note names beside anchors that meet."""
    page = etree.fromstring(svg.encode(), etree.XMLParser(huge_tree=True))
    names = [("".join(group.itertext()).strip(), around(boxes_of(group))) for group in groups_of(page, "note-name")]
    return [(one, other) for (one, a), (other, b) in combinations(names, 2) if a.meets(b, padding=-20.0)]  # boxes are 15 too wide


def _place_of(text: Any) -> tuple[Any, ...]:
    """Return what moves a text: drawings with coordinates of their own. Texts can be compared where that is the same."""
    return tuple(each for each in text.iterancestors() if each.tag == SVG + "svg" or each.get("transform"))


def _meeting(boxes: list[tuple[Any, float, float, float, float, str]]) -> list[tuple[str, str]]:
    return [
        (a[5], b[5])
        for index, a in enumerate(boxes)
        for b in boxes[index + 1 :]
        if a[0] == b[0] and a[1] < b[3] and b[1] < a[3] and a[2] < b[4] and b[2] < a[4]
    ]


def wider_than_their_bracket(svg: str) -> list[str]:
    """Return the texts of a page that are wider than the bracket they belong to."""
    found = []
    for group in etree.fromstring(svg.encode(), etree.XMLParser(huge_tree=True)).iter(SVG + "g"):
        if "figure" in group.get("class", "").split():
            along = [float(each) for each in re.findall(r"-?[\d.]+", group[0].get("d"))][::2]
            texts = group.findall(SVG + "text")
            found += [text.text or "" for text in texts if float(text.get("textLength")) > max(along) - min(along)]
    return found
