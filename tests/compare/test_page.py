"""The page for the screen as a file: closed against the network and against what a score may hold, slim, the same on any day."""

from __future__ import annotations

import base64
import hashlib
import os
import re
import subprocess
import sys
from collections import Counter
from collections.abc import Callable
from html.parser import HTMLParser
from io import BytesIO
from pathlib import Path

import pytest
from fontTools.ttLib import TTFont
from scores_at_hand import EXAMPLES

from annotator.musicxml.seal import is_our_work
from annotator.options.settings import LANGUAGES, Options
from annotator.products.compare.comparison import plan_comparison
from annotator.products.html_page import Lettering, faces
from annotator.words.phrases import comparing

STUDY = EXAMPLES / "sonatina-at-the-open-gate.musicxml"
HOSTILE = "</title><script>alert(1)</script><img src=x onerror=alert(2)>\"'&amp; ${x} $title"


class Seen(HTMLParser):
    """What stands in a page: elements with their attributes, and the text of scripts and styles."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.raw: dict[str, str] = {}
        self.words: list[str] = []
        self._inside = ""
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))
        self._inside = tag

    def handle_endtag(self, tag: str) -> None:
        self._inside = ""

    def handle_data(self, data: str) -> None:
        if self._inside in ("script", "style"):
            self.raw[self._inside] = self.raw.get(self._inside, "") + data
        else:
            self.words.append(data)


def page_of(compared: Callable[..., Path], **settings: object) -> str:
    return Path(f"{compared(**settings)}.html").read_text(encoding="utf-8")


def test_nothing_on_the_page_names_another_place(compared: Callable[..., Path]) -> None:
    text = page_of(compared)
    seen = Seen(text)
    for tag, attributes in seen.elements:
        for name in ("src", "href", "xlink:href", "action", "data", "poster", "srcset"):
            assert str(attributes.get(name) or "#").startswith("#"), (tag, attributes)
        assert not [name for name in attributes if name.startswith("on")], "no handlers in attributes"
        assert "style" not in attributes
    without = re.sub(r"data:font/woff;base64,[A-Za-z0-9+/=]+", "", text)
    assert set(re.findall(r"https?://[^\s\"'<>]+", without)) <= {"http://www.w3.org/2000/svg"}, "the name of SVG, no address"
    assert "@import" not in without
    assert set(re.findall(r"url\(([^)]{0,5})", text)) == {"data:"}


def test_the_policy_allows_just_the_style_and_the_script_of_the_page(compared: Callable[..., Path]) -> None:
    seen = Seen(page_of(compared))
    policy = next(str(a["content"]) for tag, a in seen.elements if tag == "meta" and a.get("http-equiv") == "Content-Security-Policy")
    rules = dict(rule.strip().split(" ", 1) for rule in policy.split(";"))
    hashed = {name: base64.b64encode(hashlib.sha256(text.encode()).digest()).decode() for name, text in seen.raw.items()}
    assert rules["default-src"] == "'none'"
    assert rules["style-src"] == f"'sha256-{hashed['style']}'"
    assert rules["script-src"] == f"'sha256-{hashed['script']}'"
    assert rules["font-src"] == "data:"
    assert set(rules) == {"default-src", "style-src", "script-src", "font-src", "base-uri", "form-action"}
    assert Counter(tag for tag, _ in seen.elements)["script"] == 1


def hostile_score(tmp_path: Path) -> Path:
    text = STUDY.read_text(encoding="utf-8")
    escaped = HOSTILE.replace("&", "&amp;").replace("<", "&lt;")
    text = text.replace("Sonatina at the Open Gate", escaped).replace("annotator project", escaped).replace("Allegretto", escaped)
    source = tmp_path / "hostile.musicxml"
    source.write_text(text, encoding="utf-8")
    return source


def test_whatever_a_score_says_stays_text(tmp_path: Path) -> None:
    plan_comparison(hostile_score(tmp_path), Options()).write()
    text = (tmp_path / "hostile-compare.html").read_text(encoding="utf-8")
    seen = Seen(text)
    tags = Counter(tag for tag, _ in seen.elements)
    assert tags["script"] == 1 and tags["img"] == 0 and tags["h1"] == 1
    assert "alert" not in seen.raw["script"]
    assert sum("<script>alert(1)</script>" in words for words in seen.words) >= 2, "title and names are there, as they are written"


def test_ids_are_the_pages_own_and_none_is_there_twice(compared: Callable[..., Path]) -> None:
    elements = Seen(page_of(compared, name="lamps-on-the-water")).elements
    ids = Counter(str(attributes["id"]) for _, attributes in elements if "id" in attributes)
    assert max(ids.values()) == 1
    glyphs = {name for name in ids if re.fullmatch(r"E[0-9A-F]{3}", name)}
    assert set(ids) - glyphs == {
        "desk", "fade", "to-plain", "to-marked", "count", "lit", "kinds", "figures", "list", "keys", "score",
        "narrow", "over", "page", "with-marks", "leave", "to-stand",
    }  # fmt: skip
    uses = {str(a["href"])[1:] for tag, a in elements if tag == "use"}
    assert uses <= glyphs, "every glyph that is used is there"


def test_a_page_is_slim(compared: Callable[..., Path]) -> None:
    for name in ("sonatina-at-the-open-gate", "lamps-on-the-water"):
        assert Path(f"{compared(name)}.html").stat().st_size < 350_000
    text = page_of(compared)
    assert 'class="notehead"' not in text and "data-grey=\"scale" not in text


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_page_speaks_its_language(language: str, compared: Callable[..., Path]) -> None:
    seen = Seen(page_of(compared, language=language))
    assert ("html", {"lang": language}) in seen.elements
    words = " ".join(seen.words)
    for key in ("plain", "marked", "kinds", "figures", "kinds-note", "permission", "list-arrows"):
        assert comparing(key, language) in words


def test_the_same_score_gives_the_same_bytes_on_any_seed(tmp_path: Path) -> None:
    made = []
    for seed in ("1", "2"):
        folder = tmp_path / seed
        environment = {**os.environ, "PYTHONHASHSEED": seed}
        command = [sys.executable, "-m", "annotator", "compare", str(STUDY), "--out", str(folder), "-q"]
        subprocess.run(command, check=True, env=environment, timeout=120)
        made.append({path.name: path.read_bytes() for path in folder.iterdir()})
    assert made[0] == made[1]
    assert set(made[0]) == {f"{STUDY.stem}-compare.html", f"{STUDY.stem}-compare.pdf"}


def test_page_and_pdf_are_known_as_our_work(compared: Callable[..., Path]) -> None:
    for ending in (".html", ".pdf"):
        assert is_our_work(Path(f"{compared()}{ending}").read_bytes())


def fonts_in(rules: str) -> list[tuple[str, str, TTFont]]:
    found = re.findall(r'font-family:"([^"]+)"[^}]*base64,([^)]+)\)[^}]*unicode-range:([^}]+)', rules)
    return [(family, ranges, TTFont(BytesIO(base64.b64decode(data)))) for family, data, ranges in found]


def test_the_page_carries_the_letters_it_needs_and_no_more() -> None:
    rules = faces([Lettering("F♯ run"), Lettering("dolce ♭", italic=True)])
    given = {(family, chr(code)) for family, _, font in fonts_in(rules) for code in font.getBestCmap()}
    assert given == {("STIXGeneral", letter) for letter in "F♯ rundolce♭"}
    for _, ranges, font in fonts_in(rules):
        assert {f"U+{code:X}" for code in font.getBestCmap()} == set(ranges.split(","))


def test_the_note_of_a_metronome_mark_has_the_engravers_font(tmp_path: Path) -> None:
    mark = '<direction-type><metronome><beat-unit>quarter</beat-unit><per-minute>60</per-minute></metronome></direction-type>'
    text = STUDY.read_text(encoding="utf-8").replace("</attributes>", f'</attributes><direction placement="above">{mark}</direction>', 1)
    source = tmp_path / "marked.musicxml"
    source.write_text(text, encoding="utf-8")
    plan_comparison(source, Options()).write()
    page = (tmp_path / "marked-compare.html").read_text(encoding="utf-8")
    assert "\ueca5" in page
    assert len(re.findall(r"@font-face *{\s*font-family: *'Leipzig'", page)) == 1
