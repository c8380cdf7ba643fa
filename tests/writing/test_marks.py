"""What the marks look like in the tree, on small scores written by hand."""

from __future__ import annotations

import difflib
from collections.abc import Callable
from dataclasses import replace

import pytest
from lxml import etree
from marked_bytes import mark_bytes
from writing.invented import LABELS, STYLE, mark_over, note, score_of
from writing.schema import is_valid

from annotator.marks.marking import Markings
from annotator.marks.style import load_style
from annotator.music.score import Note
from annotator.musicxml.marks import write_marks
from annotator.musicxml.record import records, take_out
from annotator.options.settings import Options
from annotator.products.marked_copies import plain_bytes
from annotator.reading import Document, load, read_document

BACK = "      <backup>\n        <duration>{}</duration>\n      </backup>\n"
STEM = '<stem{0}>up</stem>\n        <notehead{0}>normal</notehead>\n        '


def mark(
    data: bytes, numbers: list[int], grey: tuple[int, ...] = (), side: str = "above", changes: bool = False
) -> Document:
    """Mark the notes with these numbers (in time order) as one figure."""
    document = load(data)
    score = read_document(document)
    notes = {note.number: note for note in score.parts[0].notes}
    chosen = [notes[number] for number in numbers]
    marks = (mark_over(score.parts[0], chosen, "f1", side, changes),) if chosen else ()
    assert is_valid(document.tree)
    copy, notices = write_marks(document, score, Markings(marks, frozenset(grey), frozenset()), STYLE)
    assert notices == ()
    assert is_valid(copy.tree)
    assert take_out(copy).data == data != copy.data
    return copy


def row(document: Document, bar: int = 1) -> list[str]:
    """Return what stands in a bar in short: note letters, ``[`` and ``]`` for brackets, ``w`` for words, ``|`` backup."""
    short: list[str] = []
    for child in document.tree.getroot().findall("part/measure")[bar - 1]:
        if child.tag == "note":
            short.append(("+" if child.find("chord") is not None else "") + child.findtext("pitch/step", "r"))
        elif child.tag == "direction":
            kinds = [kind[0] for kind in child.findall("direction-type")]
            short.append("".join({"words": "w", "bracket": {"start": "[", "stop": "]"}.get(kind.get("type"), "")}[kind.tag]
                         for kind in kinds))
        elif child.tag == "backup":
            short.append("|")
    return short


def test_label_and_bracket_before_the_first_and_the_stop_after_the_last() -> None:
    document = mark(score_of("".join(map(note, "CDEFGABC"))), [2, 3, 4, 5, 6, 7])
    assert row(document) == ["C", "[", "w", "D", "E", "F", "G", "A", "B", "]", "C"]
    start, label, stop = document.tree.getroot().iter("direction")
    for direction in (start, label, stop):
        assert [child.tag for child in direction if isinstance(child.tag, str)] == ["direction-type", "voice", "staff"]
        assert direction.get("placement") == "above"
    words, bracket = label.find("direction-type/words"), start.find("direction-type/bracket")
    assert words.text in LABELS and words.get("{http://www.w3.org/XML/1998/namespace}lang") == "en"
    assert dict(bracket.attrib) == {
        "type": "start", "number": "1", "line-end": "down", "line-type": "solid", "color": "#405060"
    }
    assert stop.find("direction-type/bracket").get("number") == "1"


def test_a_chord_is_not_torn_apart() -> None:
    bar = note("C") + note("E", chord=True) + note("D") + note("F", chord=True) + note("G")
    assert row(mark(score_of(bar), [2, 3])) == ["[", "w", "C", "+E", "D", "+F", "]", "G"]


def test_grace_notes_stay_before_and_after() -> None:
    grace = note("B").replace("        <duration>4</duration>\n", "").replace("<note>\n", "<note>\n        <grace/>\n")
    assert row(mark(score_of(grace + note("C") + note("D") + grace + note("E")), [2, 3])) == [
        "B", "[", "w", "C", "D", "]", "B", "E"
    ]


def test_the_lower_staff_has_its_own_levels_and_hooks_up() -> None:
    bar = note("C") + note("D") + BACK.format(8) + note("E", voice="5", staff="2") + note("F", voice="5", staff="2")
    document = mark(score_of(bar), [3, 4], side="below")
    assert row(document) == ["C", "D", "|", "[", "w", "E", "F", "]"]
    bracket = next(document.tree.getroot().iter("bracket"))
    assert (bracket.get("number"), bracket.get("line-end")) == ("9", "up")
    assert document.tree.getroot().find(".//direction/staff").text == "2"
    assert document.tree.getroot().find(".//direction/voice").text == "5"


@pytest.mark.parametrize(
    ("version", "raised"), [(' version="3.1"', "4.0"), (' version="4.0"', "4.0"), ("", "4.0"), (' version="1.0"', "4.0")]
)
def test_the_version_is_raised_only_where_high_levels_need_it(version: str, raised: str) -> None:
    bar = note("C") + note("D") + BACK.format(8) + note("E", voice="5", staff="2") + note("F", voice="5", staff="2")
    data = score_of(bar, version=version)
    assert mark(data, [3, 4]).tree.getroot().get("version") == raised
    assert mark(data, [1, 2]).tree.getroot().get("version") == load(data).tree.getroot().get("version")


def test_a_figure_that_ends_before_it_starts_in_the_document_gets_an_offset() -> None:
    """It starts on the lower staff, which is written last, and ends on the upper staff in the same bar."""
    bar = note("C") + note("D") + BACK.format(8) + note("E", voice="5", staff="2") + note("F", voice="5", staff="2")
    document = mark(score_of(bar), [3, 2])
    assert row(document) == ["C", "D", "|", "[", "w", "E", "]", "F"]
    assert [offset.text for offset in document.tree.getroot().iter("offset")] == ["4"]


def test_chord_names_stand_at_the_changes() -> None:
    document = mark(score_of("".join(map(note, "CDEFGABC"))), [1, 2, 3, 4, 5, 6], changes=True)
    assert row(document) == ["[", "w", "C", "D", "w", "E", "F", "G", "w", "A", "]", "B", "C"]


def test_a_label_is_shorter_where_there_is_less_room() -> None:
    few = mark(score_of("".join(map(note, "CDEF"))), [1, 2])
    many = mark(score_of("".join(map(note, "CDEFGABC" * 3))), [1, 2])
    assert [next(document.tree.getroot().iter("words")).text for document in (few, many)] == [LABELS[2], LABELS[0]]


def colours(document: Document, number: int) -> dict[str, str | None]:
    """Return the colours of a note and its parts."""
    element = list(document.tree.getroot().iter("note"))[number - 1]
    return {part.tag: part.get("color") for part in (element, *element) if part.tag in ("note", "stem", "notehead", "beam")}


def test_a_grey_note_is_grey_in_all_its_parts_and_a_dark_one_in_none() -> None:
    data = score_of(note("C", extra=STEM.format("")) + note("D", extra=STEM.format("")))
    document = mark(data, [], (1,))
    assert colours(document, 1) == {"note": "#9A9A9A", "stem": "#9A9A9A", "notehead": "#9A9A9A"}
    assert colours(document, 2) == {"note": None, "stem": None, "notehead": None}


@pytest.mark.parametrize(("grey", "stem"), [((1,), None), ((1, 2), "#9A9A9A")])
def test_the_stem_of_a_chord_is_grey_only_if_all_of_it_is(grey: tuple[int, ...], stem: str | None) -> None:
    document = mark(score_of(note("C", extra=STEM.format("")) + note("E", chord=True)), [], grey)
    assert colours(document, 1) == {"note": "#9A9A9A", "stem": stem, "notehead": "#9A9A9A"}


@pytest.mark.parametrize(
    ("own", "then"), [("#FF0000", "#FF0000"), ("#000000", "#9A9A9A"), ("#FF000000", "#9A9A9A"), ("#9A9A9A", "#9A9A9A")]
)
def test_colours_of_the_source_stay_but_for_black_and_all_come_back(own: str, then: str) -> None:
    document = mark(score_of(note("C", extra=STEM.format(f' color="{own}"')) + note("D")), [], (1,))
    assert colours(document, 1) == {"note": "#9A9A9A", "stem": then, "notehead": then}


def test_odd_colours_come_back() -> None:
    """Not valid, but seen: nothing of it may be lost, whatever it holds."""
    data = score_of(note("C", extra='<stem color="#9A9A9A">up</stem>').replace("<note>", '<note color="red &quot;?&gt; ü=">'))
    document = load(data)
    copy, _ = write_marks(document, read_document(document), Markings((), frozenset({1}), frozenset()), STYLE)
    assert take_out(copy).data == data != copy.data


def test_brackets_of_the_source_stay_and_ours_go_round_them() -> None:
    bracket = '      <direction>\n        <direction-type>\n          <bracket type="{}" line-end="none" number="1"/>\n' \
        "        </direction-type>\n      </direction>\n"
    data = score_of(note("C") + bracket.format("start") + note("D") + note("E") + bracket.format("stop") + note("F"))
    document = mark(data, [3, 4])
    assert [b.get("number") for b in document.tree.getroot().iter("bracket")] == ["1", "2", "1", "2"]
    behind = mark(data, [4])
    assert [b.get("number") for b in behind.tree.getroot().iter("bracket")] == ["1", "1", "2", "2"], "its number is its own throughout"


def test_where_no_level_is_free_the_words_stand_alone_and_it_is_said() -> None:
    document = load(score_of(*["".join(map(note, "CDEF"))] * 2))
    score = read_document(document)
    notes = list(score.parts[0].notes)
    marks = (
        *(mark_over(score.parts[0], notes[n:], f"f{n}") for n in range(8)),
        mark_over(score.parts[0], notes[7:], "f9"),
    )
    document, notices = write_marks(document, score, Markings(marks, frozenset(), frozenset()), STYLE)
    assert len(notices) == 1 and notices[0].startswith("part P1, bar 2, staff 1: ") and "\n" not in notices[0]
    assert len(list(document.tree.getroot().iter("words"))) == 9
    assert len(list(document.tree.getroot().iter("bracket"))) == 16
    assert is_valid(document.tree)


@pytest.mark.parametrize(
    "head",
    [
        "",
        "  <work>\n    <work-title>Study</work-title>\n  </work>\n",
        "  <identification>\n    <creator type=\"composer\">N. N.</creator>\n  </identification>\n",
        "  <identification>\n    <encoding>\n      <software>annotator</software>\n    </encoding>\n  </identification>\n",
        "  <identification>\n    <encoding/>\n    <source>a print</source>\n  </identification>\n",
        "  <identification/>\n",
        "  <!-- nothing -->\n  <?other added?>\n  <?annotator of another kind?>\n",
    ],
)
def test_our_line_comes_and_goes_and_the_user_s_stay(head: str) -> None:
    data = score_of(note("C"), head=head)
    assert not any(True for _ in records(load(data).tree.getroot()))
    document = mark(data, [1])
    own = load(data).tree.getroot().findall(".//software")
    lines = document.tree.getroot().findall("identification/encoding/software")
    assert len(lines) == len(own) + 1 and lines[-1].text == "annotator"
    assert any(True for _ in records(document.tree.getroot()))


def test_a_score_without_figures_is_marked_all_the_same() -> None:
    document = mark(score_of(note("C")), [])
    assert any(True for _ in records(document.tree.getroot()))


def test_a_comparison_shows_added_lines_and_coloured_notes_only() -> None:
    data = score_of("".join(map(note, "CDEF")), *["".join(map(note, "CDEF"))] * 2)
    document = mark(data, [3, 4, 5, 8], (6,))
    delta = list(difflib.unified_diff(data.decode().split("\n"), document.data.decode().split("\n"), n=0))[2:]
    assert [line.strip() for line in delta if line.startswith("-")] == ["-      <note>"]
    added = [line[1:] for line in delta if line.startswith("+")]
    assert '      <direction placement="above"><?annotator added?>' in added
    assert '          <bracket type="stop" number="1" line-end="down" line-type="solid" color="#405060"/>' in added
    assert all(line.strip() for line in added)


def flat(data: bytes) -> bytes:
    return b"".join(line.strip() for line in data.splitlines()) + b"\n"


def blank_lines(data: bytes) -> bytes:
    return data.replace(b"\n      <note>", b"\n\n\n      <note>")


def commented(data: bytes) -> bytes:
    return data.replace(b"      <note>", b"<!-- here --><?player softly?>      <note><!-- in -->").replace(
        b"    </measure>", b"  <!-- end --></measure>"
    )


def tabbed(data: bytes) -> bytes:
    return data.replace(b"  ", b"\t")


@pytest.mark.parametrize("shape", [flat, blank_lines, commented, tabbed])
def test_white_space_of_any_kind_comes_back(shape: Callable[[bytes], bytes]) -> None:
    head = b'<?xml version="1.0" encoding="UTF-8"?>'
    data = shape(score_of(*["".join(map(note, "CDEF"))] * 2)).replace(head, head + b"\n" if shape is flat else head)
    mark(data, [1, 2, 3, 4, 5, 8], (1, 2, 8), changes=True)


def test_stray_text_is_neither_lost_nor_doubled() -> None:
    data = score_of("stray " + note("C") + "text " + note("D") + "at the end ")
    document = load(data)
    score = read_document(document)
    notes: list[Note] = list(score.parts[0].notes)
    document, _ = write_marks(document, score, Markings((mark_over(score.parts[0], notes, "f1"),), frozenset({1}), frozenset()), STYLE)
    text = etree.tostring(document.tree, encoding="unicode", method="text")
    assert [text.count(word) for word in ("stray", "text", "at the end")] == [1, 1, 1]
    assert take_out(document).data == data


def test_other_marks_replace_the_old_ones() -> None:
    data = score_of("".join(map(note, "CDEF")))
    document = mark(data, [1, 2, 3], (2, 3))
    score = read_document(document)
    other, _ = write_marks(document, score, Markings((), frozenset({4}), frozenset()), STYLE)
    assert other.data == mark(data, [], (4,)).data


def test_what_a_user_writes_into_a_marked_copy_stays() -> None:
    document = mark(score_of("".join(map(note, "CDEF"))), [1, 2, 3], (2,))
    root = document.tree.getroot()
    second = list(root.iter("note"))[1]
    second.set("color", "#00FF00")
    etree.SubElement(root.find("identification"), "source").text = "a print"
    kept = take_out(load(etree.tostring(root))).tree.getroot()
    assert [note.get("color") for note in kept.iter("note")] == [None, "#00FF00", None, None]
    assert kept.findtext("identification/source") == "a print"
    assert kept.find(".//direction") is None and kept.find(".//software") is None


def test_without_greying_and_labels_there_are_brackets_only() -> None:
    document = load(score_of("".join(map(note, "CDEF"))))
    score = read_document(document)
    marks = (mark_over(score.parts[0], list(score.parts[0].notes), "f1", changes=True),)
    style = replace(STYLE, greying=False, labels="blank")
    document, _ = write_marks(document, score, Markings(marks, frozenset({1, 2}), frozenset()), style)
    assert row(document) == ["[", "C", "D", "E", "F", "]"]
    assert colours(document, 1)["note"] is None


def test_a_record_in_the_wrong_place_destroys_nothing() -> None:
    """Someone else's hand may have moved our instructions: only elements that we do make are ever taken out."""
    data = score_of(note("C")).replace(b"<part-list>", b"<?annotator added?><?annotator made?><part-list><?annotator added?>")
    document = take_out(load(data))
    left, whole = (list(read.tree.getroot().iter()) for read in (document, load(score_of(note("C")))))
    assert [element.tag for element in left] == [element.tag for element in whole]


@pytest.mark.parametrize("record", ["grey #909090 note=%00", "grey #909090 note=%EF%BF%BE", "version %0C"])
def test_a_record_of_what_no_document_can_have_held_is_not_ours(record: str) -> None:
    """Somebody has written it; it stays as it is, and so does what it speaks of."""
    data = score_of(note("C") + note("D")).replace(b"<note>", f'<note color="#909090"><?annotator {record}?>'.encode(), 1)
    assert take_out(load(data)).data == data
    marked_copy = mark_bytes(data, Options(), load_style("default"))
    assert marked_copy != data and plain_bytes(marked_copy)[0] == data
