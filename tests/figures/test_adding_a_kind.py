"""A newcomer's walk: a toy kind added to a copy of the program by following the text "To add a figure" in DEVELOPERS.md, and nothing else.

The toy is the chain of fifths: a bass that goes by turns down a fifth and up a fourth, letter by letter. What the text asks for is
written out here in full, and its lines are counted.
"""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from pathlib import Path

import pypdf
import pytest
from unmeasured import unmeasured

import annotator
from annotator.options import folder

MOST_LINES, MOST_PLACES = 75, 7  # places are counted as git counts them: stretches of changed lines

MODULE = '''"""Chains of fifths: a line that goes by turns down a fifth and up a fourth.

Convention: letters count; six notes at least. The first note is the anchor. Rule: an unmarked note has the alteration in force.
Source: common practice, no source.
"""

from annotator.figures.figure import LabelData, figure_of

MOVES = (-4, 3)  # in letters, by turns


def detect(line):
    """Yield every longest chain of single notes of which each sounds as its letter stands in the signature."""
    events, first = line.events, 0
    for stop in range(1, len(events) + 1):
        whole = events[first:stop]
        if stop == len(events) or not _goes_on(events[stop - 1], events[stop], stop - 1 - first):
            if len(whole) >= 6 and (figure := figure_of(line, "chain-of-fifths", whole, whole[0].notes)):
                yield figure
            first = stop


def _goes_on(before, after, place):
    steps = after.notes[0].pitch.diatonic - before.notes[0].pitch.diatonic
    return before.single and after.single and after.joined and steps == MOVES[place % 2]


def spell_out(covered):
    """Return the chain from its first note."""
    place, keys = covered.slots[0].dark().diatonic, []
    for number, slot in enumerate(covered.slots):
        pitch = slot.known[0] or slot.unmarked(place)
        keys.append((int(pitch.semitone),))
        place += MOVES[number % 2]
    return tuple(keys)


def label(figure):
    """Name the first note."""
    return LabelData(notes=figure.moments[0])
'''

ENTRY = '    Kind("chain-of-fifths", "run", chain_of_fifths.label, chain_of_fifths.spell_out, chain_of_fifths.detect),\n'
WORDS = {
    "en": """[figures.chain-of-fifths]
source = "unverified"
name = "fifths"
label = ["chain of fifths from {notes}", "fifths from {notes}", "fifths"]
rule = "By turns down a fifth and up a fourth."
dark = "the first note"
""",
    "de": """[figures.chain-of-fifths]
source = "unverified"
name = "Quintfall"
label = ["Quintfall ab {notes}", "Quintfall ab {notes}", "Quintfall"]
rule = "Abwechselnd eine Quinte ab und eine Quarte auf."
dark = "der erste Ton"
""",
    "fr": """[figures.chain-of-fifths]
source = "unverified"
name = "quintes"
label = ["chaîne de quintes depuis {notes}", "quintes depuis {notes}", "quintes"]
rule = "Tour à tour une quinte vers le bas, une quarte vers le haut."
dark = "la première note"
""",
    "it": """[figures.chain-of-fifths]
source = "unverified"
name = "quinte"
label = ["catena di quinte da {notes}", "quinte da {notes}", "quinte"]
rule = "A turno una quinta in giù e una quarta in su."
dark = "la prima nota"
""",
}
AFTER_THE_FIGURES = "# Headings of tables, the line that counts, the line at a page's foot, the steps of a practice series.\n"

EDITS = (
    ("figures/registry.py", "    broken_intervals,\n", "    broken_intervals,\n    chain_of_fifths,\n"),
    ("figures/registry.py", "KINDS: tuple[Kind, ...] = (\n", "KINDS: tuple[Kind, ...] = (\n" + ENTRY),
    *((f"words/{language}.toml", AFTER_THE_FIGURES, words + "\n" + AFTER_THE_FIGURES) for language, words in WORDS.items()),
)
"""File, a line that stands in it once, and what takes its place: the line, and the new ones before or after it."""

NOTES = [("C", 4), ("F", 3), ("B", 3), ("E", 3), ("A", 3), ("D", 3), ("G", 3), ("C", 3)]


def score() -> str:
    """Return two bars of a bass in G major that falls by fifths: every F is an F sharp."""
    bars = ""
    for number in (0, 1):
        notes = "".join(
            f"<note><pitch><step>{step}</step>{'<alter>1</alter>' if step == 'F' else ''}<octave>{octave}</octave></pitch>"
            "<duration>1</duration><type>quarter</type></note>"
            for step, octave in NOTES[4 * number : 4 * number + 4]
        )
        time = "<time><beats>4</beats><beat-type>4</beat-type></time>"
        signs = f"<attributes><divisions>1</divisions><key><fifths>1</fifths></key>{time}</attributes>"
        bars += f'<measure number="{number + 1}">{"" if number else signs}{notes}</measure>'
    parts = '<part-list><score-part id="P1"><part-name>Piano</part-name></score-part></part-list>'
    return f'<score-partwise version="4.0">{parts}<part id="P1">{bars}</part></score-partwise>'


@pytest.fixture(scope="module")
def changed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with a copy of the program that knows the toy kind."""
    place = tmp_path_factory.mktemp("changed")
    source = Path(annotator.__file__).parent
    shutil.copytree(source, place / "annotator", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copytree(folder("styles"), place / "styles", dirs_exist_ok=True)
    (place / "annotator/figures/chain_of_fifths.py").write_text(MODULE, encoding="utf-8")
    for name, old, new in EDITS:
        path = place / "annotator" / name
        text = path.read_text(encoding="utf-8")
        assert text.count(old) == 1, f"{name} has no single place {old!r}"
        path.write_text(text.replace(old, new), encoding="utf-8")
    (place / "fifths.musicxml").write_text(score(), encoding="utf-8")
    return place


def report(changed: Path, *options: str) -> dict[str, object]:
    """Return the report that the changed program prints."""
    command = [sys.executable, "-m", "annotator", "figures", "fifths.musicxml", "--json", *options]
    done = subprocess.run(command, cwd=changed, env=unmeasured(), capture_output=True, text=True, timeout=60, check=True)
    data: dict[str, object] = json.loads(done.stdout)
    return data


def test_the_walk_is_short() -> None:
    assert 1 + len(EDITS) <= MOST_PLACES
    assert len(MODULE.splitlines()) + sum(len(new.splitlines()) - 1 for _, _, new in EDITS) <= MOST_LINES


def test_the_toy_is_found_and_all_but_its_first_note_follows(changed: Path) -> None:
    found = report(changed)
    assert [figure["kind"] for figure in found["figures"]] == ["chain-of-fifths"]  # type: ignore[attr-defined]
    assert found["score"] == {"title": "", "bars": 2, "notes": 8, "to_read": 1, "grey": 7}


@pytest.mark.parametrize("language", ["en", "de", "fr", "it"])
def test_it_has_its_words_in_every_language(changed: Path, language: str) -> None:
    labels = report(changed, "--language", language)["figures"][0]["labels"]  # type: ignore[index]
    assert f'"{labels[2]}"]' in WORDS[language] and "{" not in labels[0]


def test_it_can_be_left_out(changed: Path) -> None:
    found = report(changed, "--without", "chain-of-fifths")["figures"]
    assert "chain-of-fifths" not in [figure["kind"] for figure in found]  # type: ignore[attr-defined]


def test_pages_are_drawn(changed: Path) -> None:
    command = [sys.executable, "-m", "annotator", "mark", "fifths.musicxml", "--formats", "svg"]
    subprocess.run(command, cwd=changed, env=unmeasured(), capture_output=True, timeout=120, check=True)
    assert "chain of fifths from C" in (changed / "fifths-marked-001.svg").read_text(encoding="utf-8")


def test_the_handout_says_what_to_read_in_it(changed: Path) -> None:
    command = [sys.executable, "-m", "annotator", "handout", "fifths.musicxml"]
    subprocess.run(command, cwd=changed, env=unmeasured(), capture_output=True, timeout=120, check=True)
    pages = pypdf.PdfReader(changed / "fifths-handout.pdf").pages
    assert "By turns down a fifth and up a fourth." in " ".join(" ".join(page.extract_text() for page in pages).split())
