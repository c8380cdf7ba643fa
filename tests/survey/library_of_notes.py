"""Surveys made for the tests of effort and page: measures without scores."""

from __future__ import annotations

from dataclasses import replace

from annotator.figures.registry import KINDS_BY_NAME
from annotator.products.survey.effort import effort
from annotator.products.survey.measures import Drilled, Failed, HandMeasures, KeyUsed, LeftOut, Measured, Measures, Survey

HAND = HandMeasures(notes=100, compass=24, reach=7, ledger_lines=1)
MEASURES = Measures(
    title="A Study",
    composer="annotator project",
    bars=32,
    beats=96.0,
    notes=200,
    to_read=90,
    odd=3,
    signs=8,
    signature=1,
    keys=(KeyUsed("G", False, 30), KeyUsed("A", True, 2)),
    kinds=(Drilled("scale-run", 4, 60), Drilled("alberti-bass", 2, 48)),
    right=HAND,
    left=HAND,
    rhythm=1.2,
    thickness=1.2,
    voices=5.0,
)

KINDS = tuple(KINDS_BY_NAME)


HOSTILE = (
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "</title></style></script><h1>",
    "'onmouseover='alert(1)",
    "&lt;b&gt; &amp; \u202edlrow\u202c {title} {0} ${x}",
    "]]><!--",
)


def scored(measures: Measures, path: str = "study.musicxml") -> Measured:
    """Return a score of the library with these measures."""
    return Measured(path, "0" * 64, measures, effort(measures))


def library(count: int) -> Survey:
    """Return a survey of so many different scores, with two files that failed and one left out."""
    scores = []
    for number in range(count):
        notes = 100 + 37 * number % 900
        measures = replace(
            MEASURES,
            title=f"Study no. {number + 1}",
            composer=("", "Anna B.", "émile C.")[number % 3],
            notes=notes,
            to_read=notes - notes * (number * 7919 % 97) // 100,
            beats=40.0 + number * 31 % 120,
            signs=number * 13 % 60,
            kinds=(Drilled(KINDS[number % len(KINDS)], 2, 40), Drilled(KINDS[(number + 1) % len(KINDS)], 1, 20)),
        )
        scores.append(scored(measures, f"folder/study-{number + 1}.musicxml"))
    failed = (Failed("folder/bad.xml", "this is not MusicXML: <html>", 65), Failed("folder/gone.xml", "it cannot be read", 66))
    return Survey(tuple(scores), failed, (LeftOut("folder/quartet.mxl", "no part for keyboard"),))


def hostile_library() -> Survey:
    """Return a survey whose titles, composers, paths and messages try to be more than text."""
    scores = tuple(
        scored(replace(MEASURES, title=text, composer=text, to_read=90 + 10 * place), f"{text}.xml") for place, text in enumerate(HOSTILE)
    )
    plain = library(1)
    return Survey(scores, tuple(replace(one, path=HOSTILE[0], message=HOSTILE[1]) for one in plain.failed), plain.left_out)
