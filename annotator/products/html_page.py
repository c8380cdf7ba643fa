"""Pages for the browser: a template of ours filled, with its style and its script inside, closed against everything else.

Conventions
-----------
* What makes a page lies in one folder: ``page.html``, which extends ``frame.html`` beside this module, ``page.css`` and ``page.js``.
* A page opens from disk and asks for nothing else; its security policy allows just its own style sheet and script, known by their digests,
  and fonts inside the page.
* Every value is escaped, but for ``Markup``: that is of our own making. The same values give the same bytes.

Source: HTML Living Standard (WHATWG); Content Security Policy Level 3 (W3C).
"""

from __future__ import annotations

import base64
import hashlib
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Any

from annotator.options import __version__

if TYPE_CHECKING:
    from jinja2 import Template

TEMPLATE, STYLE, SCRIPT = "page.html", "page.css", "page.js"


def html_page(package: str, rules: tuple[str, str] = ("", ""), /, **values: Any) -> str:
    """Return the page of a package; ``rules`` are what stands in its style sheet before and behind the file's own."""
    before, behind = rules
    style = before + _part(package, STYLE) + behind
    script = _part(package, SCRIPT)
    policy = (
        f"default-src 'none'; style-src {_digest(style)}; script-src {_digest(script)}; font-src data:; base-uri 'none'; form-action 'none'"
    )
    made: str = _template(package).render(values, css=_as_it_is(style), script=_as_it_is(script), policy=policy, version=__version__)
    return made


def words_on(package: str, **values: Any) -> str:
    """Return everything that stands on a page, tags among it, but for style and script: all the letters that it needs."""
    from html import unescape

    return unescape(_template(package).render(values, css="", script="", policy="", version=""))


def _as_it_is(text: str) -> Any:
    from markupsafe import Markup

    return Markup(text)


def _digest(text: str) -> str:
    """Return a text's digest as a policy names it."""
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"


@cache
def _part(package: str, name: str) -> str:
    return files(package).joinpath(name).read_text(encoding="utf-8")


@cache
def _template(package: str) -> Template:
    from jinja2 import DictLoader, Environment, StrictUndefined

    there = DictLoader({"frame.html": _part("annotator.products", "frame.html"), TEMPLATE: _part(package, TEMPLATE)})
    environment = Environment(loader=there, autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    return environment.get_template(TEMPLATE)
