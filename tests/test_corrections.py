"""The file of corrections: what it may say, what it does to a report and to pages, and what is told of it."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from scores_at_hand import EXAMPLES
from the_program import inside

import annotator
from annotator.errors import SettingsError
from annotator.figures.law import holds
from annotator.figures.registry import OWN
from annotator.marks.corrections import corrected, corrections_in, corrections_of, listing, place_of
from annotator.marks.marking import markings
from annotator.marks.report import Report
from annotator.words.phrases import foot_words

NAME = "letter-by-the-window"  # an Alberti bass in the left hand from bars 1, 9 and 17
SCORE = annotator.read(EXAMPLES / f"{NAME}.musicxml")
FOUND = annotator.find_figures(SCORE)

DROP = '[[drop]]\nbar = 9\nhand = "left"\nkind = "alberti-bass"\n'
LABEL = '[[label]]\nbar = "1"\nhand = "left"\ntext = "rocking"\n'
READ = '[[read]]\nbars = "2-3"\n'
OWN_BRACKET = '[[bracket]]\nfrom = { bar = 1, beat = 1 }\nto = { bar = 2, beat = 2 }\nhand = "right"\ntext = "sing"\n'


def made(text: str) -> tuple[Report, tuple[str, ...]]:
    return corrected(FOUND, corrections_in(text, "piece.corrections.toml"))


def test_a_dropped_figure_is_gone_and_its_notes_are_black() -> None:
    report, strangers = made(DROP)
    assert "9–16" in [row.bar for row in FOUND.rows()] and not strangers
    assert [row.bar for row in report.rows()] == [row.bar for row in FOUND.rows() if row.bar != "9–16"]
    assert report.to_read == FOUND.to_read + len(FOUND.figures[1][1].grey)
    assert [name for name, _ in report.figures] == [f"f{number}" for number in range(1, len(FOUND.figures))]


def test_a_label_says_what_the_teacher_wrote_in_every_language() -> None:
    report, strangers = made(LABEL)
    assert report.rows()[0].label == "rocking" and not strangers
    assert report.grey == FOUND.grey
    assert markings(report).marks[0].labels == ("rocking",) * 3


def test_notes_to_be_read_are_anchors_and_the_rest_still_follows() -> None:
    report, strangers = made(READ)
    assert not strangers
    black = {note.number for part in SCORE.parts for note in part.notes if note.bar in (1, 2)}
    assert not black & report.grey_numbers
    assert report.grey_numbers == FOUND.grey_numbers - black
    assert all(holds(figure, SCORE.parts[0].bars) for _, figure in report.figures)
    one = FOUND.figures[0][1].grey[0]
    assert one.number not in made(f'[[read]]\nnotes = ["{one.id}"]\n')[0].grey_numbers


def test_a_bracket_of_ones_own_greys_nothing_unless_asked_for_and_then_the_foot_says_so() -> None:
    report, strangers = made(OWN_BRACKET)
    own = report.figures[0][1]
    assert own.kind == OWN.name and not own.grey and not strangers
    assert (report.grey, report.rows()[0].label, report.rows()[0].bar) == (FOUND.grey, "sing", "1–2")
    assert not markings(report).editors
    grey = made(OWN_BRACKET + "grey = true\n")[0]
    assert grey.grey == FOUND.grey + len(own.struck) - 1
    assert markings(grey).editors
    assert foot_words(True, False, editors=True) != foot_words(True, False)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (DROP.replace("9", "99"), "[[drop]]: no alberti-bass begins in bar 99, left hand"),
        (DROP.replace("alberti-bass", "trill"), "[[drop]]: no trill begins in bar 9, left hand"),
        (LABEL.replace("left", "right"), "[[label]]: no figure begins in bar 1, right hand"),
        (READ.replace("2-3", "40"), "[[read]]: no note stands in bars 40"),
        ('[[read]]\nnotes = ["x"]\n', "[[read]]: there is no note x"),
        (
            OWN_BRACKET.replace("bar = 2", "bar = 77"),
            "[[bracket]] ('sing'): no note of the right hand from bar 1, beat 1 to bar 77, beat 2",
        ),
    ],
)
def test_what_does_not_fit_is_told_and_changes_nothing(text: str, said: str) -> None:
    report, strangers = made(text)
    assert strangers == (said,)
    assert report.figures == FOUND.figures


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[[drop", "not a readable TOML file"),
        ("[drop]\nbar = 1\n", "write [[drop]] over each"),
        ("[[dorp]]\nbar = 1\n", "there is no table 'dorp': did you mean 'drop'?"),
        (DROP.replace("hand", "hnd"), "there is no key 'hnd': did you mean 'hand'?"),
        ("[[drop]]\nbar = 1\n", "hand is missing"),
        (DROP.replace("left", "both"), "hand = 'both' is wrong: it takes right, left"),
        (DROP.replace("alberti-bass", "albert"), "kind = 'albert' is wrong"),
        (DROP + "beat = 0\n", "beat = 0 is wrong"),
        (LABEL.replace('"rocking"', '""'), "text = '' is wrong"),
        ("[[read]]\n", "either bars"),
        (OWN_BRACKET + 'grey = "yes"\n', "grey = 'yes' is wrong: it takes true or false"),
        (OWN_BRACKET.replace("{ bar = 1, beat = 1 }", "1"), "from = 1 is wrong: it takes a bar and a beat"),
    ],
)
def test_a_wrong_file_is_one_line_that_says_where(text: str, said: str) -> None:
    with pytest.raises(SettingsError) as caught:
        corrections_in(text, "piece.corrections.toml")
    assert said in str(caught.value) and "\n" not in str(caught.value)
    assert str(caught.value).startswith("piece.corrections.toml: ") and caught.value.exit_code == 78


@pytest.mark.parametrize("path", sorted(EXAMPLES.glob("*.musicxml")), ids=lambda path: path.stem)
def test_the_listing_changes_nothing_and_uncommented_drops_every_figure(path: Path) -> None:
    report = annotator.find_figures(annotator.read(path))
    text = listing(report, path.name)
    assert corrected(report, corrections_in(text, "listed")) == (report, ())
    uncommented = re.sub(r"^#(?! )", "", text, flags=re.M)
    assert corrected(report, corrections_in(uncommented, "listed"))[0].figures == ()


def test_copies_have_the_corrections_of_their_score(tmp_path: Path) -> None:
    (tmp_path / "a.corrections.toml").write_text(DROP, encoding="utf-8")
    for name in ("a.musicxml", "a-marked.musicxml", "a-marked-step-2.mxl", "a-plain.musicxml", "a.abc.gz"):
        found = corrections_of(tmp_path / name)
        assert found is not None and [each.sort for each in found] == ["drop"], name
    assert corrections_of(tmp_path / "b.musicxml") is None
    assert place_of(Path("-marked.musicxml")).name == "-marked.corrections.toml"


def test_every_command_takes_the_file_says_so_and_keeps_it_when_marking_anew(tmp_path: Path) -> None:
    piece = tmp_path / "piece.musicxml"
    piece.write_bytes((EXAMPLES / f"{NAME}.musicxml").read_bytes())
    asked = inside("figures", piece, "--corrections")
    assert asked.code == 0 and (tmp_path / "piece.corrections.toml").is_file()
    assert inside("figures", piece, "--corrections").code == 73, "it may hold somebody's work"
    (tmp_path / "piece.corrections.toml").write_text(DROP + LABEL, encoding="utf-8")
    for words in (["mark"], ["figures"], ["compare", "--dry-run"], ["handout", "--dry-run"]):
        result = inside(*words, piece)
        assert result.code == 0 and "dropped 1, renamed 1" in result.err, words
    marked = tmp_path / "piece-marked.musicxml"
    before = marked.read_bytes()
    assert b"rocking" in before
    assert inside("mark", marked).code == 0
    assert marked.read_bytes() == before
    (tmp_path / "piece.corrections.toml").write_text("[[drop]]\nbar = 1\n", encoding="utf-8")
    assert inside("mark", piece).code == 78


def test_what_was_not_looked_for_is_no_news(tmp_path: Path) -> None:
    piece = tmp_path / "piece.musicxml"
    piece.write_bytes((EXAMPLES / f"{NAME}.musicxml").read_bytes())
    (tmp_path / "piece.corrections.toml").write_text(DROP, encoding="utf-8")
    for more in (["--bars", "1-4"], ["--kinds", "trill"], ["--hand", "right"]):
        result = inside("figures", piece, *more)
        assert "no alberti-bass" not in result.err, more
