"""One hand cut out: a correct part of its own staves."""

from __future__ import annotations

import pytest
from excerpts.cut_scores import BACK, LOW, all_of, cut, mark, note, score_of, slur, types
from writing.schema import is_valid

from annotator.errors import UsageError
from annotator.figures.lines import hand_of
from annotator.products.excerpts import Excerpt, excerpt
from annotator.reading import load, read_document

PLAIN = note() + LOW


def heard(made: Excerpt) -> list[tuple[str, int, int, int]]:
    """Return letter, octave, and where and how long it sounds in eighths."""
    half = made.score.resolution // 2
    return [(n.pitch.step, n.pitch.octave, n.tick // half, n.ticks // half) for n in made.score.parts[0].notes]


@pytest.mark.parametrize(("hand", "sign"), [("right", "G"), ("left", "F")])
def test_a_hand_is_one_staff_without_numbers(hand: str, sign: str) -> None:
    made = cut(score_of(PLAIN, PLAIN), "1", "2", hand)
    assert made.score.parts[0].staves == 1 and [each.text for each in all_of(made, "clef/sign")] == [sign]
    assert not all_of(made, "staff") and not all_of(made, "staves") and all_of(made, "clef")[0].get("number") is None
    assert not all_of(made, "backup") and not all_of(made, "forward")
    assert {hand_of(made.score.parts[0], each) for each in made.score.parts[0].notes} == {hand}
    assert is_valid(made.document.tree)


def test_the_left_hand_stays_the_left_one_in_the_treble_clef() -> None:
    high = "<attributes><clef number='2'><sign>G</sign><line>2</line></clef></attributes>"
    made = cut(score_of(PLAIN, high + PLAIN, PLAIN), "3", "3", "left")
    assert made.score.parts[0].left_staves == {1}


def test_notes_that_cross_leave_gaps_of_the_right_length() -> None:
    crossing = note("C5", 2) + note("E4", 2, staff=2, voice=1) + note("G4", 2, staff=2, voice=1) + note("C5", 2)
    data = score_of(crossing + BACK + note("C3", 8, staff=2))
    assert heard(cut(data, "1", "1", "right")) == [("C", 5, 0, 2), ("C", 5, 6, 2)]
    assert heard(cut(data, "1", "1", "left")) == [("E", 4, 2, 2), ("G", 4, 4, 2), ("C", 3, 0, 8)]
    assert all(is_valid(cut(data, "1", "1", hand).document.tree) for hand in ("left", "right"))


def test_of_a_chord_across_both_staves_each_hand_keeps_its_own() -> None:
    chord = note("C5") + note("E4", staff=2, voice=1, chord=True) + note("G4", staff=2, voice=1, chord=True)
    data = score_of(chord)
    assert heard(cut(data, "1", "1", "right")) == [("C", 5, 0, 8)]
    left = cut(data, "1", "1", "left")
    assert heard(left) == [("E", 4, 0, 8), ("G", 4, 0, 8)] and len(all_of(left, "chord")) == 1


def test_a_beam_across_the_staves_is_mended_and_half_a_slur_is_gone() -> None:
    def quick(pitch: str, staff: int, beam: str, inside: str = "") -> str:
        return note(pitch, 1, staff, 1, f"<beam number='1'>{beam}</beam>{inside}")

    upper = quick("C5", 1, "begin", slur("start")) + quick("D5", 1, "continue")
    crossing = upper + quick("C4", 2, "continue") + quick("D4", 2, "end", slur("stop"))
    data = score_of(crossing + note("C5", 4) + BACK + note("C3", staff=2))
    right, left = (cut(data, "1", "1", hand) for hand in ("right", "left"))
    assert [beam.text for beam in all_of(right, "beam")] == [beam.text for beam in all_of(left, "beam")] == ["begin", "end"]
    assert types(right, "slur") == types(left, "slur") == []


def test_a_bar_without_the_hand_gets_a_whole_bar_rest() -> None:
    made = cut(score_of(PLAIN, note("D5")), "1", "2", "left")
    rest = all_of(made, "rest")
    assert len(rest) == 1 and rest[0].get("measure") == "yes" and len(made.score.parts[0].bars) == 2
    assert [bar.ticks for bar in made.score.parts[0].bars] == [4 * made.score.resolution] * 2
    assert is_valid(made.document.tree)


def test_tempo_stays_with_both_hands_and_loudness_where_the_hand_has_none() -> None:
    tempo = mark("<metronome><beat-unit>quarter</beat-unit><per-minute>90</per-minute></metronome>", placement="above")
    loud, line = mark("<dynamics><f/></dynamics>"), mark("<octave-shift type='down' size='8'/>")
    stop = mark("<octave-shift type='stop' size='8'/>")
    data = score_of(tempo + loud + line + note() + stop + LOW)
    left = cut(data, "1", "1", "left")
    assert len(all_of(left, "metronome")) == 1 and types(left, "octave-shift") == []
    (dynamics,) = [each for each in all_of(left, "direction") if each.find("direction-type/dynamics") is not None]
    assert dynamics.get("placement") == "above" and dynamics.find("staff") is None
    own = score_of(loud + note() + BACK + mark("<dynamics><p/></dynamics>", 2) + note("C3", staff=2))
    assert [each[0].tag for each in all_of(cut(own, "1", "1", "left"), "dynamics")] == ["p"]
    assert is_valid(left.document.tree)


def test_of_several_parts_the_keyboard_is_taken_unless_others_are_named() -> None:
    voice = b"<score-part id='P0'><part-name>Voice</part-name></score-part>"
    sung = b"<note><pitch><step>A</step><octave>4</octave></pitch><duration>4</duration></note>"
    song = b"<part id='P0'><measure number='1'><attributes><divisions>1</divisions></attributes>" + sung + b"</measure></part>"
    data = score_of(PLAIN).replace(b"<part-list>", b"<part-list>" + voice).replace(b"<part id='P1'>", song + b"<part id='P1'>")
    document = load(data)
    score = read_document(document)
    assert [part.id for part in excerpt(document, score, "1", "1").score.parts] == ["P1"]
    assert [part.id for part in excerpt(document, score, "1", "1", parts=("all",)).score.parts] == ["P0", "P1"]
    alone = excerpt(document, score, "1", "1", parts=("Voice",))
    assert [part.name for part in alone.score.parts] == ["Voice"] and set(alone.notes.values()) == {1}
    with pytest.raises(UsageError, match="left hand"):
        excerpt(document, score, "1", "1", "left", ("Voice",))
