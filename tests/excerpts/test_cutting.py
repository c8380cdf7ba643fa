"""What happens at the cut, sign by sign, on small scores written by hand, as the engraver is given it."""

from __future__ import annotations

import pytest
from excerpts.cut_scores import BACK, LOW, cut, drawn, mark, note, score_of, slur, values

from annotator.errors import UsageError

PLAIN = note() + LOW
HALVES = note(halves=4) + note("D5", halves=4)
OCTAVES = ("<octave-shift type='down' size='8' number='1'/>", "<octave-shift type='stop' size='8' number='1'/>")
HAIRPIN = ("<wedge type='crescendo' number='1'/>", "<wedge type='stop' number='1'/>")


def clef(sign: str, line: int, staff: int) -> str:
    return f"<attributes><clef number='{staff}'><sign>{sign}</sign><line>{line}</line></clef></attributes>"


def repeat(direction: str, ending: str = "") -> str:
    location = "left" if direction == "forward" else "right"
    return f"<barline location='{location}'>{ending}<repeat direction='{direction}'/></barline>"


def test_a_clef_that_changes_within_a_bar_and_a_key_are_in_force_behind_it() -> None:
    later = note(halves=4) + clef("F", 4, 1) + note("C3", halves=4) + LOW
    data = score_of(later, PLAIN, "<attributes><key><fifths>-2</fifths></key></attributes>" + PLAIN, PLAIN)
    assert values(drawn(cut(data, "1", "1")), "clef", "shape") == [("G",), ("F",), ("F",)]
    assert values(drawn(cut(data, "2", "2")), "clef", "shape") == [("F",), ("F",)]
    for bars in ("34", "44"):  # a change at the very start is said once
        assert values(drawn(cut(data, *bars)), "keySig", "sig") == [("2f",), ("2f",)]
    assert [cut(data, bar, bar).score.parts[0].clef_at(1, 0).sign for bar in "123"] == ["G", "F", "F"]


@pytest.mark.parametrize(("ends", "tag"), [(OCTAVES, "octave"), (HAIRPIN, "hairpin")], ids=["octaves", "hairpin"])
def test_lines_beside_the_staff_are_ended_and_begun_again(ends: tuple[str, str], tag: str) -> None:
    data = score_of(PLAIN, mark(ends[0]) + PLAIN, PLAIN, note(halves=4) + mark(ends[1]) + note(halves=4) + LOW, PLAIN)
    for bars, start, end in (("23", "2", "3"), ("34", "3", "4"), ("33", "3", "3"), ("24", "2", "4")):
        (line,) = drawn(cut(data, *bars)).iter(tag)
        assert line.getparent().get("n") == start, bars
        if line.get("tstamp2"):
            count, _, beat = line.get("tstamp2").partition("m+")
            assert int(start) + int(count) == int(end) and (float(beat) == 5 or end == "4"), bars
    assert not values(drawn(cut(data, "1", "1")), tag) and not values(drawn(cut(data, "5", "5")), tag)


def test_a_line_that_ends_where_the_excerpt_begins_is_gone() -> None:
    assert not values(drawn(cut(score_of(mark(HAIRPIN[0]) + PLAIN, mark(HAIRPIN[1]) + PLAIN), "2", "2")), "hairpin")


def test_a_slur_ends_at_the_last_note_of_its_voice_and_never_begins_before_the_excerpt() -> None:
    data = score_of(note(halves=4) + note("D5", halves=4, inside=slur("start")) + LOW, HALVES + LOW, note(inside=slur("stop")) + LOW)
    assert values(drawn(cut(data, "1", "2")), "slur", "startid", "endid") == [("#note-2", "#note-5")]
    assert not values(drawn(cut(data, "1", "1")), "slur")  # it would begin and end at one note
    assert not values(drawn(cut(data, "2", "3")), "slur")


def test_ties_lose_the_end_that_is_cut_off() -> None:
    data = score_of(note(tie="start") + LOW, note(tie="stop start") + LOW, note(tie="stop") + LOW)
    assert [len(values(drawn(cut(data, *bars)), "tie")) for bars in ("13", "12", "23", "22")] == [2, 1, 1, 0]
    struck = cut(data, "2", "3").score.parts[0].notes[0]
    assert struck.continues is None and struck.counted and not struck.tie_stop


def test_a_note_that_was_tied_on_shows_its_accidental_and_the_next_one_answers() -> None:
    second = note("G#4", halves=4, tie="stop") + note("G4", halves=2) + note("G4", halves=2)
    made = cut(score_of(note("G#4", tie="start") + LOW, second + LOW), "2", "2")
    assert values(drawn(made), "accid", "accid") == [("s",), ("n",)]
    assert [(sign.step, sign.alter) for sign in made.score.parts[0].bars[0].signs] == [("G", 1), ("G", 0)]
    in_the_key = score_of(note("F#4", tie="start") + LOW, note("F#4", tie="stop") + LOW)
    assert not values(drawn(cut(in_the_key, "2", "2")), "accid", "accid")


def test_repeats_and_endings_stay_only_whole() -> None:
    start, one = repeat("forward"), "<barline location='left'><ending number='1' type='start'/></barline>"
    back = repeat("backward", "<ending number='1' type='stop'/>")
    two = "<barline location='left'><ending number='2' type='start'/></barline>"
    out = "<barline location='right'><ending number='2' type='discontinue'/></barline>"
    data = score_of(PLAIN, start + PLAIN, PLAIN, one + PLAIN + back, two + PLAIN + out, PLAIN)

    def shape(first: str, last: str) -> tuple[list[str], int]:
        made = cut(data, first, last)
        root = drawn(made)
        lines = [value for pair in values(root, "measure", "left", "right") for value in pair if value and value != "single"]
        bars = made.score.parts[0].bars
        assert ("rptend" in lines) == any(bar.repeat_after for bar in bars) and bool(values(root, "ending")) == any(b.volta for b in bars)
        return lines, len(values(root, "ending"))

    assert shape("1", "6") == (["rptstart", "rptend"], 2)
    assert shape("2", "4") == (["rptstart", "rptend"], 0)
    assert shape("3", "5") == (["dbl"], 2)
    assert shape("1", "3") == (["dbl"], 0)
    assert shape("2", "3") == shape("5", "6") == ([], 0)


def test_a_repeat_without_a_sign_at_its_start_goes_back_to_the_piece_s_start() -> None:
    data = score_of(PLAIN, PLAIN + repeat("backward"), PLAIN, PLAIN + repeat("backward"))
    kept = [[bool(bar.repeat_after) for bar in cut(data, *bars).score.parts[0].bars] for bars in ("12", "22", "34", "44")]
    assert kept == [[False, True], [False], [False, True], [False]]


def test_an_upbeat_stays_an_upbeat_and_odd_numbers_stay_odd() -> None:
    upbeat = note(halves=2) + "<backup><duration>2</duration></backup>" + note("C3", halves=2, staff=2)
    data = score_of(upbeat, PLAIN, PLAIN, PLAIN, numbers=("0", "1", "6a", "X1"), implicit=("0", "X1"))
    made = cut(data, "0", "1")
    bar = made.score.parts[0].bars[0]
    assert bar.number == "0" and bar.ticks == made.score.resolution and bar.offset == 3 * made.score.resolution
    assert [bar.number for bar in cut(data, "6a", "X1").score.parts[0].bars] == ["6a", "X1"]


def test_numbers_that_come_twice_mean_the_first_and_a_split_bar_is_whole() -> None:
    data = score_of(*[PLAIN] * 6, numbers=("1", "2", "2", "3", "1", "2"))
    numbers = [[bar.number for bar in cut(data, *ends).score.parts[0].bars] for ends in ("12", "32")]
    assert numbers == [["1", "2", "2"], ["3", "1", "2"]]


def test_several_stretches_follow_each_other_and_no_figure_crosses() -> None:
    data = score_of(PLAIN, PLAIN, clef("G", 2, 2) + PLAIN, PLAIN, PLAIN, PLAIN)
    made = cut(data, "1", "2", "both", ("5", "6"))
    part, root = made.score.parts[0], drawn(made)
    assert made.spans == (("1", "2"), ("5", "6"))
    assert [(bar.number, bar.index, bar.tick, bar.cut) for bar in part.bars][2:] == [
        ("5", 2, 2 * part.bars[0].ticks, True),
        ("6", 3, 3 * part.bars[0].ticks, False),
    ]
    assert [part.clef_at(2, bar.tick).sign for bar in part.bars] == ["F", "F", "G", "G"]
    assert [value for value, in values(root, "measure", "n")] == ["1", "2", "5", "6"]
    assert "".join(next(root.iter("dir")).itertext()).strip() == "5" and values(root, "clef", "shape") == [("G",), ("F",), ("G",)]
    same = drawn(cut(data, "3", "3", "both", ("5", "6")))
    assert values(same, "clef", "shape") == [("G",), ("G",)], "what is in force already is not said again"


def test_tempo_and_loudness_are_set_again_unless_the_bar_has_its_own() -> None:
    tempo = "<direction><direction-type><words>Allegro</words></direction-type><sound tempo='120'/></direction>"
    loud, soft = mark("<dynamics><f/></dynamics>"), mark("<dynamics><p/></dynamics>")
    swelling = mark(HAIRPIN[0]) + note(halves=4) + mark(HAIRPIN[1]) + note(halves=4) + LOW
    data = score_of(tempo + loud + PLAIN, PLAIN, soft + PLAIN, swelling, PLAIN)

    def said(bar: str) -> list[str]:
        return sorted("".join(each.itertext()).strip() for each in drawn(cut(data, bar, bar)).iter("tempo", "dynam"))

    assert [said(bar) for bar in "1235"] == [["Allegro", "f"], ["Allegro", "f"], ["Allegro", "p"], ["Allegro"]]
    assert [tempo.words for tempo in cut(data, "2", "2").score.parts[0].tempos] == ["Allegro"]


def test_a_hand_of_a_piano_in_two_parts_takes_over_what_the_other_part_says_to_both() -> None:
    def part(name: str, divisions: int, first: str, second: str) -> str:
        attributes = f"<attributes><divisions>{divisions}</divisions></attributes>"
        return f"<part id='{name}'><measure number='1'>{attributes}{first}</measure><measure number='2'>{second}</measure></part>"

    tempo = "<direction><direction-type><words>Allegro</words></direction-type><sound tempo='120'/></direction>"
    half = "<note><pitch><step>C</step><octave>5</octave></pitch><duration>4</duration><voice>1</voice><type>half</type></note>"
    whole = half.replace("<duration>4", "<duration>8").replace("half", "whole")
    loud = "<direction><direction-type><dynamics><f/></dynamics></direction-type></direction>"
    upper = part("P1", 2, tempo + whole, half + loud + half)
    lower = part("P2", 4, whole.replace("<duration>8", "<duration>16"), whole.replace("<duration>8", "<duration>16"))
    names = "".join(f"<score-part id='P{number}'><part-name/></score-part>" for number in "12")
    data = f"<score-partwise version='4.0'><part-list>{names}</part-list>{upper}{lower}</score-partwise>".encode()
    made = cut(data, "2", "2", "left")
    (direction,) = [each for each in made.document.tree.iter("direction") if each.find("*/dynamics") is not None]
    assert direction.findtext("offset") == "8", "in the middle of the bar, in the divisions of the lower part"
    assert [each.words for each in made.score.parts[0].tempos] == ["Allegro"] and len(list(drawn(made).iter("dynam"))) == 1


def test_a_hand_is_one_staff_and_stays_that_hand_in_any_clef() -> None:
    data = score_of(PLAIN, clef("G", 2, 2) + PLAIN, PLAIN)
    made = cut(data, "3", "3", "left")
    part, root = made.score.parts[0], drawn(made)
    assert part.staves == 1 and part.left_staves == {1} and {each.staff for each in part.notes} == {1}
    assert values(root, "staffDef", "n") == values(root, "staff", "n") == [("1",)] and values(root, "clef", "shape") == [("G",)]
    assert not values(root, "grpSym") and values(root, "note", "pname") == [("c",)]


def test_of_a_voice_that_crosses_each_hand_keeps_its_own() -> None:
    crossing = note("C5", 2, inside=slur("start")) + note("E4", 2, 2, 1) + note("G4", 2, 2, 1, slur("stop")) + note("C5", 2)
    chord = note("C5") + note("E4", staff=2, voice=1, chord=True) + note("G4", staff=2, voice=1, chord=True)
    data = score_of(crossing + BACK + note("C3", staff=2), chord)
    for hand, bar, inked in (
        ("right", "1", [("note", "c"), ("space", None), ("space", None), ("note", "c")]),
        ("left", "1", [("space", None), ("note", "e"), ("note", "g"), ("space", None), ("note", "c")]),
        ("right", "2", [("note", "c")]),
        ("left", "2", [("note", "e"), ("note", "g")]),
    ):
        root = drawn(cut(data, bar, bar, hand))
        assert [(each.tag, each.get("pname")) for each in root.iter("note", "space")] == inked, (hand, bar)
        assert values(root, "slur") == [] and values(root, "staff", "n") == [("1",)]


def test_a_bar_without_the_hand_has_a_rest() -> None:
    made = cut(score_of(PLAIN, note("D5")), "1", "2", "left")
    assert len(list(drawn(made).iter("mRest", "mSpace"))) == 1
    assert [bar.ticks for bar in made.score.parts[0].bars] == [4 * made.score.resolution] * 2


def test_tempo_stays_with_both_hands_and_loudness_where_the_hand_has_none() -> None:
    tempo = mark("<metronome><beat-unit>quarter</beat-unit><per-minute>90</per-minute></metronome>", placement="above")
    loud = mark("<dynamics><f/></dynamics>")
    root = drawn(cut(score_of(tempo + loud + mark(OCTAVES[0]) + note() + mark(OCTAVES[1]) + LOW), "1", "1", "left"))
    assert values(root, "tempo", "staff") == [("1",)] and values(root, "dynam", "staff", "place") == [("1", "above")]
    assert not values(root, "octave")
    own = score_of(loud + note() + BACK + mark("<dynamics><p/></dynamics>", 2) + note("C3", staff=2))
    assert ["".join(each.itertext()).strip() for each in drawn(cut(own, "1", "1", "left")).iter("dynam")] == ["p"]


def test_bars_that_are_not_there_are_refused() -> None:
    data = score_of(PLAIN, PLAIN, PLAIN)
    for first, last, hint in (("9", "9", "there is no bar 9: the bars go from 1 to 3"), ("3", "1", "run backwards")):
        with pytest.raises(UsageError, match=hint):
            cut(data, first, last)


def test_jumps_hold_for_both_hands_and_one_note_has_no_beam() -> None:
    fine = "<direction><direction-type><words>Fine</words></direction-type><staff>1</staff></direction>"
    beams = [f"<beam number='1'>{kind}</beam>" for kind in ("begin", "continue", "end")]
    crossing = note("C5", 1, inside=beams[0]) + note("E4", 1, 2, 1, beams[1]) + note("G4", 1, 2, 1, beams[2]) + note("C5", 1)
    data = score_of(crossing + BACK + note("C3", staff=2), fine + PLAIN)
    left = cut(data, "1", "2", "left")
    assert [jump.sign for jump in left.score.parts[0].jumps] == ["fine"]
    assert [len(values(drawn(made), "beam")) for made in (left, cut(data, "1", "2", "right"))] == [1, 0]
