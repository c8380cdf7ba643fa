"""What belongs to grey notes turns grey, piece by piece, on drawings small enough to see through."""

from __future__ import annotations

from typing import Any

from lxml import etree

from annotator.pages.greying import Shades, heads_of, shade

HEAD = '<use xmlns:x="http://www.w3.org/1999/xlink" x:href="#E0A4-x" transform="translate({x}, {y}) scale(0.68, 0.68)"/>'
GREY = "#909090"


def note(number: int, x: float, y: float = 500, stem: bool = True) -> str:
    path = f'<g class="stem"><path d="M{x + 200} {y} L{x + 200} 100"/></g>' if stem else ""
    return f'<g id="note-{number}" class="note"><g class="notehead">{HEAD.format(x=x, y=y)}</g>{path}</g>'


def shaded(inside: str, *grey: int, fingerings: bool = True) -> Any:
    page = etree.fromstring(f'<svg xmlns="http://www.w3.org/2000/svg"><g class="measure">{inside}</g></svg>')
    shade(page, Shades(frozenset(grey), frozenset({9}), GREY, fingerings, heads_of(page), dict.fromkeys(range(20), 1)))
    return page


def colours(page: Any, name: str) -> list[str | None]:
    return [each.get("fill") for each in page.iter("{*}" + name)]


def grey_groups(page: Any, wanted: str) -> list[bool]:
    return [each.get("fill") == GREY for each in page.iter("{*}g") if wanted in each.get("class", "").split()]


BEAM = '<polygon points="200,100 1400,160 1400,245 200,185"/>'


def test_a_beam_is_cut_at_its_stems() -> None:
    notes = "".join(note(number, 400 * (number - 1)) for number in (1, 2, 3, 4))
    page = shaded(f'<g class="beam">{BEAM}{notes}</g>', 2, 3)
    pieces = [(each.get("points"), each.get("fill")) for each in page.iter("{*}polygon")]
    assert pieces == [
        ("200,100 600,120 600,205 200,185", None),
        ("600,120 1000,140 1000,225 600,205", GREY),
        ("1000,140 1400,160 1400,245 1000,225", None),
    ]


def test_a_beam_of_grey_notes_is_grey_and_one_of_lone_grey_notes_is_not() -> None:
    notes = "".join(note(number, 400 * (number - 1)) for number in (1, 2, 3, 4))
    assert colours(shaded(f'<g class="beam">{BEAM}{notes}</g>', 1, 2, 3, 4), "polygon") == [GREY]
    assert colours(shaded(f'<g class="beam">{BEAM}{notes}</g>', 1, 3), "polygon") == [None]


def test_the_grace_notes_in_a_beam_do_not_cut_it() -> None:
    notes = note(1, 0) + f'<g class="graceGrp">{note(5, 300)}</g>' + note(2, 800) + note(3, 1200)
    page = shaded(f'<g class="beam">{BEAM}{notes}</g>', 1, 2, 3)
    assert colours(page, "polygon") == [GREY]


def test_what_a_chord_shares_is_grey_when_all_its_notes_are() -> None:
    chord = f'<g id="c" class="chord">{note(1, 0, stem=False)}{note(2, 0, 700, stem=False)}<g class="stem"/></g>'
    assert grey_groups(shaded(chord, 1), "chord") == [False]
    assert grey_groups(shaded(chord, 1), "note") == [True, False]
    assert grey_groups(shaded(chord, 1, 2), "chord") == [True]


def test_the_dots_of_a_chord_turn_with_their_notes() -> None:
    def dots_of(*grey: int) -> list[bool]:
        spots = "".join(f'<ellipse cx="{x}" cy="{y}" rx="34" ry="34"/>' for x in (400, 480) for y in (670, 330, 500))
        notes = note(1, 0, 340, stem=False) + note(2, 0, 510, stem=False) + note(3, 0, 670, stem=False)
        page = shaded(f'<g id="c" class="chord"><g class="dots">{spots}</g>{notes}</g>', *grey)
        return [each.get("fill") == GREY for each in page.iter("{*}ellipse")]

    assert dots_of() == [False] * 6
    assert dots_of(1) == [False, True, False] * 2  # the dots as they stand in the drawing: of the third note, the first, the second
    assert dots_of(2, 3) == [True, False, True] * 2


def test_two_notes_that_share_a_dot_leave_it_dark_unless_both_are_grey() -> None:
    chord = f'<g id="c" class="chord"><g class="dots"><ellipse cx="400" cy="500"/></g>{note(1, 0)}{note(2, 200)}</g>'
    assert shaded(chord, 1).find(".//{*}ellipse").get("fill") is None
    assert grey_groups(shaded(chord, 1, 2), "chord") == [True]


def test_ties_need_both_ends_and_slurs_stay_dark() -> None:
    tie = '<g class="tie" data-startid="#note-1" data-endid="#note-2"/><g class="slur"/>'
    assert grey_groups(shaded(note(1, 0) + note(2, 500) + tie, 1), "tie") == [False]
    both = shaded(note(1, 0) + note(2, 500) + tie, 1, 2)
    assert (grey_groups(both, "tie"), grey_groups(both, "slur")) == ([True], [False])


def test_fingerings_follow_their_note_if_the_style_says_so() -> None:
    fingers = '<g class="fing" data-startid="#note-1"/><g class="fing" data-startid="#note-2"/>'
    music = note(1, 0) + note(2, 500) + fingers
    assert grey_groups(shaded(music, 1), "fing") == [True, False]
    assert grey_groups(shaded(music, 1, fingerings=False), "fing") == [False, False]


def test_a_ledger_line_is_grey_when_all_heads_on_it_are() -> None:
    lines = "".join(f'<path d="M0 {y} L3000 {y}"/>' for y in (1000, 1170, 1340, 1510, 1680))
    ledgers = '<g class="ledgerLines above"><path d="M-50 830 L270 830"/><path d="M550 830 L870 830"/></g>'
    heads = note(1, 0, 830) + note(2, 600, 830) + f'<g id="c" class="chord">{note(3, 600, 745)}</g>'
    staff = f'<g class="staff">{lines}{ledgers}<g class="layer">{heads}</g></g>'

    def of(*grey: int) -> list[bool]:
        page = shaded(staff, *grey)
        group = next(each for each in page.iter("{*}g") if "ledgerLines" in each.get("class", ""))
        return [path.get("fill") == GREY for path in group]

    assert of(1) == [True, False]
    assert of(1, 2) == [True, False]
    assert of(1, 2, 3) == [True, True]
    assert of() == [False, False]


def test_anchors_are_told_and_stay_dark() -> None:
    page = shaded(note(9, 0), 1)
    group = next(each for each in page.iter("{*}g") if "note" in each.get("class", "").split())
    assert (group.get("class"), group.get("fill")) == ("note anchor", None)
