"""Pages as pixels and as PDF: everything drawn where and how the SVG says, as a browser draws it."""

from __future__ import annotations

import io
import re
import shutil
import subprocess
import zlib
from pathlib import Path

import browser
import numpy
import pytest
import verovio
from numpy.typing import NDArray
from PIL import Image

from annotator.errors import EngraverError
from annotator.marks.style import load_style
from annotator.pages import fonts
from annotator.pages.paper import Paper
from annotator.pages.pdf import write_pdf, write_png

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="210px" height="297px" id="page">'
PIXELS_OFF = 0.002
"""Share of pixels that may differ by more than half between painter and browser."""

Pixels = NDArray[numpy.int16]


def pixels(png: bytes) -> Pixels:
    return numpy.asarray(Image.open(io.BytesIO(png)).convert("RGB")).astype(numpy.int16)


def painted(body: str, scale: int = 2) -> Pixels:
    """Return a page of 210 x 297 units, ``scale`` pixels a unit."""
    return pixels(write_png(f"{HEAD}{body}</svg>", "a4", 25.4 * scale))


def box(picture: Pixels, scale: int = 2) -> tuple[float, float, float, float] | None:
    """Return left, top, right and bottom of what is not white, in units."""
    rows, columns = numpy.nonzero((picture < 128).any(axis=2))
    if not len(rows):
        return None
    return columns.min() / scale, rows.min() / scale, (columns.max() + 1) / scale, (rows.max() + 1) / scale


SHAPES = {
    '<rect x="10" y="20" width="30" height="40"/>': (10, 20, 40, 60),
    '<path d="M10 20H40V60H10Z"/>': (10, 20, 40, 60),
    '<polygon points="10,20 40,20 40,60 10,60"/>': (10, 20, 40, 60),
    '<polyline points="10,20 40,20 40,60 10,60" fill="none" stroke-width="4"/>': (10, 18, 42, 62),
    '<ellipse cx="50" cy="60" rx="20" ry="10"/>': (30, 50, 70, 70),
    '<defs><g id="a"><path d="M0 0V5H5V0z"/></g></defs><use xlink:href="#a" transform="translate(10, 40) scale(2,4)"/>': (
        10, 20, 20, 40,
    ),
    '<svg viewBox="0 0 2100 2970"><g transform="translate(100,200)"><rect width="300" height="400"/></g></svg>': (10, 20, 40, 60),
    '<g transform="rotate(90)"><rect x="20" y="-40" width="40" height="30"/></g>': (10, 20, 40, 60),
}


@pytest.mark.parametrize("body", SHAPES)
def test_each_kind_of_drawing_is_where_it_should_be(body: str) -> None:
    assert box(painted(body)) == pytest.approx(SHAPES[body], abs=0.6)


def test_colours_and_rules() -> None:
    picture = painted(
        '<rect width="50" height="50" fill="#FF0000"/>'
        '<g color="#0000FF"><path d="M0 75H50" stroke="#00FF00" stroke-width="50"/></g>'
        '<rect y="100" width="50" height="50" fill="none" stroke-width="20"/>'
    )
    assert list(picture[50, 50]) == [255, 0, 0]
    assert list(picture[150, 50]) == [0, 0, 255]
    assert [list(picture[200, 50]), list(picture[250, 50])] == [[0, 0, 0], [255, 255, 255]]


def test_dashes_leave_gaps() -> None:
    row = painted('<path d="M0 50H200" stroke="black" stroke-width="10" stroke-dasharray="60,40"/>')[100, :, 0]
    assert [int(row[2 * x]) for x in (30, 80, 130, 180)] == [0, 255, 0, 255]


def test_text_is_as_wide_and_anchored_as_the_metrics_say() -> None:
    for anchor, share in (("start", 0.0), ("middle", 0.5), ("end", 1.0)):
        text = f'<text x="100" y="100" font-size="0px" text-anchor="{anchor}"> <tspan font-size="20px">HCH</tspan> </text>'
        found = box(painted(text, 4), 4)
        left, top, right, bottom = fonts.text_box("HCH", 20)
        start = 100 - share * fonts.text_width("HCH", 20)
        assert found == pytest.approx((start + left, 100 + top, start + right, 100 + bottom), abs=0.4)


def test_text_length_stretches_a_label() -> None:
    def width(extra: str) -> float:
        found = box(painted(f'<text x="10" y="100" font-size="20px"{extra}>CCCC</text>'))
        assert found is not None
        return found[2] - found[0]

    natural = fonts.text_width("CCCC", 20)
    assert width(f' textLength="{2 * natural}" lengthAdjust="spacingAndGlyphs"') == pytest.approx(2 * width(""), rel=0.03)
    assert width(f' textLength="{natural}"') == pytest.approx(width(""), abs=0.6)


def test_a_metronome_note_is_drawn_and_moves_what_follows() -> None:
    note = chr(0xE1D5)
    alone, both = (
        box(painted(f'<text x="50" y="100" font-size="20px"><tspan font-family="Leipzig">{note}</tspan>{rest}</text>', 4), 4)
        for rest in ("", " = 80")
    )
    assert alone is not None and both is not None
    assert 12 < alone[3] - alone[1] < 25
    assert both[2] > alone[2] + 20


def test_what_the_painter_does_not_know_is_left_out_and_told() -> None:
    unknown = '<path d="M50 100L9"/><circle r="9"/><text x="9" y="200" font-size="20px">\uf8ff</text>'
    page = f'{HEAD}{unknown}<rect x="10" y="20" width="30" height="40"/></svg>'
    left_out: set[str] = set()
    assert box(pixels(write_png(page, "a4", 50.8, left_out))) == pytest.approx((10, 20, 40, 60), abs=0.6)
    assert left_out == {"path data 'M50 100L9'", "element 'circle'", "music character U+F8FF"}
    assert write_pdf([page, page], "a4", "t", "a").startswith(b"%PDF")


def test_a_page_may_fetch_nothing(tmp_path: Path) -> None:
    secret = tmp_path / "secret.txt"
    secret.write_text("secret")
    assert box(painted(f'<image xlink:href="{secret.as_uri()}" width="5" height="5"/>')) is None
    entity = f'<!DOCTYPE svg [<!ENTITY e SYSTEM "{secret.as_uri()}">]>{HEAD}<text y="50" font-size="20px">&e;</text></svg>'
    assert box(pixels(write_png(entity, "a4", 50))) is None


SIZES = ("", 'viewBox="0 0 0 5"', 'width="x"')
NO_PAGES = ("", "no page", "<p/>", *(f'<svg xmlns="http://www.w3.org/2000/svg" {size}/>' for size in SIZES))


@pytest.mark.parametrize("page", NO_PAGES)
def test_no_page_is_an_error_of_the_engraver(page: str) -> None:
    with pytest.raises(EngraverError) as caught:
        write_pdf([page], "a4", "", "")
    assert caught.value.exit_code == 69


SCORE = """<?xml version="1.0"?><score-partwise version="4.0"><work><work-title>A Page to Paint</work-title></work>
<part-list><score-part id="P1"><part-name>Piano</part-name></score-part></part-list><part id="P1"><measure number="1">
<attributes><divisions>2</divisions><key><fifths>-3</fifths></key><time><beats>4</beats><beat-type>4</beat-type></time>
<clef><sign>G</sign><line>2</line></clef></attributes>
<direction placement="above"><direction-type><metronome><beat-unit>quarter</beat-unit><per-minute>92</per-minute></metronome>
</direction-type><sound tempo="92"/></direction><direction placement="below"><direction-type><dynamics><mf/></dynamics>
</direction-type></direction><direction placement="below"><direction-type><words>dolce</words></direction-type></direction>
NOTES</measure></part></score-partwise>"""


def _notes() -> str:
    made = []
    for place, (step, octave) in enumerate([*zip("CDEFGABC", [4] * 7 + [5], strict=True)]):
        beam = ("begin", "continue", "continue", "end")[place % 4]
        slur = '<slur type="start" number="1"/>' if place == 0 else '<slur type="stop" number="1"/>' if place == 7 else ""
        alter = "<alter>1</alter>" if step == "F" else ""
        made.append(
            f"<note><pitch><step>{step}</step>{alter}<octave>{octave}</octave></pitch><duration>1</duration><type>eighth</type>"
            f'<beam number="1">{beam}</beam><notations>{slur}<technical><fingering>{place % 5 + 1}</fingering></technical>'
            "<articulations><staccato/></articulations></notations></note>"
        )
    return "".join(made)


def engraved(unit: float) -> str:
    """Return a page of the engraver's."""
    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit()
    toolkit.setOptions({"pageWidth": 2100, "pageHeight": 2970, "unit": unit, "xmlIdSeed": 1, "footer": "none", "breaks": "auto"})
    assert toolkit.loadData(SCORE.replace("NOTES", _notes()))
    return str(toolkit.renderToSVG(1))


@pytest.fixture(scope="module")
def page() -> str:
    """Return a page of the engraver's, with a figure of ours on it."""
    svg = engraved(8.5)
    words = "C minor run C→C ♭"
    figure = (
        '<g class="figure scale-run" data-figure="f1"><path class="bracket" d="M3000 5100V5000H5000M9000 5000H11000V5100" '
        'fill="none" color="#0072B2" stroke="#0072B2" stroke-width="20"/><text class="label" x="5100" y="5100" '
        f'font-family="{fonts.SERIF}" font-size="255px" textLength="{fonts.text_width(words, 255):.1f}" '
        f'lengthAdjust="spacingAndGlyphs">{words}</text></g>'
    )
    at = svg.rindex("</g>")
    return svg[:at] + figure + svg[at:]


@pytest.mark.parametrize("name", ["default", "large-print"])
def test_the_staff_on_paper_is_as_high_as_the_style_says(name: str) -> None:
    look = load_style(name)
    picture = pixels(write_png(engraved(look.unit), "a4", 254))
    dark = (picture < 128).all(axis=2).mean(axis=1)
    lines = numpy.nonzero(dark > 0.8 * dark.max())[0]
    assert (lines.max() - lines.min()) / 10 == pytest.approx(look.staff_height, abs=0.3)


@pytest.mark.skipif(browser.CHROMIUM is None, reason="no chromium on this machine: pages are not compared with a browser's")
def test_painter_and_browser_draw_the_same_page(page: str, tmp_path: Path) -> None:
    width, height = 1240, 1754
    sized = page.replace('width="2100px" height="2970px"', 'viewBox="0 0 2100 2970"', 1)
    seen = pixels(browser.picture(sized, width, height, tmp_path))
    ours = pixels(write_png(page, "a4", 150))
    assert seen.shape == ours.shape
    assert (ours < 128).any(axis=2).mean() > 0.002
    assert (abs(seen - ours).max(axis=2) > 127).mean() <= PIXELS_OFF


def _plain(pdf: bytes) -> bytes:
    """Return a PDF's bytes with its compressed streams opened."""
    opened = [pdf]
    for stream in re.findall(rb"stream\r?\n(.*?)endstream", pdf, re.S):
        try:
            opened.append(zlib.decompressobj().decompress(stream))
        except zlib.error:
            continue
    return b"\n".join(opened)


@pytest.mark.parametrize(
    ("paper", "size"), [("a4", (595.276, 841.890)), ("letter", (612, 792)), (Paper(1000, 500), (283.465, 141.732))]
)
def test_page_boxes_are_exact(page: str, paper: str | Paper, size: tuple[float, float]) -> None:
    # ISO 216 A4 and US letter in points of 1/72 inch.
    plain = _plain(write_pdf([page, page, page], paper, "t", "a"))
    boxes = re.findall(rb"/MediaBox \[ ?0 0 ([\d.]+) ([\d.]+) ?\]", plain)
    assert len(boxes) >= 3
    for found in boxes:
        assert tuple(map(float, found)) == pytest.approx(size, abs=0.001)


def test_pdf_says_what_it_is_embeds_its_fonts_and_is_the_same_each_time(page: str) -> None:
    once, again = (write_pdf([page], "a4", "A Page to Paint", "Nobody") for _ in range(2))
    assert once == again
    plain = _plain(once)
    for part in (b"A Page to Paint", b"Nobody", b"annotator", b"20200101000000", b"/FontFile2", b"/ToUnicode", b"STIXGeneral"):
        assert part in plain
    assert b"DejaVuSerif" not in plain


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="no pdftotext here: the text of the PDF is not read back")
def test_text_of_the_pdf_can_be_searched(page: str, tmp_path: Path) -> None:
    target = tmp_path / "page.pdf"
    target.write_bytes(write_pdf([page], "a4", "t", "a"))
    text = subprocess.run(["pdftotext", str(target), "-"], check=True, capture_output=True).stdout.decode()
    for words in ("A Page to Paint", "C minor run C→C ♭", "= 92", "dolce"):
        assert words in text
