"""A page as a real browser draws it: headless Chromium, with the program's own typefaces."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

from annotator.engraving import fonts

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
FLAGS = (
    *("--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-sync"),
    *("--disable-background-networking", "--disable-component-update", "--hide-scrollbars"),
    "--allow-file-access-from-files",
)


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
