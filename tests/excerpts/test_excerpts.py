"""Excerpts of real scores and of every notation there is: the notes of those bars, pitched as the engraver has them; figures carried."""

from __future__ import annotations

import random
from pathlib import Path
from typing import Any

import pytest
from excerpts.cut_scores import LOW, cut, drawn, found, note, score_of, wanted
from lxml import etree
from robustness.damage import SUITE, chance_of, damaged_tree
from scores_at_hand import EXAMPLES, NO_LOCAL_SCORES, keyboard_corpus, local_scores, written

from annotator.errors import AnnotatorError, EngraverError, UsageError
from annotator.figures.law import holds
from annotator.marks.finding import figures_of, find_figures
from annotator.marks.marking import markings
from annotator.music.score import Note
from annotator.options.settings import Options
from annotator.products.excerpts import Excerpt, carried, cut_out, excerpt_of
from annotator.reading import load, read_document
from annotator.words.labels import labels

HANDS = ("both", "right", "left")
SEED = 20266
SIGNS = {None: 0, "n": 0, "s": 1, "f": -1, "x": 2, "ss": 2, "ff": -2}


def pitch_of(element: Any) -> tuple[str, int, int]:
    """Return letter, alteration and octave of a note that the engraver has."""
    sign = element.find("accid")
    told = [each.get(name) for each in (element, sign) if each is not None for name in ("accid", "accid.ges")]
    octave = int(element.get("oct.ges") or element.get("oct"))
    return element.get("pname").upper(), SIGNS[next((each for each in told if each), None)], octave


def check_pitches(made: Excerpt) -> None:
    """Hold every pitch of an excerpt against what the engraver reads in the whole score: another reader than ours."""
    by_id = {element.get("{http://www.w3.org/XML/1998/namespace}id"): element for element in drawn(made).iter("note")}
    notes = [each for part in made.score.parts for each in part.notes if each.visible]
    assert len(notes) <= len(by_id)
    for each in notes:
        assert pitch_of(by_id[f"note-{each.number}"]) == (each.pitch.step, each.pitch.alter, each.pitch.octave), each


def check(data: bytes | Path, chance: random.Random, count: int, engraved: bool) -> int:
    """Cut a score at random, each hand in turn; return how many excerpts there were."""
    document = load(data)
    score = read_document(document)
    before, report = etree.tostring(document.tree), figures_of(score, Options(parts=("all",)))
    numbers = [bar.number for bar in max(score.parts, key=lambda part: len(part.bars)).bars]
    cuts = 0
    for place in range(count if numbers else 0):
        first = chance.randrange(len(numbers))
        last, hand = min(len(numbers) - 1, first + chance.randrange(6)), HANDS[place % 3]
        try:
            made = excerpt_of(document, score, Options(bars=((numbers[first], numbers[last]),), hand=hand, parts=("all",)))
        except UsageError:  # there is no such hand, or the numbers run backwards
            continue
        cuts += 1
        for part in made.score.parts:
            origin = next(half for each in score.parts for half in (each, *written(each)) if half.id == part.id)
            assert found(made, part) == wanted(score, origin, numbers[first], numbers[last], hand), (first, last, hand)
        assert {made.origins[each] for each in carried(report, made).grey_numbers} <= report.grey_numbers
        if engraved:
            check_pitches(made)
    assert etree.tostring(document.tree) == before
    return cuts


@pytest.mark.parametrize("path", [*sorted(EXAMPLES.glob("*.musicxml")), *keyboard_corpus()], ids=lambda path: path.stem)
def test_an_excerpt_has_exactly_the_notes_of_its_bars(path: Path) -> None:
    assert check(path, random.Random(path.name), 6, True)


@pytest.mark.slow
@pytest.mark.skipif(not local_scores(), reason=NO_LOCAL_SCORES)
@pytest.mark.parametrize("path", local_scores(), ids=lambda path: path.stem)
def test_excerpts_of_the_local_scores(path: Path) -> None:
    assert check(path, random.Random(path.name), 12, True)


@pytest.mark.parametrize("path", SUITE, ids=lambda path: path.stem)
def test_every_notation_is_cut(path: Path) -> None:
    try:
        check(path, random.Random(path.name), 1, not path.stem.startswith("32a"))  # accidental marks over notes: the engraver alters them
    except EngraverError:  # the engraver refuses the whole of some of them too
        check(path, random.Random(path.name), 1, False)


def test_damaged_scores_are_cut() -> None:
    cuts = 0
    for number in range(40):
        try:
            cuts += check(damaged_tree(chance_of(SEED, number)), random.Random(number), 3, False)
        except AnnotatorError:
            continue
    assert cuts > 40


SOME = [*sorted(EXAMPLES.glob("*.musicxml")), *keyboard_corpus()[1:4]]  # the first is one long figure, which no part of it holds


@pytest.mark.parametrize("path", SOME, ids=lambda path: path.stem)
def test_what_lies_wholly_within_is_carried_over_and_holds(path: Path) -> None:
    document = load(path)
    score = read_document(document)
    report = find_figures(score)
    of_whole = dict(report.figures)
    parts = [part.id for part in score.parts if part.keyboard]
    count = len(next(part for part in score.parts if part.keyboard).bars)
    chance = random.Random(path.name)
    kept = 0
    for hand in HANDS:
        first = chance.randrange(max(1, count // 3))
        little = cut_out(document, score, [range(first, min(first + count // 2 + 1, count))], hand, parts)
        moved = carried(report, little)
        bars = {part.id: part.bars for part in little.score.parts}
        for name, figure in moved.figures:
            assert labels(figure, "en") == labels(of_whole[name], "en") and holds(figure, bars[figure.part])
            assert [each.number for each in of_whole[name].struck] == [little.origins[each.number] for each in figure.struck]
        assert {little.origins[each] for each in moved.grey_numbers} <= report.grey_numbers
        inside = {*little.twins}
        assert {little.origins[each] for each in markings(moved).grey} <= inside
        for name, origin in of_whole.items():
            needed: set[Note] = {*origin.struck, *(each for moment in origin.model for each in moment)}
            assert name not in dict(moved.figures) or {each.number for each in needed} <= inside
        kept += len(moved.figures)
    assert kept


def test_the_whole_piece_carries_everything_and_so_does_an_excerpt_of_an_excerpt() -> None:
    path = EXAMPLES / "sonatina-at-the-open-gate.musicxml"
    document = load(path)
    score = read_document(document)
    report = find_figures(score)
    parts = [part.id for part in score.parts]
    again = cut_out(document, score, [range(len(score.parts[0].bars))], "both", parts)
    moved = carried(report, again)
    assert moved.headline == report.headline and [name for name, _ in moved.figures] == [name for name, _ in report.figures]
    first = cut_out(document, score, [range(4, 12), range(16, 20)], "both", parts)
    twice = cut_out(first.document, first.score, [range(6, 10)], "left", parts)
    once = cut_out(document, score, [range(10, 12), range(16, 18)], "left", parts)
    assert twice.score == once.score and once.spans == (("11", "12"), ("17", "18")) and once.score.parts[0].staves == 1


def test_a_repeat_without_its_model_is_left_out_and_dark() -> None:
    tune = "".join(note(pitch, 1) for pitch in ("C5", "E5", "D5", "A5", "B4", "G5", "E5", "C5"))
    other = "".join(note(pitch, 2) for pitch in ("B4", "G4", "A5", "D4"))
    data = score_of(tune + LOW, other + LOW, tune + LOW)
    report = find_figures(data)
    repeats = {name for name, figure in report.figures if figure.kind == "repeated-group" and figure.staff == 1}
    assert repeats
    with_model, without = (carried(report, cut(data, first, "3")) for first in ("1", "2"))
    assert repeats <= set(dict(with_model.figures)) and not repeats & set(dict(without.figures))
    assert all(each.number not in without.grey_numbers for each in without.score.parts[0].notes if each.staff == 1)


def test_a_note_struck_only_since_the_cut_is_to_be_read() -> None:
    data = score_of(note(tie="start") + LOW, note(tie="stop") + LOW)
    report = find_figures(data)
    moved = carried(report, cut(data, "2", "2"))
    assert report.notes == 3 and moved.notes == 2 and moved.to_read == 2


def test_of_several_parts_the_keyboard_is_taken_unless_others_are_named() -> None:
    voice = b"<score-part id='P0'><part-name>Voice</part-name></score-part>"
    sung = b"<note><pitch><step>A</step><octave>4</octave></pitch><duration>4</duration></note>"
    song = b"<part id='P0'><measure number='1'><attributes><divisions>1</divisions></attributes>" + sung + b"</measure></part>"
    plain = score_of(note() + LOW)
    document = load(plain.replace(b"<part-list>", b"<part-list>" + voice).replace(b"<part id='P1'>", song + b"<part id='P1'>"))
    score = read_document(document)
    piano = excerpt_of(document, score, Options())
    assert [part.id for part in piano.score.parts] == ["P1"]
    assert [each.get("pname") for each in drawn(piano).iter("note")] == ["c", "c"]
    assert [part.id for part in excerpt_of(document, score, Options(parts=("all",))).score.parts] == ["P0", "P1"]
    with pytest.raises(UsageError, match="left hand"):
        excerpt_of(document, score, Options(parts=("Voice",), hand="left"))
