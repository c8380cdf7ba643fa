"""Title and composer, from where a score may have them.

Conventions
-----------
* Title: the work's title, else the movement's, else the credit of type title, else the largest words on the first page.
* Composer: the creator of type composer, else the credit of type composer. Empty where the score says nothing.

Source: MusicXML 4.0, elements ``work``, ``movement-title``, ``identification``, ``credit``.
"""

from __future__ import annotations

from typing import Any

from annotator.reading.notes import decimal
from annotator.reading.parts import clean


def title_of(root: Any) -> str:
    """Return the title of a score, or the empty text."""
    named = clean(root.findtext("work/work-title")) or clean(root.findtext("movement-title"))
    return named or _credit(root, "title") or _largest_credit(root)


def composer_of(root: Any) -> str:
    """Return the composer named in a score, or the empty text."""
    for creator in root.iterfind("identification/creator"):
        if creator.get("type") == "composer" and clean(creator.text):
            return clean(creator.text)
    return _credit(root, "composer")


def _words(credit: Any) -> str:
    return clean(" ".join(words.text or "" for words in credit.iterchildren("credit-words")))


def _credit(root: Any, kind: str) -> str:
    for credit in root.iterchildren("credit"):
        if any(clean(child.text) == kind for child in credit.iterchildren("credit-type")) and _words(credit):
            return _words(credit)
    return ""


def _largest_credit(root: Any) -> str:
    """Return the first page's words of largest type, if any gives its size."""
    best, largest = "", 0.0
    for credit in root.iterchildren("credit"):
        if credit.get("page", "1") != "1" or credit.find("credit-type") is not None:
            continue
        for words in credit.iterchildren("credit-words"):
            size = float(decimal(words.get("font-size")) or 0)
            if size > largest and clean(words.text):
                best, largest = clean(words.text), size
    return best
