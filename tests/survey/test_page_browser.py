"""The page of a survey in a real browser: headless Chromium, driven by Playwright, from disk, with no network."""

from __future__ import annotations

import importlib.util
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from browser import CHROMIUM, driven, overlaps, sideways_overflow, visit
from survey.library_of_notes import HOSTILE, hostile_library, library

from annotator.options.settings import LANGUAGES
from annotator.products.survey.page import survey_page

COUNT = 60

pytestmark = [
    pytest.mark.skipif(CHROMIUM is None, reason="Chromium is not installed"),
    pytest.mark.skipif(importlib.util.find_spec("playwright") is None, reason="Playwright is not installed"),
]


@pytest.fixture(scope="module")
def chromium() -> Iterator[Any]:
    with driven() as browser:
        yield browser


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return written(tmp_path_factory.mktemp("survey"), survey_page(library(COUNT)))


def written(folder: Path, page: str) -> Path:
    file = folder / "survey.html"
    file.write_text(page, encoding="utf-8")
    return file


def column(page: Any, place: int) -> list[str]:
    """Return what a column is sorted by, from top to bottom, of the rows in sight."""
    texts: list[str] = page.eval_on_selector_all(
        "#scores tbody tr:not([hidden])", "(rows, place) => rows.map(row => row.cells[place].dataset.value)", place
    )
    return texts


def place_of(page: Any, heading: str) -> int:
    names: list[str] = page.locator("#scores thead button").all_inner_texts()
    return names.index(heading)


def test_numbers_are_sorted_as_numbers_both_ways(chromium: Any, file: Path) -> None:
    with visit(chromium, file) as shown:
        page, place = shown.page, place_of(shown.page, "Notes")
        button = page.get_by_role("button", name="Notes", exact=True)
        heading = page.locator("#scores thead th").nth(place)
        assert heading.get_attribute("aria-sort") is None
        button.click()
        upwards = [float(value) for value in column(page, place)]
        assert upwards == sorted(upwards)
        assert heading.get_attribute("aria-sort") == "ascending"
        button.click()
        assert [float(value) for value in column(page, place)] == sorted(upwards, reverse=True)
        assert heading.get_attribute("aria-sort") == "descending"
        page.get_by_role("button", name="Effort", exact=True).click()
        assert page.locator("#scores thead th[aria-sort]").count() == 1
        assert len(upwards) == COUNT


def test_the_keyboard_sorts_too_and_words_are_sorted_as_words(chromium: Any, file: Path) -> None:
    with visit(chromium, file) as shown:
        page = shown.page
        page.get_by_role("button", name="Title", exact=True).focus()
        page.keyboard.press("Enter")
        assert column(page, 0)[:11] == [f"Study no. {number}" for number in range(1, 12)]  # 2 before 10
        page.get_by_role("button", name="Composer", exact=True).focus()
        page.keyboard.press("Space")
        composers = column(page, place_of(page, "Composer"))
        assert composers == ["Anna B."] * 20 + ["émile C."] * 20 + [""] * 20
        page.keyboard.press("Space")
        composers = column(page, place_of(page, "Composer"))
        assert composers == ["émile C."] * 20 + ["Anna B."] * 20 + [""] * 20


def test_equals_keep_the_order_of_the_survey(chromium: Any, file: Path) -> None:
    with visit(chromium, file) as shown:
        page = shown.page
        for _ in range(2):
            page.get_by_role("button", name="Bars", exact=True).click()
            assert column(page, 0) == [f"Study no. {number}" for number in range(1, COUNT + 1)]


def test_a_dot_leads_to_its_row_and_a_row_to_its_dot(chromium: Any, file: Path) -> None:
    with visit(chromium, file) as shown:
        page = shown.page
        page.locator("#dot-37").click(force=True)
        assert page.locator("tr.chosen").get_attribute("data-rank") == "37"
        assert page.locator("tr.chosen").get_attribute("aria-current") == "true"
        assert page.evaluate("document.activeElement.closest('tr').dataset.rank") == "37"
        box, high = page.locator("#row-37").bounding_box(), page.viewport_size["height"]
        assert box["y"] >= 0 and box["y"] + box["height"] <= high
        page.locator("#row-5 td").first.click()
        assert page.locator("tr.chosen").get_attribute("data-rank") == "5"
        assert page.locator("#scatter .dot[aria-pressed=true]").get_attribute("data-rank") == "5"


def test_a_dot_tells_its_title_when_pointed_at_or_focused(chromium: Any, file: Path) -> None:
    with visit(chromium, file) as shown:
        page = shown.page
        tip = page.locator("#tip")
        assert tip.get_attribute("visibility") == "hidden"
        page.locator("#dot-11").dispatch_event("pointerover")
        assert tip.get_attribute("visibility") == "visible"
        assert page.locator(".tip-title").text_content() == "Study no. 12"
        picture = page.locator("#scatter").bounding_box()
        box = page.locator("#tip rect").bounding_box()
        assert box["x"] >= picture["x"] and box["x"] + box["width"] <= picture["x"] + picture["width"]
        page.locator("#dot-11").dispatch_event("pointerout")
        assert tip.get_attribute("visibility") == "hidden"
        page.locator("#dot-3").focus()
        assert page.locator(".tip-title").text_content() == "Study no. 4"
        assert "% grey" in page.locator(".tip-line").text_content()


def test_the_arrow_keys_go_from_dot_to_dot_and_enter_goes_to_the_row(chromium: Any, file: Path) -> None:
    with visit(chromium, file) as shown:
        page = shown.page
        assert page.locator("#scatter .dot[tabindex='0']").count() == 1
        page.locator("#scatter .dot[tabindex='0']").focus()
        places = [page.evaluate("document.activeElement.cx.baseVal.value")]
        for _ in range(5):
            page.keyboard.press("ArrowRight")
            places.append(page.evaluate("document.activeElement.cx.baseVal.value"))
        assert places == sorted(places) and places[0] < places[-1]
        assert page.locator("#scatter .dot[tabindex='0']").count() == 1
        rank = page.evaluate("document.activeElement.dataset.rank")
        page.keyboard.press("Enter")
        assert page.locator("tr.chosen").get_attribute("data-rank") == rank
        assert page.evaluate("document.activeElement.tagName") == "SUMMARY"
        page.keyboard.press("Enter")
        page.wait_for_selector(f"#row-{rank} details[open]")


def test_finding_keeps_what_has_every_word(chromium: Any, file: Path) -> None:
    with visit(chromium, file) as shown:
        page = shown.page
        page.get_by_label("Find").fill("Émile arpeggio")
        found = page.locator("#scores tbody tr:not([hidden])")
        told = page.locator("#shown").text_content()
        assert told == f"{found.count()} of {COUNT} shown"
        assert 0 < found.count() < 20
        assert page.locator("#scatter .dot.dim").count() == COUNT - found.count()
        hidden = page.locator("#scores tbody tr[hidden]").first.get_attribute("data-rank")
        page.locator(f"#dot-{hidden}").dispatch_event("click")
        assert page.locator(f"#row-{hidden}").is_visible()
        assert page.get_by_label("Find").input_value() == ""


def broken_words(page: Any, selector: str) -> list[str]:
    """Return the words that are broken over two lines where there is no hyphen."""
    found: list[str] = page.eval_on_selector_all(
        selector,
        """elements => elements.flatMap(element => {
            const text = element.firstChild, broken = [];
            if (!text) return broken;
            for (const word of text.data.matchAll(/[^\\s\\u00ad-]+/g)) {
                const range = document.createRange();
                range.setStart(text, word.index + (text.data[word.index - 1] === "\\u00ad" ? 1 : 0));  // the hyphen is counted with it
                range.setEnd(text, word.index + word[0].length);
                const boxes = [...range.getClientRects()].filter(box => box.width > 1);
                if (new Set(boxes.map(box => Math.round(box.top))).size > 1) broken.push(word[0]);
            }
            return broken;
        })""",
    )
    return sorted(set(found))


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("width", [768, 1280])
def test_the_page_fits_asks_for_nothing_and_complains_of_nothing(chromium: Any, tmp_path: Path, language: str, width: int) -> None:
    with visit(chromium, written(tmp_path, survey_page(library(COUNT), language)), (width, 900)) as shown:
        page = shown.page
        assert sideways_overflow(page) == 0
        wide = "element => element.scrollWidth - element.clientWidth"
        assert page.locator(".region").evaluate(wide) == 0
        assert all(page.locator("thead button").nth(place).evaluate(wide) <= 0 for place in range(11))
        assert broken_words(page, "thead button, td.drills") == []
        assert overlaps(page, "#scatter text:not(#tip text), #scatter .dot[data-rank='0']") == []
        assert overlaps(page, "#kinds text, #kinds .bar") == []
        page.locator("#row-0 summary").click()
        page.wait_for_selector("#row-0.open")  # the browser tells it a moment later
        assert page.locator("#row-0 dl").bounding_box()["width"] > 0.85 * page.locator("#scores").bounding_box()["width"]
        assert sideways_overflow(page) == 0
        assert shown.requests == [] and shown.complaints == []


def test_on_a_telephone_only_the_table_moves_sideways(chromium: Any, file: Path) -> None:
    with visit(chromium, file, (390, 800)) as shown:
        assert sideways_overflow(shown.page) == 0


def test_hostile_titles_are_just_titles(chromium: Any, tmp_path: Path) -> None:
    with visit(chromium, written(tmp_path, survey_page(hostile_library()))) as shown:
        page = shown.page
        alarms: list[str] = []
        page.on("dialog", lambda dialog: (alarms.append(dialog.message), dialog.dismiss()))
        for rank, title in enumerate(HOSTILE):
            page.locator(f"#dot-{rank}").dispatch_event("pointerover")
            assert page.locator(".tip-title").text_content() == title
            page.locator(f"#dot-{rank}").dispatch_event("click")
            assert page.locator("tr.chosen summary").text_content() == title
        page.get_by_label("Find").fill("<script>")
        assert page.locator("#scores tbody tr:not([hidden])").count() == 1
        assert page.locator("h1").count() == 1 and page.locator("img").count() == 0
        assert sideways_overflow(page) == 0
        assert alarms == [] and shown.requests == [] and shown.complaints == []


def test_everything_is_there_without_the_script(chromium: Any, file: Path) -> None:
    with visit(chromium, file, java_script_enabled=False) as shown:
        assert shown.page.locator("#scores tbody tr").count() == COUNT
        assert shown.page.locator("#scatter .titles text").count() > 5


def test_print_leaves_out_what_only_a_screen_can_do(chromium: Any, file: Path) -> None:
    with visit(chromium, file) as shown:
        shown.page.emulate_media(media="print")
        assert not shown.page.locator(".tools").is_visible()
        assert shown.page.locator("#scatter").is_visible()
        assert shown.page.pdf(format="A4").startswith(b"%PDF")


def test_two_thousand_scores_are_sorted_and_found_at_once(chromium: Any, tmp_path: Path) -> None:
    with visit(chromium, written(tmp_path, survey_page(library(2_000)))) as shown:
        page, rows = shown.page, shown.page.locator("#scores tbody tr:not([hidden])")
        assert rows.count() == 1_000  # what is laid out at first
        spent = page.evaluate(
            """() => {
                const buttons = [...document.querySelectorAll("#scores thead button")], field = document.getElementById("find");
                const begin = performance.now();
                buttons[0].click();
                buttons[5].click();
                document.body.offsetHeight;
                field.value = "77";
                field.dispatchEvent(new Event("input"));
                document.body.offsetHeight;
                return performance.now() - begin;
            }"""
        )
        assert rows.count() == sum("77" in str(number) for number in range(1, 2_001))
        assert spent < 8_000  # about a twentieth of that on an idle machine
        page.get_by_label("Find").fill("")
        assert page.locator("#shown").text_content() == "1000 of 2000 shown"
        assert [float(value) for value in column(page, 5)] == sorted(score.measures.notes for score in library(2_000).scores)[:1_000]
        last = page.locator("#scores tbody tr[hidden]").last.get_attribute("data-rank")
        page.locator(f"#dot-{last}").dispatch_event("click")
        assert page.locator(f"#row-{last}").is_visible()
        assert rows.count() == 2_000
        assert not page.get_by_role("button", name="Show all").is_visible()
