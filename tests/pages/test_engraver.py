"""The engraver's process fails in every way it can, and the answer is always one of our errors."""

from __future__ import annotations

import signal
import sys
import threading
from dataclasses import replace
from types import FrameType
from typing import Any

import pytest
from lxml import etree

from annotator.errors import EngraverError
from annotator.marks.marking import Markings
from annotator.marks.style import Style
from annotator.pages import engraver
from annotator.pages.engraving import engrave
from annotator.pages.render_copy import render_copy
from annotator.reading import load, read_document

SCORE = """<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Piano</part-name></score-part></part-list>
<part id="P1"><measure number="1"><attributes><divisions>1</divisions><time><beats>4</beats><beat-type>4</beat-type></time>
<clef><sign>G</sign><line>2</line></clef></attributes>
<note id="a"><pitch><step>C</step><octave>5</octave></pitch><duration>1</duration><type>quarter</type></note>
<note id="a"><pitch><step>D</step><octave>5</octave></pitch><duration>1</duration><type>quarter</type></note>
<note id="1 bad"><rest/><duration>1</duration><type>quarter</type></note>
<note id="good-1"><pitch><step>E</step><octave>5</octave></pitch><duration>1</duration><type>quarter</type></note>
</measure></part></score-partwise>"""


def child(code: str) -> tuple[str, ...]:
    return (sys.executable, "-c", "import sys; sys.stdin.readline(); " + code)


@pytest.mark.parametrize(
    ("code", "message"),
    [
        ("import os, signal; os.kill(os.getpid(), signal.SIGSEGV)", "broke down .*signal 11"),
        ("print('no json')", "cannot be read"),
        ("print('[1, 2]')", "no reason given"),
        ("sys.exit('out of ink')", "out of ink"),
        ("print('{\"ok\": false, \"why\": \"it cannot read the score\"}')", "cannot read the score"),
        ("print('{\"ok\": true, \"pages\": []}')", "no page"),
        ("sys.exit(\"ModuleNotFoundError: No module named 'verovio'\")", "pip install"),
    ],
)
def test_a_child_that_fails_is_an_engraver_error(code: str, message: str) -> None:
    with pytest.raises(EngraverError, match=message):
        engraver.ask("pages", "", {}, 1, child(code))


@pytest.mark.skipif(not hasattr(signal, "setitimer"), reason="the system has no alarm")
def test_an_interrupt_while_it_works_leaves_no_clock_that_the_program_would_wait_for() -> None:
    def interrupt(_number: int, _frame: FrameType | None) -> None:
        """Do as Ctrl-C does."""
        raise KeyboardInterrupt

    before = signal.signal(signal.SIGALRM, interrupt)
    signal.setitimer(signal.ITIMER_REAL, 0.5)
    try:
        with pytest.raises(KeyboardInterrupt):
            engraver.ask("pages", "", {}, 1, child("import time; time.sleep(60)"))
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, before)
    clocks = [thread for thread in threading.enumerate() if isinstance(thread, threading.Timer) and not thread.finished.is_set()]
    assert clocks == []


def test_a_child_that_hangs_is_ended(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(engraver, "BASE_SECONDS", -1.5)
    with pytest.raises(EngraverError, match="longer than"):
        engraver.ask("pages", "", {}, 1, child("import time; time.sleep(60)"))


def test_a_command_that_is_not_there() -> None:
    with pytest.raises(EngraverError, match="cannot be started"):
        engraver.ask("pages", "", {}, 1, ("/nowhere/at/all",))


def test_ids_of_the_page_are_plain_and_unique() -> None:
    made = render_copy(load(SCORE.encode()))
    assert made.names == {1: "n1", 2: "n2", 3: "n3", 4: "good-1"}
    assert made.printed == frozenset({1, 2, 4})


def test_a_page_on_which_a_note_is_missing_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    document = load(SCORE.encode())
    score = read_document(document)
    nothing = Markings((), frozenset(), frozenset())
    assert len(engrave(document, score, nothing, Style(), "a4").pages) == 1
    honest = engraver.ask

    def lying(job: str, *rest: Any, **more: Any) -> dict[str, Any]:
        answer = honest(job, *rest, **more)
        if "pages" in answer:
            answer["pages"] = [page.replace('id="note-4"', 'id="other"') for page in answer["pages"]]
        return answer

    monkeypatch.setattr("annotator.pages.engraving.ask", lying)
    with pytest.raises(EngraverError, match="left out 1 of the score's 3 notes"):
        engrave(document, score, nothing, Style(), "a4")


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("<beat-type>4</beat-type>", "<beat-type>0</beat-type>", "time signature"),
        ("<beat-type>4</beat-type>", "", "lower number"),
        ("<clef>", "<staves>99999999</staves><clef>", "staves"),
    ],
)
def test_what_kills_the_engraver_is_refused_before(old: str, new: str, message: str) -> None:
    document = replace(load(SCORE.encode()), tree=etree.ElementTree(etree.fromstring(SCORE.replace(old, new))))
    with pytest.raises(EngraverError, match=message):
        render_copy(document)
