"""Pages for the browser: a template of ours filled, with its style and its script inside, closed against everything else.

Conventions
-----------
* What makes a page lies in one folder: ``page.html``, which extends ``frame.html`` beside this module, ``page.css`` and ``page.js``.
* A page opens from disk and asks for nothing else; its security policy allows just its own style sheet and script, known by their digests,
  and fonts inside the page.
* Every value is escaped, but for ``Markup``: that is of our own making. The same values give the same bytes.
* A page that shows music carries the typefaces of its texts, the characters it uses only. Every text falls into the same pieces of one face
  each as in the PDF (``fonts.runs``), so a browser and the PDF show the same letters; a family takes its characters from several files,
  told apart by ``unicode-range``.

Source: HTML Living Standard (WHATWG); Content Security Policy Level 3, CSS Fonts Level 4, WOFF file format 1.0 (W3C).
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from io import BytesIO
from typing import Any

from jinja2 import DictLoader, Environment, StrictUndefined, Template
from markupsafe import Markup

from annotator.options import __version__
from annotator.pages import fonts
from annotator.pages.fonts import Face

TEMPLATE, STYLE, SCRIPT = "page.html", "page.css", "page.js"


def html_page(package: str, rules: tuple[str, str] = ("", ""), /, **values: Any) -> str:
    """Return the page of a package; ``rules`` are what stands in its style sheet before and behind the file's own."""
    before, behind = rules
    style = before + _part(package, STYLE) + behind
    script = _part(package, SCRIPT)
    policy = (
        f"default-src 'none'; style-src {_digest(style)}; script-src {_digest(script)}; font-src data:; base-uri 'none'; form-action 'none'"
    )
    made: str = _template(package).render(values, css=Markup(style), script=Markup(script), policy=policy, version=__version__)
    return made


def words_on(package: str, **values: Any) -> str:
    """Return everything that stands on a page, tags among it, but for style and script: all the letters that it needs."""
    from html import unescape

    return unescape(_template(package).render(values, css="", script="", policy="", version=""))


def _digest(text: str) -> str:
    """Return a text's digest as a policy names it."""
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"


@cache
def _part(package: str, name: str) -> str:
    return files(package).joinpath(name).read_text(encoding="utf-8")


@cache
def _template(package: str) -> Template:
    there = DictLoader({"frame.html": _part("annotator.products", "frame.html"), TEMPLATE: _part(package, TEMPLATE)})
    environment = Environment(loader=there, autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    return environment.get_template(TEMPLATE)


@dataclass(frozen=True, slots=True)
class Lettering:
    """Some text as it stands on a page; ``bold`` and ``italic`` are its style."""

    text: str
    bold: bool = False
    italic: bool = False
    family: str = fonts.FAMILY


def faces(texts: Iterable[Lettering]) -> str:
    """Return the ``@font-face`` rules for some texts; what music characters stand in them the engraver has a font of its own for."""
    wanted: dict[tuple[Face, Face], set[str]] = {}
    for each in texts:
        own = Face(fonts.resolve(each.family), each.bold, each.italic)
        for run in fonts.runs(each.text, each.bold, each.italic, each.family):
            if run.face not in (None, fonts.MUSIC_FACE):
                wanted.setdefault((own, run.face), set()).update(run.text)
    ordered = sorted(wanted, key=repr)
    return "\n".join(_rule(own, "".join(sorted(wanted[own, source])), _subset(source, wanted[own, source])) for own, source in ordered)


def _rule(face: Face, characters: str, data: bytes) -> str:
    source = base64.b64encode(data).decode("ascii")
    ranges = ",".join(f"U+{ord(each):X}" for each in characters)
    weight, style = ("bold" if face.bold else "normal"), ("italic" if face.italic else "normal")
    return (
        f'@font-face{{font-family:"{face.family}";font-weight:{weight};font-style:{style};'
        f"src:url(data:font/woff;base64,{source}) format(\"woff\");unicode-range:{ranges}}}"
    )


def _subset(face: Face, characters: Iterable[str]) -> bytes:
    """Return a font file with these characters of a face only."""
    from fontTools.subset import Options, Subsetter
    from fontTools.ttLib import TTFont

    font = TTFont(BytesIO(fonts.file_of(face).read_bytes()), recalcTimestamp=False)
    options = Options(hinting=False, layout_features=[], name_IDs=[1, 2], notdef_outline=True, glyph_names=False, legacy_cmap=False)
    options.drop_tables += ["FFTM", "BASE", "MATH", "GDEF", "GPOS", "GSUB"]
    subsetter = Subsetter(options)
    subsetter.populate(unicodes=[ord(each) for each in characters])
    subsetter.subset(font)
    font.flavor = "woff"
    target = BytesIO()
    font.save(target, reorderTables=True)
    return target.getvalue()
