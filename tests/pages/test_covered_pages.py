"""Covered pages: heads and accidentals are gone where they must be, all else is as on the marked page, and what is left can be read."""

from __future__ import annotations

from collections import defaultdict
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from lxml import etree
from marked_pages import SVG, collisions, prepared
from scores_at_hand import EXAMPLES, local_scores

from annotator.figures.copies import KINDS as COPIES
from annotator.marks.style import load_style
from annotator.music.score import Note, Part
from annotator.pages.engraving import engrave
from annotator.pages.greying import Shades, heads_of, ledger_lines, take_heads_off
from annotator.pages.mei import add_signs

STUDIES = sorted(EXAMPLES.glob("*.musicxml"))[:4]
SOME = pytest.mark.parametrize("path", [*STUDIES, *local_scores()[6:40:16]], ids=lambda path: path.stem)
MEI = "{http://www.music-encoding.org/ns/mei}"


@cache
def page_groups(path: Path, style: str) -> tuple[dict[str, Any], ...]:
    """Return page by page the groups of the notes by their ids."""
    pages = engrave(*prepared(path), load_style(style), "a4").pages
    roots = [etree.fromstring(page.encode()) for page in pages]
    return tuple({group.get("id", ""): group for group in root.iter(SVG + "g") if "note" in classes(group)} for root in roots)


def classes(group: Any) -> list[str]:
    return str(group.get("class", "")).split()


def has(group: Any, what: str) -> bool:
    return any(what in classes(child) and len(child) for child in group)


def together(pages: tuple[dict[str, Any], ...]) -> dict[str, Any]:
    return {name: group for page in pages for name, group in page.items()}


def stemmed(group: Any) -> bool:
    chord = group.getparent()
    return has(group, "stem") or ("chord" in classes(chord) and has(chord, "stem"))


@SOME
def test_covered_notes_are_stems_and_all_others_have_their_heads(path: Path) -> None:
    groups = together(page_groups(path, "covered"))
    covered = {name for name, group in groups.items() if "covered" in classes(group)}
    assert covered
    for name, group in groups.items():
        assert has(group, "notehead") == (name not in covered)
        if name in covered:
            assert "grey" in classes(group) and stemmed(group) and not has(group, "accid")


@SOME
def test_no_other_note_is_missing_and_what_is_grey_is_as_on_the_marked_page(path: Path) -> None:
    covered, marked = together(page_groups(path, "covered")), together(page_groups(path, "default"))
    assert covered.keys() == marked.keys()
    assert {name for name in covered if "grey" in classes(covered[name])} == {name for name in marked if "grey" in classes(marked[name])}


@SOME
def test_the_notes_that_are_left_can_be_read(path: Path) -> None:
    """Read as a player does: by the key signature, and the accidentals that are drawn earlier in the bar (any primer of notation)."""
    _, score, _ = prepared(path)
    covered, marked = (together(page_groups(path, style)) for style in ("covered", "default"))
    for part in score.parts:
        wrong, usual = misread(part, covered), misread(part, marked)
        assert wrong <= usual, [note.id for note in part.notes if note.number in wrong - usual]


def misread(part: Part, groups: dict[str, Any]) -> set[int]:
    """Return the numbers of the notes that a player would play wrong."""
    bars: dict[int, list[Note]] = defaultdict(list)
    for note in part.notes:
        if note.id in groups and has(groups[note.id], "notehead"):
            bars[note.bar].append(note)
    wrong = set()
    for notes in bars.values():
        force: dict[tuple[int, int], Any] = {}
        for note in sorted(notes, key=lambda note: (note.tick, not note.grace, note.number)):
            place = note.staff, note.pitch.diatonic
            if has(groups[note.id], "accid"):
                force[place] = note.pitch.alter
            elif note.continues is None and force.get(place, note.key.alters[note.pitch.diatonic % 7]) != note.pitch.alter:
                wrong.add(note.number)
    return wrong


@pytest.mark.parametrize("path", local_scores()[13:14] or STUDIES[2:3], ids=lambda path: path.stem)
def test_copies_are_covered_on_the_page_of_their_model_alone(path: Path) -> None:
    marked = prepared(path)[2]
    pages = page_groups(path, "covered")
    page_of = {name: number for number, page in enumerate(pages) for name in page}
    groups = together(pages)
    for figure in marked.figures:
        stands = {page_of[note.id] for note in (*figure.struck, *(note for stroke in figure.model for note in stroke))}
        if figure.kind in COPIES and len(stands) > 1:
            assert not any("covered" in classes(groups[note.id]) for note in figure.struck)


def test_nothing_touches_on_a_covered_page() -> None:
    assert collisions(engrave(*prepared(STUDIES[2]), load_style("covered"), "a4").pages[:1], "a4") == [0]


HEAD = '<use xmlns:x="http://www.w3.org/1999/xlink" x:href="#E0A4-x" transform="translate({x}, {y}) scale(0.68, 0.68)"/>'
STAFF = "".join(f'<path d="M0 {y} L3000 {y}"/>' for y in range(0, 721, 180))


def drawn(number: int, x: int, y: int, stem: bool = True) -> str:
    path = f'<g class="stem"><path d="M{x + 200} {y} L{x + 200} 100"/></g>' if stem else ""
    return f'<g id="note-{number}" class="note"><g class="accid">{HEAD}</g><g class="notehead">{HEAD}</g>{path}</g>'.format(x=x, y=y)


def test_a_ledger_line_goes_with_the_last_head_on_it_and_a_note_without_a_stem_stays() -> None:
    chord = f'<g class="chord"><g class="stem"><path d="M200 1080 L200 0"/></g>{drawn(1, 0, 1080, False)}{drawn(2, 0, 900, False)}</g>'
    ledgers = '<g class="ledgerLines"><path d="M-50 900 L300 900"/><path d="M-50 1080 L300 1080"/></g>'
    inside = f'<g class="staff">{STAFF}{ledgers}{chord}{drawn(3, 1000, 360, stem=False)}</g>'
    page = etree.fromstring(f'<svg xmlns="http://www.w3.org/2000/svg"><g class="measure">{inside}</g></svg>')
    shades = Shades(frozenset(), frozenset(), "", False, heads_of(page), dict.fromkeys(range(5), 1))
    take_heads_off(page, {1, 3}, shades)
    heads = {group.get("id"): has(group, "notehead") for group in page.iter(SVG + "g") if "note" in classes(group)}
    assert heads == {"note-1": False, "note-2": True, "note-3": True}
    assert [path.get("d") for path, _ in ledger_lines(page[0], shades)] == ["M-50 900 L300 900"]


def test_courtesy_signs_go_into_the_engravers_document() -> None:
    note = '<note xml:id="note-{}">{}</note>'
    inside = note.format(1, '<accid accid.ges="s"/>') + note.format(2, "") + note.format(3, "")
    mei = etree.fromstring(f'<mei xmlns="http://www.music-encoding.org/ns/mei">{inside}</mei>')
    add_signs(mei, {1: 1, 2: 0})
    assert [[sign.get("accid") for sign in each] for each in mei] == [["s"], ["n"], []]
