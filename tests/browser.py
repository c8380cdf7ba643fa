"""A page as a real browser draws and runs it: headless Chromium, alone or driven by Playwright."""

from __future__ import annotations

import importlib.util
import shutil
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from annotator.pages import fonts

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
QUIET = (
    *("--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-sync"),
    *("--disable-background-networking", "--disable-component-update"),
)
FLAGS = ("--headless", *QUIET, "--hide-scrollbars", "--allow-file-access-from-files")
NOT_DRIVEN = (
    "no chromium on this machine: pages are not tried in a browser"
    if CHROMIUM is None
    else "playwright is not installed: pages are not tried in a browser"
    if importlib.util.find_spec("playwright") is None
    else ""
)
"""Why no page can be tried in a browser here; empty where it can: ``pytest.mark.skipif(bool(browser.NOT_DRIVEN), reason=…)``."""

TABLET, DESKTOP = (768, 1024), (1280, 800)
"""Sizes of window a page must suit, in CSS pixels."""


def _faces() -> str:
    rules = []
    for family in fonts.FAMILIES.values():
        for bold in (False, True):
            for italic in (False, True):
                source = fonts.file_of(fonts.Face(family, bold, italic)).as_uri()
                weight, style = ("bold" if bold else "normal"), ("italic" if italic else "normal")
                rules.append(
                    f"@font-face{{font-family:'{family}';src:url({source});font-weight:{weight};font-style:{style}}}"
                )
    return "".join(rules)


def picture(svg: str, width: int, height: int, folder: Path) -> bytes:
    """Return a PNG of an SVG page stretched over ``width`` x ``height`` pixels; kerning off, as in the PDF."""
    assert CHROMIUM is not None
    look = f"html,body{{margin:0;background:#fff}} body>svg{{display:block;width:{width}px;height:{height}px;font-kerning:none}}"
    svg = svg.replace("Times, serif", f"{fonts.SERIF}, '{fonts.SANS}'")
    page, target = folder / "page.html", folder / "page.png"
    page.write_text(f"<!doctype html><meta charset=utf-8><style>{_faces()}{look}</style>{svg}", encoding="utf-8")
    command = [CHROMIUM, *FLAGS, f"--user-data-dir={folder / 'profile'}", f"--window-size={width},{height}"]
    subprocess.run([*command, f"--screenshot={target}", page.as_uri()], check=True, capture_output=True, timeout=120)
    return target.read_bytes()


@dataclass(slots=True)
class Visit:
    """A page open in the browser (``page`` is Playwright's), what it asked for beside itself, and what it complained of."""

    page: Any
    file: Path
    requests: list[str] = field(default_factory=list)
    complaints: list[str] = field(default_factory=list)

    def asked(self, url: str) -> None:
        """Note a request, unless it is for the page itself or for data the page carries."""
        if url.partition("#")[0] != self.file.as_uri() and not url.startswith("data:"):
            self.requests.append(url)


@contextmanager
def driven() -> Iterator[Any]:
    """Give a headless Chromium (Playwright's ``Browser``) and close it afterwards; starting one takes about a second."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=list(QUIET))
        try:
            yield browser
        finally:
            browser.close()


@contextmanager
def visit(browser: Any, file: Path, size: tuple[int, int] = DESKTOP, **settings: Any) -> Iterator[Visit]:
    """Open a page from disk, in a context of its own, with no network, and watch what it does.

    ``settings`` are those of a Playwright context (``reduced_motion="reduce"``, ``has_touch=True`` …).
    """
    context = browser.new_context(viewport={"width": size[0], "height": size[1]}, offline=True, **settings)
    try:
        shown = Visit(context.new_page(), file.resolve())
        shown.page.on("request", lambda request: shown.asked(request.url))
        shown.page.on("console", lambda message: shown.complaints.append(message.text) if message.type in ("error", "warning") else None)
        shown.page.on("pageerror", lambda error: shown.complaints.append(str(error)))
        shown.page.goto(shown.file.as_uri())
        yield shown
    finally:
        context.close()


def sideways_overflow(page: Any) -> int:
    """Return by how many pixels a page is wider than its window, 0 if it is not."""
    wide: int = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    return max(wide, 0)


def overlaps(page: Any, selector: str) -> list[str]:
    """Return the pairs of visible elements that lie over each other, of those a selector finds; one inside another does not count."""
    found: list[str] = page.evaluate(
        """selector => {
            const seen = [...document.querySelectorAll(selector)]
                .map(element => [element, element.getBoundingClientRect()])
                .filter(([element, box]) => box.width > 0 && box.height > 0 && getComputedStyle(element).visibility !== "hidden");
            const name = element => `${element.tagName}.${element.getAttribute("class")} ${element.textContent.trim().slice(0, 30)}`;
            const pairs = [];
            seen.forEach(([one, a], index) => seen.slice(index + 1).forEach(([other, b]) => {
                const nested = one.contains(other) || other.contains(one);
                const wide = Math.min(a.right, b.right) - Math.max(a.left, b.left);
                const high = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
                if (!nested && wide > 0.5 && high > 0.5) pairs.push(name(one) + " / " + name(other));
            }));
            return pairs;
        }""",
        selector,
    )
    return found
