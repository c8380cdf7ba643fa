"""The page for the screen: one HTML file with the marked score in it, whose marks fade in and out.

Conventions: nothing is fetched and no script or style runs that is not this program's own: the page's security policy names them by their
hashes. Everything that comes from the score is escaped.

Source: HTML Living Standard (WHATWG); Content Security Policy Level 3 (W3C); WAI-ARIA 1.2 (W3C).
"""

from __future__ import annotations

import base64
import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from html import escape
from importlib.resources import files
from string import Template

from annotator import __version__
from annotator.marks.report import Report
from annotator.marks.style import Style
from annotator.products.compare.page_fonts import Lettering, faces
from annotator.products.compare.page_music import Music, letterings
from annotator.words import heading, kind_name
from annotator.words.phrases import comparing

_ARROWS = "↑ ↓"
_KEYS = (
    ("key-tab", "tab"),
    ("← →", "arrows"),
    ("key-home key-end", "ends"),
    ("key-space", "space"),
    (_ARROWS, "list-arrows"),
    ("key-enter", "enter"),
    ("key-escape", "escape"),
    ("key-page-down → ↓ key-space", "next-page"),
    ("key-page-up ← ↑", "page-before"),
)
"""The keys the page answers to: their names, and the word that says what they do."""

_FEW = 4
"""Lists up to this length are shown whole; longer ones give way where there is little room, and scroll."""

_DIGITS = "0123456789 %·–…"
"""What the page's script writes beside the words it is given."""


@dataclass(frozen=True, slots=True)
class Texts:
    """What the page says of the score: title (the file's name where it has none), people, legend, copyright notice."""

    title: str
    people: Sequence[str]
    legend: str
    rights: str


def page(report: Report, music: Music, narrow: Music, texts: Texts, style: Style, counts: Mapping[str, int]) -> str:
    """Return the page.

    ``narrow`` is the same music in short systems, for narrow windows. ``counts`` are the grey notes by the reason they are grey for
    (``reasons.grey_counts``).
    """
    body = _body(report, texts, style)
    shown = [*(Lettering(text) for text in (*_words(body), _DIGITS)), *(Lettering(text, italic=True) for text in texts.people)]
    rules = f"{faces([*shown, *letterings(music), *letterings(narrow)])}\n{_part('page.css')}{music.rules}"
    script = _part("page.js")
    values = {
        "policy": _policy(rules, script),
        "version": escape(__version__),
        "style": rules,
        "script": script,
        "ink": style.ink,
        "grey": style.grey,
        "reasons": escape(json.dumps(music.reasons)),
        "counts": escape(json.dumps(counts)),
        "notes": str(report.notes),
        "glyphs": music.glyphs,
        "narrow": "\n".join(narrow.systems),
        "systems": "\n".join(music.systems),
    }
    return Template(_part("page.html")).substitute(body | values)


def _part(name: str) -> str:
    return files(__package__).joinpath(name).read_text(encoding="utf-8")


def _policy(style: str, script: str) -> str:
    """Return the security policy: nothing but this style, this script, and the fonts inside the page."""
    hashes = [base64.b64encode(hashlib.sha256(text.encode("utf-8")).digest()).decode("ascii") for text in (style, script)]
    allowed = f"style-src 'sha256-{hashes[0]}'; script-src 'sha256-{hashes[1]}'; font-src data:"
    return f"default-src 'none'; {allowed}; base-uri 'none'; form-action 'none'"


def _body(report: Report, texts: Texts, style: Style) -> dict[str, str]:
    """Return everything on the page that is words, escaped, by its place in the template."""
    language = report.language

    def say(key: str) -> str:
        """Return a word of the page, safe to be put into it."""
        return escape(comparing(key, language))

    plain_words = {key: say(key.replace("_", "-")) for key in ("plain", "marked", "fade", "fade_value", "controls", "score")}
    plain_words |= {key: say(key.replace("_", "-")) for key in ("stand", "page_of", "leave")}
    plain_words |= {key: say(key.replace("_", "-")) for key in ("kinds_note", "no_script", "permission")}
    return plain_words | {
        "language": language,
        "title": escape(f"{texts.title} · {comparing('plain', language)} / {comparing('marked', language)}"),
        "heading": escape(texts.title),
        "people": "\n".join(f'<p class="people">{escape(each)}</p>' for each in texts.people),
        "legend": escape(texts.legend),
        "rights": f"<p>{escape(texts.rights)}</p>" if texts.rights else "",
        "count": escape(report.headline),
        "count_words": escape(heading("count", language)),
        "kinds_heading": say("kinds"),
        "figures_heading": f"{say('figures')} ({len(report.figures)})",
        "keys_heading": say("keys"),
        "many_kinds": " many" if len(report.by_kind()) > _FEW else "",
        "many_figures": " many" if len(report.figures) > _FEW else "",
        "switches": _switches(report, style),
        "figures": _figures(report) if report.figures else f"<p>{say('none')}</p>",
        "keys": "\n".join(f"<dt>{_keys(keys, language)}</dt><dd>{say(does)}</dd>" for keys, does in _KEYS),
    }


def _keys(names: str, language: str) -> str:
    words = [comparing(name, language) if name.startswith("key-") else name for name in names.split()]
    return " ".join(f"<kbd>{escape(word)}</kbd>" for word in words)


def _switches(report: Report, style: Style) -> str:
    """Return a switch for each kind found, with the look of its bracket."""
    from annotator.figures.registry import kind_of

    lines = []
    for count in report.by_kind():
        colour = style.bracket(kind_of(count.kind).family)
        line = f'<path d="M2 12V3H30V12" fill="none" stroke="{colour}" stroke-width="2"/>'
        bracket = f'<svg viewBox="0 0 32 14" aria-hidden="true">{line}</svg>'
        name = escape(kind_name(count.kind, report.language))
        template = comparing("to-read-of", report.language)
        words = escape(template.format(to_read=count.to_read, notes=count.notes))
        data = f'data-words="{escape(template)}" data-notes="{count.notes}" data-to-read="{count.to_read}"'
        lines.append(
            f'<li><label><input type="checkbox" role="switch" value="{escape(count.kind)}" autocomplete="off" checked>{bracket}'
            f'<span>{name} <span class="how-many">×{count.figures}</span></span><span class="how-many" {data}>{words}</span></label></li>'
        )
    return "\n".join(lines)


def _figures(report: Report) -> str:
    """Return the list of figures: bar, hand, label, notes to read of its notes."""
    language = report.language
    head = [heading(key, language) for key in ("bar", "hand", "label")] + [f"{heading('to-read', language)} / {heading('notes', language)}"]
    names = ("bar", "hand", "label", "read")
    top = "".join(f'<span class="{name}">{escape(text)}</span>' for name, text in zip(names, head, strict=True))
    lines = [f'<div class="columns" aria-hidden="true">{top}</div>', '<ol class="figures">']
    for (name, figure), row in zip(report.figures, report.rows(), strict=True):
        hand = heading(row.hand, language)
        count = f"{row.to_read} / {row.notes}"
        before, behind = _spoken(f"{head[0]} "), _spoken(f" {heading('to-read', language)}")
        cells = (("bar", before, row.bar, ""), ("hand", "", hand, ""), ("label", "", row.label, ""), ("read", "", count, behind))
        inside = "".join(f'<span class="{place}">{first}{escape(text)}{last}</span>' for place, first, text, last in cells)
        words = escape(f"{head[0]} {row.bar} · {row.label}", quote=True)
        data = f'data-figure="{escape(name)}" data-kind="{escape(figure.kind)}" data-words="{words}"'
        lines.append(f'<li><button type="button" {data} aria-current="false">{inside}</button></li>')
    return "\n".join([*lines, "</ol>"])


def _spoken(words: str) -> str:
    """Return words for those who hear the page, beside what the others see."""
    return f'<span class="spoken">{escape(words)}</span>'


def _words(body: Mapping[str, str]) -> list[str]:
    """Return what stands on the page, entities resolved; tags in it do no harm: their letters are needed anyway."""
    from html import unescape

    return [unescape(text) for text in body.values()]
