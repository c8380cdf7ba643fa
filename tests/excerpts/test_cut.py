"""What happens at the cut, sign by sign, on small scores written by hand."""

from __future__ import annotations

import pytest
from excerpts.cut_scores import BACK, LOW, all_of, cut, mark, note, score_of, slur, types
from writing.schema import is_valid

from annotator.errors import UsageError
from annotator.products.excerpts import Excerpt, excerpt, excerpt_of
from annotator.reading import load, read_document

PLAIN = note() + LOW


def texts(made: Excerpt, path: str) -> list[str]:
    return [element.text for element in all_of(made, path)]


def places(made: Excerpt, tag: str) -> list[tuple[str, str]]:
    """Return bar and type of all elements of a kind."""
    found = []
    for element in made.document.tree.getroot().iter(tag):
        measure = next(each for each in element.iterancestors("measure"))
        found.append((measure.get("number"), element.get("type")))
    return found


def test_the_first_bar_says_what_is_in_force() -> None:
    changes = (
        "<attributes><key><fifths>-2</fifths></key><time><beats>4</beats><beat-type>4</beat-type></time>"
        "<clef number='2'><sign>G</sign><line>2</line></clef><transpose><chromatic>-12</chromatic></transpose></attributes>"
    )
    made = cut(score_of(PLAIN, changes + PLAIN, PLAIN, PLAIN), "3", "3")
    (attributes,) = all_of(made, "attributes")
    assert [child.tag for child in attributes] == ["divisions", "key", "time", "staves", "clef", "clef", "transpose"]
    assert attributes.findtext("key/fifths") == "-2" and [sign.text for sign in attributes.iterfind("clef/sign")] == ["G", "G"]
    assert is_valid(made.document.tree)


def test_a_clef_that_changes_at_the_start_of_the_bar_is_in_force_there() -> None:
    clef = "<attributes><clef number='2'><sign>C</sign><line>4</line></clef></attributes>"
    made = cut(score_of(PLAIN, note() + BACK + clef + note("C4", staff=2)), "2", "2")
    assert texts(made, "clef/sign") == ["G", "C"] and len(all_of(made, "attributes")) == 1


def test_a_clef_change_within_a_bar_counts_in_time() -> None:
    later = "<attributes><clef number='1'><sign>F</sign><line>4</line></clef></attributes>"
    made = cut(score_of(note(halves=4) + later + note("C3", halves=4) + LOW, PLAIN), "2", "2")
    assert texts(made, "clef/sign") == ["F", "F"]


def test_keys_of_single_staves_stay_theirs() -> None:
    keys = "<attributes><key number='2'><fifths>3</fifths></key></attributes>"
    made = cut(score_of(PLAIN, keys + PLAIN, PLAIN), "3", "3")
    assert [(key.get("number"), key.findtext("fifths")) for key in all_of(made, "key")] == [("1", "1"), ("2", "3")]
    left = cut(score_of(PLAIN, keys + PLAIN, PLAIN), "3", "3", "left")
    assert [(key.get("number"), key.findtext("fifths")) for key in all_of(left, "key")] == [(None, "3")]


OCTAVES = ("<octave-shift type='down' size='8' number='1'/>", "<octave-shift type='stop' size='8' number='1'/>")
HAIRPIN = ("<wedge type='crescendo' number='1'/>", "<wedge type='stop' number='1'/>")
PEDAL = ("<pedal type='start' line='yes'/>", "<pedal type='stop' line='yes'/>")


@pytest.mark.parametrize(
    ("ends", "tag"), [(OCTAVES, "octave-shift"), (HAIRPIN, "wedge"), (PEDAL, "pedal")], ids=["octaves", "hairpin", "pedal"]
)
def test_lines_beside_the_staff_are_closed_and_opened_again(ends: tuple[str, str], tag: str) -> None:
    data = score_of(PLAIN, mark(ends[0]) + PLAIN, PLAIN, note(halves=4) + mark(ends[1]) + note(halves=4) + LOW, PLAIN)
    start = ends[0].split("type='")[1].split("'")[0]
    assert [places(cut(data, first, last), tag) for first, last in ("24", "23", "34", "33", "11", "55")] == [
        [("2", start), ("4", "stop")],
        [("2", start), ("3", "stop")],
        [("3", start), ("4", "stop")],
        [("3", start), ("3", "stop")],
        [],
        [],
    ]
    assert all(is_valid(cut(data, first, last).document.tree) for first, last in ("23", "34", "33"))


def test_a_line_that_ends_where_the_excerpt_begins_is_gone() -> None:
    data = score_of(mark(HAIRPIN[0]) + PLAIN, mark(HAIRPIN[1]) + PLAIN)
    assert types(cut(data, "2", "2"), "wedge") == [] and len(all_of(cut(data, "2", "2"), "direction")) == 0


def test_what_never_ends_in_the_source_stays_as_it_is() -> None:
    data = score_of(mark("<pedal type='start' sign='yes' line='no'/>") + PLAIN, PLAIN)
    assert types(cut(data, "1", "1"), "pedal") == ["start"] and types(cut(data, "2", "2"), "pedal") == []


def test_a_slur_is_closed_at_the_last_note_and_never_begins_before_the_excerpt() -> None:
    two = note(halves=4) + note("D5", halves=4)
    data = score_of(note(halves=4) + note("D5", halves=4, inside=slur("start")) + LOW, two + LOW, note(inside=slur("stop")) + LOW)
    assert places(cut(data, "1", "2"), "slur") == [("1", "start"), ("2", "stop")]
    assert places(cut(data, "1", "1"), "slur") == []  # it would begin and end at one note
    assert places(cut(data, "2", "3"), "slur") == [] and not all_of(cut(data, "2", "3"), "notations")
    assert is_valid(cut(data, "1", "2").document.tree)


def test_ties_lose_the_end_that_is_cut_off() -> None:
    data = score_of(note(tie="start") + LOW, note(tie="stop start") + LOW, note(tie="stop") + LOW)
    assert types(cut(data, "1", "3"), "tie") == types(cut(data, "1", "3"), "tied") == ["start", "stop", "start", "stop"]
    assert types(cut(data, "2", "2"), "tie") == types(cut(data, "2", "2"), "tied") == []
    assert types(cut(data, "2", "3"), "tied") == ["start", "stop"] and types(cut(data, "1", "2"), "tied") == ["start", "stop"]
    struck = cut(data, "2", "3").score.parts[0].notes[0]
    assert struck.continues is None and struck.counted


def test_a_note_that_was_tied_on_shows_its_accidental_and_the_next_one_answers() -> None:
    second = note("G#4", halves=4, tie="stop") + note("G4", halves=2) + note("G4", halves=2)
    data = score_of(note("G#4", tie="start") + LOW, second + LOW)
    assert [(n.findtext("pitch/step"), n.findtext("accidental")) for n in all_of(cut(data, "2", "2"), "note")][:3] == [
        ("G", "sharp"),
        ("G", "natural"),
        ("G", None),
    ]
    assert texts(cut(data, "1", "2"), "accidental") == []
    in_the_key = score_of(note("F#4", tie="start") + LOW, note("F#4", tie="stop") + LOW)
    assert texts(cut(in_the_key, "2", "2"), "accidental") == []
    assert is_valid(cut(data, "2", "2").document.tree)


def test_a_beam_over_the_bar_line_is_torn_cleanly() -> None:
    def beamed(*kinds: str) -> str:
        return "".join(note(halves=1, inside=f"<beam number='1'>{kind}</beam>") for kind in kinds)

    first = note(halves=5) + beamed("begin", "continue", "continue") + LOW
    second = beamed("continue", "continue", "end") + note(halves=5) + LOW
    data = score_of(first, second)
    assert texts(cut(data, "1", "2"), "beam") == ["begin", "continue", "continue", "continue", "continue", "end"]
    assert texts(cut(data, "1", "1"), "beam") == ["begin", "continue", "end"]
    assert texts(cut(data, "2", "2"), "beam") == ["begin", "continue", "end"]
    single = score_of(note(halves=7) + beamed("begin") + LOW, beamed("end") + note(halves=7) + LOW)
    assert texts(cut(single, "1", "1"), "beam") == texts(cut(single, "2", "2"), "beam") == []


def repeat(direction: str, ending: str = "") -> str:
    style = "heavy-light" if direction == "forward" else "light-heavy"
    location = "left" if direction == "forward" else "right"
    return f"<barline location='{location}'><bar-style>{style}</bar-style>{ending}<repeat direction='{direction}'/></barline>"


def test_repeats_and_endings_stay_only_whole() -> None:
    start, one = repeat("forward"), "<barline location='left'><ending number='1' type='start'/></barline>"
    back = repeat("backward", "<ending number='1' type='stop'/>")
    two = "<barline location='left'><ending number='2' type='start'/></barline>"
    out = "<barline location='right'><ending number='2' type='discontinue'/></barline>"
    data = score_of(PLAIN, start + PLAIN, PLAIN, one + PLAIN + back, two + PLAIN + out, PLAIN)

    def shape(first: str, last: str) -> tuple[list[str], list[str], list[str]]:
        made = cut(data, first, last)
        assert is_valid(made.document.tree)
        directions = [element.get("direction") for element in all_of(made, "repeat")]
        return directions, types(made, "ending"), texts(made, "bar-style")

    assert shape("1", "6") == (["forward", "backward"], ["start", "stop", "start", "discontinue"], ["heavy-light", "light-heavy"])
    assert shape("2", "4") == (["forward", "backward"], [], ["heavy-light", "light-heavy"])
    assert shape("3", "5") == ([], ["start", "stop", "start", "discontinue"], ["light-light"])
    assert shape("1", "3") == ([], [], ["light-light"])
    assert shape("2", "3") == ([], [], [])
    assert shape("5", "6") == ([], [], [])


def test_a_repeat_without_a_sign_at_its_start_goes_back_to_the_piece_s_start() -> None:
    data = score_of(PLAIN, PLAIN + repeat("backward"), PLAIN, PLAIN + repeat("backward"))
    assert [element.get("direction") for element in all_of(cut(data, "1", "2"), "repeat")] == ["backward"]
    assert all_of(cut(data, "2", "2"), "repeat") == []
    assert len(all_of(cut(data, "3", "4"), "repeat")) == 1 and len(all_of(cut(data, "4", "4"), "repeat")) == 0


def test_an_upbeat_stays_an_upbeat_and_odd_numbers_stay_odd() -> None:
    upbeat = note(halves=2) + "<backup><duration>2</duration></backup>" + note("C3", halves=2, staff=2)
    data = score_of(upbeat, PLAIN, PLAIN, PLAIN, numbers=("0", "1", "6a", "X1"), implicit=("0", "X1"))
    made = cut(data, "0", "1")
    bar = made.score.parts[0].bars[0]
    assert bar.number == "0" and bar.ticks == made.score.resolution and bar.offset == 3 * made.score.resolution
    assert [bar.number for bar in cut(data, "6a", "X1").score.parts[0].bars] == ["6a", "X1"]
    assert [m.get("implicit") for m in all_of(cut(data, "6a", "X1"), "measure")] == [None, "yes"]


def test_numbers_that_come_twice_mean_the_first_and_a_split_bar_is_whole() -> None:
    data = score_of(*[PLAIN] * 6, numbers=("1", "2", "2", "3", "1", "2"))
    assert [bar.number for bar in cut(data, "1", "2").score.parts[0].bars] == ["1", "2", "2"]
    assert [bar.number for bar in cut(data, "3", "2").score.parts[0].bars] == ["3", "1", "2"]
    document = load(data)
    second = excerpt_of(document, read_document(document), range(4, 6))
    assert set(second.notes) == {9, 10, 11, 12} and (second.first, second.last) == ("1", "2")


def test_a_timewise_score_gives_a_partwise_excerpt() -> None:
    bars = (PLAIN, note("D5") + LOW, note("E5") + LOW)
    made, same = cut(score_of(*bars, timewise=True), "2", "3"), cut(score_of(*bars), "2", "3")
    assert made.document.tree.getroot().tag == "score-partwise" and not made.document.timewise
    assert [note.pitch for note in made.score.parts[0].notes] == [note.pitch for note in same.score.parts[0].notes]


def test_free_time_is_cut_as_it_is() -> None:
    free = "<attributes><time><senza-misura/></time></attributes>"
    long = note() + note("D5") + "<backup><duration>16</duration></backup>" + note("C3", staff=2)
    made = cut(score_of(PLAIN, free + long, long), "3", "3")
    assert made.score.parts[0].bars[0].time is None and len(all_of(made, "senza-misura")) == 1


def test_tempo_and_loudness_are_set_again_unless_the_bar_has_its_own() -> None:
    tempo = "<direction><direction-type><words>Allegro</words></direction-type><sound tempo='120'/></direction>"
    loud, soft = mark("<dynamics><f/></dynamics>"), mark("<dynamics><p/></dynamics>")
    swelling = mark(HAIRPIN[0]) + note(halves=4) + mark(HAIRPIN[1]) + note(halves=4) + LOW
    data = score_of(tempo + loud + PLAIN, PLAIN, soft + PLAIN, swelling, PLAIN)
    assert texts(cut(data, "2", "2"), "words") == ["Allegro"] and len(all_of(cut(data, "2", "2"), "dynamics/f")) == 1
    again = cut(data, "3", "3")
    assert [element[0].tag for element in all_of(again, "dynamics")] == ["p"]
    document = load(data)
    without = excerpt(document, read_document(document), "2", "2", marks_again=False)
    assert all_of(without, "direction") == []
    assert all_of(cut(data, "5", "5"), "dynamics") == []  # how loud it is after the hairpin nobody can say
    assert is_valid(again.document.tree)


def test_a_pedal_change_and_a_slur_that_goes_on_need_their_start() -> None:
    changed = mark("<pedal type='change' line='yes'/>") + note(inside=slur("continue")) + LOW
    data = score_of(mark(PEDAL[0]) + note(inside=slur("start")) + LOW, changed, mark(PEDAL[1]) + note(inside=slur("stop")) + LOW, changed)
    assert types(cut(data, "2", "2"), "pedal") == ["start", "change", "stop"] and types(cut(data, "2", "3"), "slur") == []
    assert types(cut(data, "4", "4"), "pedal") == [] and not all_of(cut(data, "4", "4"), "direction")
    assert types(cut(data, "1", "2"), "slur") == ["start", "continue", "stop"]
    assert is_valid(cut(data, "2", "2").document.tree)


def test_signs_for_several_bars_count_the_bars_there_are() -> None:
    def style(inside: str) -> str:
        return f"<attributes><measure-style>{inside}</measure-style></attributes>"

    start, stop = (style(f"<measure-repeat type='{kind}'>{text}</measure-repeat>") for kind, text in (("start", "1"), ("stop", "")))
    data = score_of(PLAIN, style("<multiple-rest>3</multiple-rest>") + PLAIN, PLAIN, PLAIN, start + PLAIN, stop + PLAIN)
    assert [texts(cut(data, *bars), "multiple-rest") for bars in (("1", "6"), ("1", "3"), ("2", "2"), ("3", "4"))] == [["3"], ["2"], [], []]
    assert types(cut(data, "4", "6"), "measure-repeat") == ["start", "stop"]
    assert types(cut(data, "5", "6"), "measure-repeat") == types(cut(data, "6", "6"), "measure-repeat") == []
    assert is_valid(cut(data, "1", "3").document.tree) and is_valid(cut(data, "5", "6").document.tree)


def test_bars_that_are_not_there_are_refused() -> None:
    data = score_of(PLAIN, PLAIN, PLAIN)
    for first, last, hint in (("9", "9", "there is no bar 9: the bars go from 1 to 3"), ("3", "1", "run backwards")):
        with pytest.raises(UsageError, match=hint):
            cut(data, first, last)
    with pytest.raises(UsageError, match="hand = 'middle' is wrong"):
        cut(data, "1", "1", "middle")
