"""The converter's process: whatever becomes of it, one line and no more; and it keeps to itself."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from formats.sources import ABC, KERN

from annotator.errors import ScoreError
from annotator.formats import Source, converting
from annotator.formats.converting import ask
from annotator.reading import read

DEATHS = {
    "import os; os.abort()": "signal 6",
    "import sys; sys.exit(3)": "failed: no reason given",
    "raise ImportError('No module named \\'music21\\'')": "pip install music21",
    "import time; time.sleep(30)": "longer than 1 second",
    "print('nonsense')": "cannot be read",
    "print('{}')": "no reason given",
    "print('{\"ok\": true, \"text\": 5, \"by\": \"\", \"hands\": [], \"told\": []}')": "cannot be read",
    "print('{\"ok\": false, \"why\": \"it (x)\"}')": "it (x)",
}


@pytest.mark.parametrize(("program", "words"), DEATHS.items())
def test_a_converter_that_fails_is_a_source_that_cannot_be_read(
    program: str, words: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(converting, "BASE_SECONDS", 1.0)
    with pytest.raises(ScoreError, match=words.replace("(", r"\(").replace(")", r"\)")) as caught:
        ask("abc", Source(b"X:1\nK:C\nc|"), (sys.executable, "-c", "import sys; sys.stdin.readline(); " + program))
    assert "\n" not in str(caught.value)


def test_a_converter_that_is_not_there() -> None:
    with pytest.raises(ScoreError, match="cannot be started"):
        ask("abc", Source(b""), ("/nowhere/python",))
    with pytest.raises(ScoreError, match="limit"):
        ask("abc", Source(b" " * (converting.LARGEST + 1)))


def test_notes_lost_or_added_are_not_passed_over(monkeypatch: pytest.MonkeyPatch) -> None:
    answer = ask("kern", Source(KERN.replace("1GG", "1r").encode()))
    monkeypatch.setattr("annotator.formats.converting.ask", lambda *_words: answer)
    with pytest.raises(ScoreError, match="made 9 notes of the 10"):
        read(KERN.encode())


def test_what_the_converter_says_passes_the_gate(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    secret = tmp_path / "secret"
    secret.write_text("canary")
    text = f'<!DOCTYPE s [<!ENTITY c SYSTEM "file://{secret}">]><score-partwise><part-list>&c;</part-list></score-partwise>'
    for said in (text, "", "<html/>", "<score-partwise/>", '<score-timewise><part-list/></score-timewise>'):
        answer = {"text": said, "by": "x", "hands": [], "told": []}
        monkeypatch.setattr("annotator.formats.converting.ask", lambda *_words, answer=answer: answer)
        with pytest.raises(ScoreError) as caught:
            read(ABC.encode())
        assert "canary" not in str(caught.value)


def test_the_process_opens_no_socket_starts_no_program_and_writes_no_file(tmp_path: Path) -> None:
    tries = f"""
import sys
from annotator.formats.converter import stay_inside
sys.addaudithook(stay_inside)
import socket, subprocess, os
done = []
for attempt in (lambda: socket.socket().connect(("127.0.0.1", 9)), lambda: subprocess.run(["true"]), lambda: os.system("true"),
                lambda: open({str(tmp_path / "x")!r}, "w"), lambda: os.open({str(tmp_path / "y")!r}, os.O_CREAT | os.O_WRONLY)):
    try:
        attempt()
    except PermissionError:
        done.append(1)
print(len(done))
"""
    done = subprocess.run([sys.executable, "-c", tries], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "5" and not list(tmp_path.iterdir())


def test_the_converter_is_loaded_only_where_it_is_needed() -> None:
    program = (
        "import sys, annotator; annotator.read(sys.argv[1]); "
        "print(*(name in sys.modules for name in ('music21', 'annotator.formats.converting')))"
    )
    example = next((Path(__file__).resolve().parents[2] / "examples").glob("*.musicxml"))
    done = subprocess.run([sys.executable, "-c", program, str(example)], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["False", "False"]
