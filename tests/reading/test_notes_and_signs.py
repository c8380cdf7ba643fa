"""Ties, keys, accidentals in force, beams, clefs, staves, hands, numbers and ids."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

import pytest

from annotator.music.score import Score, Sign, key_of
from annotator.reading import read

Make = Callable[..., str]
Reader = Callable[..., Score]
START, STOP = '<tie type="start"/>', '<tie type="stop"/>'
TWO_STAVES = '<staves>2</staves><clef number="1"><sign>G</sign></clef><clef number="2"><sign>F</sign></clef>'


def continues(score: Score) -> dict[int, int]:
    return {note.number: note.continues for note in score.parts[0].notes if note.continues is not None}


def test_ties_join_notes_over_the_bar(score_of: Reader, make_note: Make) -> None:
    score = score_of(
        make_note("C4", 4, after=START) + make_note("E4", 4, before="<chord/>", after=START),
        make_note("C4", 4, after=STOP + START) + make_note("E4", 4, before="<chord/>"),
        make_note("C4", 4, after=STOP),
    )
    assert continues(score) == {3: 1, 5: 3}
    assert [note.counted for note in score.parts[0].notes] == [True, True, False, True, False]


def test_tied_counts_where_there_is_no_tie(score_of: Reader, make_note: Make) -> None:
    tied = '<notations><tied type="{}"/></notations>'
    score = score_of(make_note("C4", 2, after=tied.format("start")) + make_note("C4", 2, after=tied.format("stop")))
    assert continues(score) == {2: 1}


def test_a_tie_may_change_voice_but_prefers_its_own(score_of: Reader, make_note: Make) -> None:
    def voiced(voice: int, tie: str) -> str:
        return make_note("C4", 4, after=f"{tie}<voice>{voice}</voice>")

    back = "<backup><duration>4</duration></backup>"
    both = score_of(voiced(1, START) + back + voiced(2, START), voiced(2, STOP) + back + voiced(1, STOP))
    assert continues(both) == {3: 2, 4: 1}
    other = score_of(voiced(1, START), voiced(2, STOP))
    assert continues(other) == {2: 1}


def test_a_tie_from_nowhere_is_struck(score_of: Reader, make_note: Make) -> None:
    score = score_of(make_note("C4", 2, after=START) + make_note("D4", 1) + make_note("C4", 1, after=STOP))
    assert continues(score) == {}
    assert any("ties that begin nowhere" in line for line in score.repairs)


def test_enharmonic_tie(score_of: Reader, make_note: Make) -> None:
    assert continues(score_of(make_note("C#4", 2, after=START) + make_note("Db4", 2, after=STOP))) == {2: 1}


def test_signs_hold_to_the_end_of_the_bar(score_of: Reader, make_note: Make) -> None:
    score = score_of(make_note("F#4") + make_note("F4") + make_note("F#5") + make_note("F4"), make_note("F#4", 4))
    first, second = score.parts[0].bars
    assert first.signs == (Sign(0, 1, "F", 4, 1), Sign(1, 1, "F", 4, 0), Sign(2, 1, "F", 5, 1))
    assert [first.alter(1, "F", 4, tick) for tick in range(4)] == [0, 1, 0, 0]
    assert second.signs == (Sign(4, 1, "F", 4, 1),)


def test_signs_follow_time_over_all_voices(score_of: Reader, make_note: Make) -> None:
    """A sign in the second voice on beat 1 holds for the first voice on beat 2."""
    bar = make_note("C5", 1) + make_note("F#4", 3) + "<backup><duration>4</duration></backup>" + make_note("F#4", 4)
    (only,) = score_of(bar).parts[0].bars
    assert only.signs == (Sign(0, 1, "F", 4, 1),)


def test_signs_are_of_one_staff_and_not_of_ties(score_of: Reader, make_note: Make) -> None:
    bar = make_note("F#4", 4, after=START + "<staff>1</staff>") + "<backup><duration>4</duration></backup>"
    bar += make_note("F#4", 4, after="<staff>2</staff>")
    tied = make_note("F#4", 2, after=STOP) + make_note("F#4", 2)
    first, second = score_of(bar, tied, attributes=TWO_STAVES).parts[0].bars
    assert first.signs == (Sign(0, 1, "F", 4, 1), Sign(0, 2, "F", 4, 1))
    assert second.signs == (Sign(6, 1, "F", 4, 1),)


def test_grace_notes_set_signs_and_the_last_wins(score_of: Reader, make_note: Make) -> None:
    bar = make_note("F#4", None, before="<grace/>") + make_note("F4", 2) + make_note("F4", 2)
    (only,) = score_of(bar).parts[0].bars
    assert only.signs == (Sign(0, 1, "F", 4, 1), Sign(0, 1, "F", 4, 0))
    assert only.alter(1, "F", 4, 2) == 0


def test_keys_change_at_the_bar_and_within(score_of: Reader, make_note: Make) -> None:
    flat = "<attributes><key><fifths>-1</fifths></key></attributes>"
    sharp = "<attributes><key><fifths>2</fifths><mode>minor</mode></key></attributes>"
    score = score_of(make_note("C4", 4), flat + make_note("C4", 2) + sharp + make_note("C4", 2), make_note("C4", 4))
    part = score.parts[0]
    assert [bar.key for bar in part.bars] == [key_of(0), key_of(-1), key_of(2, "minor")]
    assert [note.key for note in part.notes] == [key_of(0), key_of(-1), key_of(2, "minor"), key_of(2, "minor")]
    assert [bar.cut for bar in part.bars] == [False, True, False]


def test_a_key_within_a_bar_reaches_back_to_no_voice(score_of: Reader, make_note: Make) -> None:
    sharp = "<attributes><key><fifths>2</fifths></key></attributes>"
    bar = make_note("C5", 2) + sharp + make_note("C5", 2) + "<backup><duration>4</duration></backup>" + make_note("C4", 2) * 2
    notes = score_of(bar).parts[0].notes
    assert [note.key.fifths for note in notes] == [0, 2, 0, 2]


def test_a_key_of_one_staff(score_of: Reader, make_note: Make) -> None:
    keys = '<key number="1"><fifths>1</fifths></key><key number="2"><fifths>-3</fifths></key>'
    bar = make_note("C5", 4) + "<backup><duration>4</duration></backup>" + make_note("C3", 4, after="<staff>2</staff>")
    score = score_of(f"<attributes>{keys}</attributes>{bar}", bar, attributes=TWO_STAVES)
    assert [note.key.fifths for note in score.parts[0].notes] == [1, -3, 1, -3]
    assert not score.parts[0].bars[1].cut


@pytest.mark.parametrize(
    ("barline", "cut"),
    [
        ("<bar-style>light-light</bar-style>", True),
        ("<bar-style>dashed</bar-style>", False),
        ('<repeat direction="backward"/>', True),
        ('<ending number="1" type="stop"/>', True),
        ("", False),
    ],
)
def test_cuts(score_of: Reader, make_note: Make, barline: str, cut: bool) -> None:
    whole = make_note("C4", 4)
    right = score_of(whole + f'<barline location="right">{barline}</barline>', whole)
    left = score_of(whole, f'<barline location="left">{barline}</barline>' + whole)
    assert [bar.cut for bar in right.parts[0].bars] == [bar.cut for bar in left.parts[0].bars] == [False, cut]


def test_beams(score_of: Reader, make_note: Make) -> None:
    def beamed(kind: str, chord: str = "") -> str:
        return make_note("C4", 1, before=chord, after=f'<beam number="1">{kind}</beam>' if kind else "")

    bar = beamed("begin") + beamed("", "<chord/>") + beamed("end") + beamed("") + beamed("begin") + beamed("end")
    notes = score_of(bar, divisions=2).parts[0].notes
    assert [note.beam for note in notes] == [1, 1, 1, None, 2, 2]


def test_flags(score_of: Reader, make_note: Make) -> None:
    clef = '<attributes><clef number="2"><sign>TAB</sign></clef></attributes>'
    bar = (
        make_note("C4", attributes='print-object="no"') + make_note("C4", before="<cue/>") + clef
        + make_note("C4", after='<type size="cue">quarter</type>') + make_note("C4", after="<staff>2</staff>")
    )  # fmt: skip
    notes = score_of(bar, attributes=TWO_STAVES).parts[0].notes
    assert [(note.hidden, note.cue, note.tablature) for note in notes] == [
        (True, False, False), (False, True, False), (False, False, False), (False, False, True),
    ]  # fmt: skip
    # MusicXML 4.0, element cue: a cue note is silent; what is only printed in cue size plays
    assert [note.visible for note in notes] == [False, False, True, False]


def test_quarter_tones_and_printed_accidentals(score_of: Reader, make_note: Make) -> None:
    half = make_note("C#4").replace(">1</alter>", ">0.5</alter>")
    printed = make_note("F4", after="<accidental>sharp</accidental>")
    score = score_of(half + printed + make_note("C4", 2))
    assert [note.pitch.alter for note in score.parts[0].notes] == [Fraction(1, 2), 1, 0]
    assert [note.accidental for note in score.parts[0].notes] == [None, "sharp", None]
    assert any("read as printed" in line for line in score.repairs)


def test_chord_members_inherit_voice_and_staff(score_of: Reader, make_note: Make) -> None:
    bar = make_note("C3", 4, after="<voice>5</voice><staff>2</staff>") + make_note("E3", 4, before="<chord/>")
    notes = score_of(bar, attributes=TWO_STAVES).parts[0].notes
    assert [(note.voice, note.staff) for note in notes] == [("5", 2), ("5", 2)]


def test_numbers_count_rests_and_ids_stay(score_of: Reader, make_note: Make) -> None:
    bar = make_note("rest") + make_note("C4") + make_note("D4", attributes='id="own"') + make_note("rest")
    score = score_of(bar, make_note("E4", 4))
    assert [(note.number, note.id) for note in score.parts[0].notes] == [(2, "n2"), (3, "own"), (5, "n5")]
    every = list(score.document.tree.iter("note"))
    assert all(every[note.number - 1] is note.element for note in score.parts[0].notes)


def test_timewise_is_its_partwise_twin() -> None:
    def bars(part: str, step: str) -> list[str]:
        pitch = f"<pitch><step>{step}</step><octave>4</octave></pitch>"
        head = "<attributes><divisions>1</divisions><time><beats>2</beats><beat-type>4</beat-type></time></attributes>"
        return [
            f"{head if bar == 1 else ''}<note>{pitch}<duration>1</duration></note><note><rest/><duration>1</duration></note>"
            for bar in (1, 2, 3)
        ]

    parts = {"P1": bars("P1", "C"), "P2": bars("P2", "G")}
    listing = "<part-list>" + "".join(f'<score-part id="{p}"><part-name>Piano {p}</part-name></score-part>' for p in parts) + "</part-list>"
    partwise = "".join(
        f'<part id="{p}">' + "".join(f'<measure number="{i}">{bar}</measure>' for i, bar in enumerate(b, 1)) + "</part>"
        for p, b in parts.items()
    )
    timewise = "".join(
        f'<measure number="{i + 1}">' + "".join(f'<part id="{p}">{b[i]}</part>' for p, b in parts.items()) + "</measure>" for i in range(3)
    )
    one = read(f"<score-partwise>{listing}{partwise}</score-partwise>".encode())
    other = read(f"<score-timewise>{listing}{timewise}</score-timewise>".encode())
    assert other.document.timewise and not one.document.timewise
    assert [part.bars for part in one.parts] == [part.bars for part in other.parts]
    for a, b in zip(one.parts, other.parts, strict=True):
        assert [(n.pitch, n.tick, n.ticks, n.bar) for n in a.notes] == [(n.pitch, n.tick, n.ticks, n.bar) for n in b.notes]
    every = list(other.document.tree.iter("note"))
    assert [note.number for note in other.parts[0].notes if note.staff == 2] == [3, 7, 11]
    assert all(every[note.number - 1] is note.element for part in other.parts for note in part.notes)


@pytest.mark.parametrize(
    ("name", "attributes", "keyboard", "left"),
    [
        ("Piano", TWO_STAVES, True, {2}),
        ("Harp", TWO_STAVES, True, {2}),
        ("Klavier", "<clef><sign>G</sign></clef>", True, set()),
        ("Piano", "<clef><sign>F</sign></clef>", True, {1}),
        ("Piano, left hand", "<clef><sign>G</sign></clef>", True, {1}),
        ("Orchestral bells", "<clef><sign>G</sign></clef>", False, set()),
        ("Violoncello", "<clef><sign>F</sign></clef>", False, {1}),
        ("Pno.", "<staves>3</staves>" + '<clef number="3"><sign>F</sign></clef>', True, {3}),
    ],
)
def test_keyboard_parts_and_hands(make_text: Make, make_note: Make, name: str, attributes: str, keyboard: bool, left: set[int]) -> None:
    text = make_text(make_note("C4", 4), name=name, attributes=attributes)
    other = '<score-part id="P2"><part-name>Voice</part-name></score-part></part-list>'
    text = text.replace("</part-list>", other).replace("</score-partwise>", '<part id="P2"><measure number="1"/></part></score-partwise>')
    part, voice = read(text.encode()).parts
    assert (part.keyboard, part.left_staves, voice.keyboard) == (keyboard, left, False)


def test_the_only_part_is_a_keyboard_part(score_of: Reader, make_note: Make) -> None:
    assert score_of(make_note("C4", 4), name="").parts[0].keyboard


@pytest.mark.parametrize(
    ("head", "title", "composer"),
    [
        ("<work><work-title> A  work </work-title></work><movement-title>M</movement-title>", "A work", ""),
        ("<movement-title>M</movement-title><identification><creator type='composer'>N. N.</creator></identification>", "M", "N. N."),
        ("<credit page='1'><credit-type>composer</credit-type><credit-words>N. N.</credit-words></credit>"
         "<credit page='1'><credit-words font-size='9'>small</credit-words></credit>"
         "<credit page='1'><credit-words font-size='24'>Large</credit-words></credit>", "Large", "N. N."),
        ("", "", ""),
    ],
)  # fmt: skip
def test_headings(make_text: Make, make_note: Make, head: str, title: str, composer: str) -> None:
    text = make_text(make_note("C4", 4)).replace("<part-list>", head + "<part-list>")
    score = read(text.encode())
    assert (score.title, score.composer) == (title, composer)


@pytest.mark.parametrize(
    ("listing", "expected"),
    [
        ("<P1>Piano</P1><P2>Piano</P2>", [(True, {2})]),
        ("<P1>Piano 1</P1><P2>Piano 2</P2>", [(True, {2})]),
        ("<P1></P1><P2></P2>", [(True, {2})]),
        ("<P1>MusicXML Part</P1><P2>MusicXML Part</P2>", [(True, {2})]),
        ("<P1>Treble</P1><P2>Bass</P2>", [(True, {2})]),
        ("<P1>Left hand</P1><P2>Right hand</P2>", [(True, {1})]),
        ("<B>brace</B><P1></P1><P2></P2><E/>", [(True, {2})]),
        ("<P1>Violin</P1><P2>Violin</P2>", [(False, set()), (False, set())]),
        ("<P1>Violin</P1><P2>Violoncello</P2>", [(False, set()), (False, set())]),
        ("<P1>Flute</P1><P2></P2>", [(False, set()), (False, set())]),
        ("<P1>Organ, linke Hand</P1><P2>Violin</P2>", [(True, {1}), (False, set())]),
    ],
)
def test_two_parts_for_two_hands(listing: str, expected: list[tuple[bool, set[int]]]) -> None:
    for part in ("P1", "P2"):
        listing = listing.replace(f"<{part}>", f'<score-part id="{part}"><part-name>').replace(f"</{part}>", "</part-name></score-part>")
    group = '<part-group type="start" number="1"><group-name>Piano</group-name><group-symbol>'
    listing = listing.replace("<B>", group).replace("</B>", "</group-symbol></part-group>")
    listing = listing.replace("<E/>", '<part-group type="stop" number="1"/>')
    parts = "".join(f'<part id="P{number}"><measure number="1"/></part>' for number in (1, 2))
    score = read(f"<score-partwise><part-list>{listing}</part-list>{parts}</score-partwise>".encode())
    assert [(part.keyboard, part.left_staves) for part in score.parts] == expected


def test_a_key_announced_at_the_end_of_a_bar_cuts_the_next(score_of: Reader, make_note: Make) -> None:
    flat = "<attributes><key><fifths>-1</fifths></key></attributes>"
    score = score_of(make_note("C4", 4) + flat, make_note("C4", 4), flat + make_note("C4", 4))
    assert [bar.cut for bar in score.parts[0].bars] == [False, True, False]
    assert [note.key.fifths for note in score.parts[0].notes] == [0, -1, -1]
