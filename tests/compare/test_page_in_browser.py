"""The page for the screen as a reader uses it, in a real browser from disk, without a network."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any

import browser
import pytest
from scores_at_hand import EXAMPLES

from annotator.marks.finding import find_figures
from annotator.marks.marking import Markings
from annotator.marks.report import Report
from annotator.options.settings import Options
from annotator.products.compare import comparison
from annotator.products.compare.comparison import reasons
from annotator.reading import read

GREY, INK = (0x90, 0x90, 0x90), (0, 0, 0)
REPORT = find_figures(read(EXAMPLES / "sonatina-at-the-open-gate.musicxml"))
LAST = f"f{len(REPORT.figures)}"
PHONE = (390, 844)
SIZES = (PHONE, browser.TABLET, browser.DESKTOP)
Shown = browser.Visit


@pytest.fixture
def shown(chromium: Any, compared: Callable[..., Path]) -> Iterator[Shown]:
    """Give the sonatina's page on a desktop; whatever a test does, the page fetches nothing and complains of nothing."""
    with browser.visit(chromium, Path(f"{compared()}.html"), reduced_motion="reduce") as visit:
        yield visit
        assert visit.requests == []
        assert visit.complaints == []


def colour(page: Any, selector: str, how: str = "fill") -> set[tuple[int, ...]]:
    """Return the colours in which everything a selector finds is drawn: its fill, or its stroke."""
    found = page.evaluate("([s, how]) => [...document.querySelectorAll(s)].map(each => getComputedStyle(each)[how])", [selector, how])
    assert found, selector
    return {tuple(int(value) for value in re.findall(r"\d+", each)[:3]) for each in found}


def opacity(page: Any, selector: str = ".figure") -> set[str]:
    return set(page.evaluate("s => [...document.querySelectorAll(s)].map(each => getComputedStyle(each).opacity)", selector))


def fade(page: Any, value: int) -> None:
    page.evaluate("v => { const f = document.getElementById('fade'); f.value = v; f.dispatchEvent(new Event('input')); }", value)


def kinds(page: Any) -> list[str]:
    return list(page.evaluate("[...document.querySelectorAll('#kinds input')].map(each => each.value)"))


def count(page: Any) -> tuple[int, int]:
    notes, to_read = re.findall(r"\d+", page.inner_text("#count"))
    return int(notes), int(to_read)


@pytest.mark.parametrize("part", [0, 50, 100])
def test_the_fader_takes_marks_and_greys_from_plain_to_marked(shown: Shown, part: int) -> None:
    page = shown.page
    fade(page, part)
    expected = tuple(round(ink + (grey - ink) * part / 100) for ink, grey in zip(INK, GREY, strict=True))
    assert colour(page, ".note.grey") == colour(page, ".note.grey path", "stroke") == {expected}
    assert opacity(page) == {f"{part / 100:g}"}
    assert colour(page, ".note.anchor use") == {INK}
    assert colour(page, ".note.anchor path", "stroke") == {INK}
    assert page.get_attribute("#fade", "aria-valuetext") == f"{part} % marked"
    visible = page.evaluate("getComputedStyle(document.querySelector('.figure .bracket')).visibility")
    assert visible == ("hidden" if part == 0 else "visible")


def test_what_belongs_to_grey_notes_fades_with_them(shown: Shown) -> None:
    page = shown.page
    for part in (0, 100):
        fade(page, part)
        assert colour(page, "polygon.grey") == {INK if part == 0 else GREY}
        assert colour(page, ".fing[class*=' g']") == {INK if part == 0 else GREY}


def test_the_buttons_beside_the_fader_go_to_its_ends(shown: Shown) -> None:
    page = shown.page
    page.click("#to-plain")
    assert opacity(page) == {"0"} and page.input_value("#fade") == "0"
    assert count(page) == (REPORT.notes, REPORT.notes), "without marks every note is to be read"
    page.click("#to-marked")
    assert opacity(page) == {"1"} and page.input_value("#fade") == "100"
    assert count(page) == (REPORT.notes, REPORT.to_read)


def test_each_switch_hides_its_figures_and_gives_their_notes_their_ink_back(shown: Shown) -> None:
    page = shown.page
    assert len(kinds(page)) > 5
    notes, to_read = count(page)
    assert (notes, to_read) == (REPORT.notes, REPORT.to_read)
    for kind in kinds(page):
        page.click(f"#kinds input[value={kind}]")
        assert not page.locator(f".figure.{kind} >> visible=true").count()
        assert page.locator(f".figure:not(.{kind}) >> visible=true").count() == page.locator(f".figure:not(.{kind})").count()
        fills = page.evaluate("[...document.querySelectorAll('.note.grey')].map(each => getComputedStyle(each).fill)")
        assert set(fills) == {"rgb(0, 0, 0)", "rgb(144, 144, 144)"}
        assert count(page) == (notes, to_read + fills.count("rgb(0, 0, 0)")), kind
        assert page.locator(f"#list button[data-kind={kind}] >> visible=true").count() == 0
        own = next(each for each in REPORT.by_kind() if each.kind == kind)
        beside = f"#kinds label:has(input[value={kind}]) [data-words]"
        assert page.inner_text(beside) == f"{own.notes} of {own.notes} to read"
        page.click(f"#kinds input[value={kind}]")
        assert colour(page, ".note.grey") == {GREY}
        assert count(page) == (notes, to_read)
        assert page.inner_text(beside) == f"{own.to_read} of {own.notes} to read"


def test_with_all_switches_off_the_score_is_plain_and_every_note_is_to_read(shown: Shown) -> None:
    page = shown.page
    for kind in kinds(page):
        page.click(f"#kinds input[value={kind}]")
    notes, to_read = count(page)
    assert notes == to_read == REPORT.notes
    assert colour(page, ".note.grey") == colour(page, "polygon.grey") == {INK}
    assert page.locator(".figure >> visible=true").count() == 0


def test_a_note_grey_through_two_kinds_keeps_its_grey_until_both_are_off(
    chromium: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def doubled(report: Report, marks: Markings) -> Mapping[int, str]:
        return {number: "alberti-bass trill" if why == "trill" else why for number, why in reasons(report, marks).items()}

    monkeypatch.setattr(comparison, "reasons", doubled)
    comparison.plan_comparison(EXAMPLES / "sonatina-at-the-open-gate.musicxml", Options(out=tmp_path)).write()
    with browser.visit(chromium, tmp_path / "sonatina-at-the-open-gate-compare.html") as visit:
        page = visit.page
        at = page.evaluate("JSON.parse(document.getElementById('score').dataset.reasons).indexOf('alberti-bass trill')")
        before = count(page)
        assert colour(page, f".note.g{at}") == {GREY}
        page.click("#kinds input[value=trill]")
        assert colour(page, f".note.g{at}") == {GREY}
        assert count(page) == before
        page.click("#kinds input[value=alberti-bass]")
        assert colour(page, f".note.g{at}") == {INK}
        assert count(page)[1] > before[1]


def in_window(page: Any, figure: str) -> bool:
    """Tell whether a figure's place can be seen: in the window, and below the controls where these stand on top."""
    return bool(
        page.evaluate(
            """name => {
                const box = document.querySelector(`.light[data-figure=${name}]`).getBoundingClientRect();
                const desk = document.getElementById("desk").getBoundingClientRect();
                const top = desk.left < box.right && desk.right > box.left ? desk.bottom : 0;
                return box.width > 10 && box.top >= top - 1 && box.bottom <= innerHeight + 1;
            }""",
            figure,
        )
    )


@pytest.mark.parametrize("size", SIZES, ids=lambda size: str(size[0]))
def test_the_list_jumps_to_a_figure_and_lights_it(size: tuple[int, int], chromium: Any, compared: Callable[..., Path]) -> None:
    with browser.visit(chromium, Path(f"{compared()}.html"), size, reduced_motion="reduce") as visit:
        page = visit.page
        if not page.evaluate("document.getElementById('figures').open"):
            page.click("#figures summary")
        names = page.evaluate("[...document.querySelectorAll('#list button')].map(each => each.dataset.figure)")
        for name in (names[-1], names[0], names[len(names) // 2]):
            page.click(f"#list button[data-figure={name}]")
            assert in_window(page, name)
            assert colour(page, f".light[data-figure={name}]") == {(0xFF, 0xE7, 0xA3)}
            lit = page.evaluate("[...new Set([...document.querySelectorAll('.lit[data-figure]')].map(e => e.dataset.figure))]")
            assert lit == [name]
            assert page.get_attribute(f"#list button[data-figure={name}]", "aria-current") == "true"
            assert page.inner_text("#lit") != ""
        assert visit.complaints == [] and visit.requests == []


def test_a_bracket_in_the_score_leads_to_its_entry(shown: Shown) -> None:
    page = shown.page
    label = page.locator(".figure.trill .label").first
    label.click()
    row = page.locator("#list button[data-kind=trill]")
    assert row.get_attribute("aria-current") == "true"
    assert row.evaluate("each => each === document.activeElement")
    assert row.evaluate(
        "each => { const a = each.getBoundingClientRect(), b = document.getElementById('figures').getBoundingClientRect();"
        " return a.top >= b.top && a.bottom <= b.bottom; }"
    )
    page.keyboard.press("Escape")
    assert page.locator(".light.lit").count() == 0
    assert page.inner_text("#lit") == ""


HERE = """(() => {
    const each = document.activeElement;
    return each === document.body ? "" : each.id || each.value || each.dataset.figure || each.textContent.trim();
})()"""


def test_everything_can_be_done_by_keys(shown: Shown) -> None:
    page = shown.page
    page.keyboard.press("Tab")
    reached = []
    for _ in range(40):
        here = page.evaluate(HERE)
        if here in ("", *reached):
            break
        reached.append(here)
        outline = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
        assert outline != "none", f"one sees that {here} has the focus"
        page.keyboard.press("Tab")
    expected = ["to-plain", "fade", "to-marked", "Kinds of figure", *kinds(page), f"Figures ({len(REPORT.figures)})", "f1", "Shortcuts"]
    assert [each for each in reached if each in expected] == expected
    assert len([each for each in reached if re.fullmatch(r"f\d+", each)]) == 1, "the list is one stop"

    page.focus("#fade")
    page.keyboard.press("Home")
    assert opacity(page) == {"0"}
    page.keyboard.press("ArrowRight")
    assert opacity(page) == {"0.01"}
    page.keyboard.press("End")
    assert opacity(page) == {"1"}
    page.focus("#kinds input[value=trill]")
    page.keyboard.press("Space")
    assert page.locator(".figure.trill >> visible=true").count() == 0
    page.focus("#list button[data-figure=f1]")
    page.keyboard.press("ArrowDown")
    assert page.evaluate("document.activeElement.dataset.figure") == "f2"
    assert page.get_attribute("#list button[data-figure=f2]", "aria-current") == "true" and in_window(page, "f2")
    page.keyboard.press("End")
    assert page.evaluate("document.activeElement.dataset.figure") == LAST and in_window(page, LAST)
    page.keyboard.press("Escape")
    assert page.locator(".light.lit").count() == 0
    page.keyboard.press("Enter")
    assert page.get_attribute(f"#list button[data-figure={LAST}]", "aria-current") == "true"


def test_controls_have_names_and_the_music_says_what_it_is(shown: Shown) -> None:
    page = shown.page
    unnamed = page.evaluate(
        """[...document.querySelectorAll("button, input, summary, main, aside, svg[role=img]")].filter(each =>
            !(each.getAttribute("aria-label") || each.textContent.trim() || (each.labels && each.labels.length)))
            .map(each => each.outerHTML.slice(0, 80))"""
    )
    assert unnamed == []
    names = page.evaluate("[...document.querySelectorAll('.system')].map(each => each.getAttribute('aria-label'))")
    assert names[0].startswith(f"System 1 of {len(names)}, bars 1–")
    assert len(set(names)) == len(names)


@pytest.mark.parametrize(
    ("size", "language"),
    [(PHONE, "fr"), (PHONE, "de"), (SIZES[1], "fr"), (SIZES[2], "de")],
    ids=str,
)
def test_nothing_lies_over_anything_and_nothing_sticks_out(
    size: tuple[int, int], language: str, chromium: Any, compared: Callable[..., Path]
) -> None:
    with browser.visit(chromium, Path(f"{compared(language=language)}.html"), size) as visit:
        page = visit.page
        parts = "h1, .head p, .slide > *, .fade > label, .fade > p, summary, .score .system, .foot p"
        for opened in ("none", "kinds", "figures", "keys"):
            for each in ("kinds", "figures", "keys"):
                page.evaluate("([name, open]) => { document.getElementById(name).open = open; }", [each, each == opened])
            assert browser.sideways_overflow(page) == 0
            assert browser.overlaps(page, parts) == []
        page.evaluate("document.getElementById('kinds').open = true")
        assert browser.overlaps(page, ".switches label > *, .hint") == []
        controls = page.query_selector_all("button, summary, .switches label")
        assert not [each.inner_text() for each in controls if each.evaluate("each => each.scrollWidth > each.clientWidth + 1")]


def test_on_paper_there_is_the_score_as_it_is_and_no_controls(shown: Shown) -> None:
    page = shown.page
    fade(page, 50)
    page.click("#list button >> nth=0")
    page.emulate_media(media="print")
    assert page.locator("#desk >> visible=true").count() == 0
    assert page.locator("button >> visible=true").count() == 0
    assert page.locator(".score .system >> visible=true").count() == page.locator(".score .system").count() > 3
    assert opacity(page) == {"0.5"} and colour(page, ".note.grey") == {(0x48, 0x48, 0x48)}
    lamp = page.evaluate("getComputedStyle(document.querySelector('.light.lit')).fill")
    assert lamp in ("rgba(0, 0, 0, 0)", "transparent")
    assert page.evaluate("getComputedStyle(document.querySelector('.system')).breakInside") == "avoid"


def test_without_scripts_the_marked_score_is_there_and_no_dead_controls(chromium: Any, compared: Callable[..., Path]) -> None:
    with browser.visit(chromium, Path(f"{compared()}.html"), java_script_enabled=False) as visit:
        page = visit.page
        assert page.locator("#desk >> visible=true").count() == 0
        assert page.locator("noscript p >> visible=true").count() == 1
        assert page.locator(".system >> visible=true").count() > 3
        assert page.locator(".figure .label >> visible=true").count() > 10


def test_a_score_that_says_scripts_runs_none(chromium: Any, tmp_path: Path) -> None:
    said = "&lt;script>document.title='taken'&lt;/script>&lt;img src=x onerror=document.title='taken'>"
    source = tmp_path / "hostile.musicxml"
    text = (EXAMPLES / "sonatina-at-the-open-gate.musicxml").read_text(encoding="utf-8")
    source.write_text(text.replace("Sonatina at the Open Gate", said).replace("Allegretto", said), encoding="utf-8")
    comparison.plan_comparison(source, Options()).write()
    with browser.visit(chromium, tmp_path / "hostile-compare.html") as visit:
        assert visit.page.title().startswith("<script>document.title='taken'</script>")
        assert visit.page.inner_text("h1").startswith("<script>")
        assert visit.requests == [] and visit.complaints == []
        assert browser.sideways_overflow(visit.page) == 0


def test_the_letters_of_a_label_are_those_of_the_pages_own_fonts(shown: Shown) -> None:
    page = shown.page
    loaded = page.evaluate("document.fonts.ready.then(fonts => [...fonts].filter(f => f.status === 'loaded').map(f => f.family))")
    assert any("STIXGeneral" in family for family in loaded)
    off = page.evaluate(
        """[...document.querySelectorAll(".label[textLength]")].filter(each => {
            const wanted = Number(each.getAttribute("textLength"));
            const bare = each.cloneNode(true);
            bare.removeAttribute("textLength");
            each.parentNode.append(bare);
            const natural = bare.getComputedTextLength();
            bare.remove();
            return Math.abs(natural - wanted) > 0.02 * wanted + 4;
        }).map(each => each.textContent)"""
    )
    assert off == [], "widths are those the program reckoned with"


def on_page(page: Any) -> tuple[int, int]:
    """Return which page of how many stands on the stand."""
    here, pages = re.findall(r"\d+", page.evaluate("document.getElementById('page').textContent"))
    return int(here), int(pages)


SEEN = """[...document.querySelectorAll('.score .system')].filter(each => !each.hasAttribute('hidden')).map(each => {
    const box = each.getBoundingClientRect();
    return [box.top >= 0 && box.left >= 0 && box.bottom <= innerHeight + 1 && box.right <= innerWidth + 1, each.getAttribute('aria-label')];
})"""


@pytest.mark.parametrize("size", SIZES, ids=lambda size: str(size[0]))
def test_on_the_stand_there_is_only_music_and_pages_turn_by_pedal_keys_and_tap(
    size: tuple[int, int], chromium: Any, compared: Callable[..., Path]
) -> None:
    with browser.visit(chromium, Path(f"{compared()}.html"), size, has_touch=True) as visit:
        page = visit.page
        page.click("#to-stand")
        assert page.locator("#desk >> visible=true").count() == page.locator("#over >> visible=true").count() == 0
        sticky = "e => getComputedStyle(e).position === 'sticky' && e.getClientRects().length"
        assert page.evaluate(f"[...document.querySelectorAll('*')].filter({sticky}).length") == 0
        pages = on_page(page)[1]
        assert pages > 1
        shown: list[str] = []
        for number in range(1, pages + 1):
            assert on_page(page) == (number, pages)
            systems = page.evaluate(SEEN)
            assert all(whole for whole, _ in systems), "every system of a page is whole"
            shown += [name for _, name in systems]
            page.keyboard.press("PageDown")
        assert shown == page.evaluate("[...document.querySelectorAll('.score .system')].map(each => each.getAttribute('aria-label'))")
        assert on_page(page)[0] == pages, "behind the last page there is none"
        pressed = (("Home", 1), ("ArrowRight", 2), ("ArrowLeft", 1), ("ArrowDown", 2), ("PageUp", 1), ("Space", 2), ("ArrowUp", 1))
        for key, wanted in pressed:
            page.keyboard.press(key)
            assert on_page(page)[0] == wanted, key
        page.touchscreen.tap(0.8 * size[0], 0.6 * size[1])
        assert on_page(page)[0] == 2
        page.touchscreen.tap(0.1 * size[0], 0.6 * size[1])
        assert on_page(page)[0] == 1
        page.touchscreen.tap(0.5 * size[0], 5)
        assert page.locator("#over >> visible=true").count() == 1 and on_page(page)[0] == 1
        page.click("#with-marks")
        assert opacity(page) == {"0"}
        page.click("#leave")
        assert page.locator("#desk >> visible=true").count() == 1
        assert page.locator(".score .system >> visible=true").count() == len(shown)
        assert visit.requests == [] and visit.complaints == []


def test_a_phone_gets_systems_of_one_or_two_bars(chromium: Any, compared: Callable[..., Path]) -> None:
    with browser.visit(chromium, Path(f"{compared()}.html"), PHONE) as visit:
        names = visit.page.evaluate("[...document.querySelectorAll('.score .system')].map(each => each.getAttribute('aria-label'))")
        spans = [re.findall(r"\d+", name.partition(", ")[2]) for name in names]
        assert {int(span[-1]) - int(span[0]) for span in spans} <= {0, 1}
        assert spans[-1][-1] == REPORT.score.parts[0].bars[-1].number
        visit.page.set_viewport_size({"width": 1280, "height": 800})
        assert visit.page.locator(".score .system").count() < len(names), "a wide window gets the long systems again"
        assert colour(visit.page, ".note.grey") == {GREY}


def test_in_the_dark_the_paper_stays_white(chromium: Any, compared: Callable[..., Path]) -> None:
    with browser.visit(chromium, Path(f"{compared()}.html"), color_scheme="dark") as visit:
        page = visit.page
        assert colour(page, ".score", "backgroundColor") == {(255, 255, 255)}
        assert colour(page, "html", "backgroundColor") == {(0x1C, 0x1A, 0x17)}
        assert colour(page, ".note.anchor use") == {INK}
