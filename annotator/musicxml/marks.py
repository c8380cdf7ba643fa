"""Marks into the user's own document: brackets, labels and greys as MusicXML.

Conventions
-----------
* A figure is a ``<direction>`` with the start of its bracket and one with its label right before its first note, and one with the stop
  right after its last; a chord is not torn apart (before its leading note, after its last member). Directions take no time. Bracket and
  label have one each, the bracket first: programs that take only the first thing in a direction, or drop a line behind words, show both.
* Where a figure passes to the other staff, its last note may stand *before* its first in the document, or in another part of it. Then
  the stop stands after the latest of its notes in the first one's part, with an ``<offset>`` to where the last one ends, within the bar.
* Hooks point to the staff. ``<voice>`` is that of the note beside it, ``<staff>`` that of the mark. The language of words is named:
  MusicXML's default is Italian. Colours are in upper case, the only form that the schema takes; black is not written.
* Which of its three wordings a label gets: as the style says; where it says ``fit``, the longest for which there seems to be room up to the
  next text on that side of the staff, each moment at which something is struck giving room for some characters. An estimate: common
  practice, no source.
* Note, notehead, accidental and dots take the grey; stem and beams only if all notes of the chord are grey. A colour that the user gave
  stays, but for black, which many programs write on everything.
* A covered note's head is ``none``. That is what the format has for it; heads of the source's own, and the accidental, turn white instead,
  for they can be changed back, and not be taken out. Stem, flag and beam stay, in grey. A note that says it has no stem keeps its head.
* A courtesy sign is a plain ``<accidental>``: what it stands for is not on the page, so it is no reminder in parentheses.
* What is put in or changed is recorded (``musicxml.record``), so it comes out again without a trace.

Rule of covered notes
---------------------
Programs differ. Verovio 6 leaves a head of ``none`` out and keeps the stem; of a note with ``print-object="no"`` it drops stem and beams,
too. MuseScore 3.2 has that the other way round, and takes a head's colour. So a white head of ``none`` is what covers in both. Ledger lines
stay in both, whatever ``print-leger`` says; a white accidental is unseen in Verovio, and MuseScore draws accidentals from the pitch
whatever is said of them. On the pages all of it is gone.

Source: MusicXML 4.0 (W3C): order in ``direction`` (types, offset, voice, staff) and in a note, ``notehead-value``; nothing there says that
a note's colour reaches its stem or beams, so each gets its own. What programs do was measured.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterable, Mapping
from html import escape
from typing import Any

from annotator.errors import ScoreError
from annotator.marks.covering import Covering, covering, near
from annotator.marks.marking import Mark, Markings
from annotator.marks.style import Style
from annotator.music.score import Score
from annotator.musicxml.places import OLD_LEVELS, Places, bracket_numbers
from annotator.musicxml.record import ADDED, coloured_parts, grey_record, raise_version, sign, take_out, without_marks
from annotator.musicxml.seal import sealed
from annotator.musicxml.splicing import Splice, reloaded
from annotator.reading import Document

CHARACTERS_A_MOMENT = 2.5
LENGTHS = ("long", "medium", "short")
WHITE = "#FFFFFF"
BLACK = frozenset({"#000000", "#FF000000"})
SIGNS = {-2: "flat-flat", -1: "flat", 0: "natural", 1: "sharp", 2: "double-sharp"}

_OF_THE_CHORD = frozenset({"stem", "beam"})
_AFTER_HEAD = ("notehead-text", "staff", "beam", "notations", "lyric", "play", "listen")
_AFTER_SIGN = ("time-modification", "stem", "notehead", *_AFTER_HEAD)
_Side = tuple[str, int, str]


def write_marks(
    document: Document, score: Score, markings: Markings, style: Style, language: str = "en"
) -> tuple[Document, tuple[str, ...]]:
    """Return the document with the marks in it, in place of any marks of ours that it holds, and sealed.

    ``score`` is the document as it was read (our marks change nothing in it), ``language`` that of the labels. Returns, too, one line for
    each figure that could not be written in full (no bracket number free). What was made is read once more, and its marks taken out: if
    that is not the source again, nothing is given out, and a ``ValueError`` raised.
    """
    plain = take_out(document)
    data, notices = _spliced(plain, score, markings, style, language)
    try:
        marked = reloaded(plain, data)
        same = without_marks(marked) == plain.data
    except ScoreError as error:
        raise ValueError(f"what was written cannot be read again: {error}") from error
    if not same:
        raise ValueError("what was written is not the source with marks in it")
    return marked, notices


def _spliced(plain: Document, score: Score, markings: Markings, style: Style, language: str) -> tuple[bytes, tuple[str, ...]]:
    """Return the bytes of a document with the marks in it, and a line for each bracket that is not."""
    root, splice = plain.tree.getroot(), Splice(plain)
    places, marks = Places(root.iter("note"), score.parts), markings.marks
    numbers = bracket_numbers(root, places, marks)
    if style.greying:
        cover = covering(markings.figures, markings.grey, score, near) if style.covered else Covering()
        write_covers(splice, places, cover, markings.grey, style.grey.upper())
        _write_greys(splice, places, markings.grey, style.grey.upper())
    for mark, label, number in zip(marks, _labels(score, marks, style.labels), numbers, strict=True):
        _write_figure(splice, places, mark, label, number, style, language)
    sign(splice, root)
    if any(number > OLD_LEVELS for number in numbers if number is not None):
        raise_version(splice, root)
    notices = tuple(_no_number(score, mark) for mark, number in zip(marks, numbers, strict=True) if number is None)
    return sealed(splice.made()), notices


# Brackets and labels.


def _write_figure(splice: Splice, places: Places, mark: Mark, label: str, number: int | None, style: Style, language: str) -> None:
    """Write the bracket, the label and, where there is a label, the chord names of one figure."""
    first = mark.first.number
    if number is not None:
        splice.before(places.lead(first), _direction(places, mark, first, _bracket("start", mark, number, style)))
    if label:
        words = [(first, label), *((note.number, text) for note, text in mark.changes if note.number != first)]
        for beside, text in words:
            content = f'<words{_colour(style.label_colour)} xml:lang="{language}">{escape(text, quote=False)}</words>'
            splice.before(places.lead(beside), _direction(places, mark, beside, content))
    if number is not None:
        stop, offset = places.stop(mark)
        splice.behind(places.final(stop), _direction(places, mark, stop, _bracket("stop", mark, number, style), offset))


def _direction(places: Places, mark: Mark, number: int, content: str, offset: str | None = None) -> str:
    """Return a direction of ours on the side of the mark, beside the note with that number."""
    voice = escape(" ".join((places.element(number).findtext("voice") or "").split()), quote=False)
    more = {"offset": offset, "voice": voice, "staff": str(places.staff(mark)[0])}
    lines = [f'<direction placement="{mark.side}">{ADDED}', "\t<direction-type>", f"\t\t{content}", "\t</direction-type>"]
    return "\n".join([*lines, *(f"\t<{tag}>{text}</{tag}>" for tag, text in more.items() if text), "</direction>"])


def _bracket(kind: str, mark: Mark, number: int, style: Style) -> str:
    """Return one end of a bracket."""
    hook = "down" if mark.side == "above" else "up"
    return f'<bracket type="{kind}" number="{number}" line-end="{hook}" line-type="solid"{_colour(style.bracket(mark.family))}/>'


def _colour(colour: str) -> str:
    """Return the attribute of what is not to be black."""
    return "" if colour.upper() in BLACK else f' color="{colour.upper()}"'


def _labels(score: Score, marks: tuple[Mark, ...], wanted: str) -> list[str]:
    """Return the wording of each mark: that of one length, the one that fits (``fit``), or none (anything else)."""
    if wanted in LENGTHS:
        return [mark.labels[LENGTHS.index(wanted)] for mark in marks]
    if wanted != "fit":
        return [""] * len(marks)
    moments = {part.id: sorted({note.tick for note in part.notes if note.visible}) for part in score.parts}
    texts: dict[_Side, list[int]] = defaultdict(list)
    for mark in marks:
        texts[mark.part, mark.staff, mark.side] += [mark.first.tick, *(note.tick for note, _ in mark.changes)]
    for ticks in texts.values():
        ticks.sort()
    return [_fitting(mark, moments.get(mark.part, []), texts) for mark in marks]


def _fitting(mark: Mark, moments: list[int], texts: Mapping[_Side, list[int]]) -> str:
    """Return the longest wording that fits before the next text on the same side; the shortest if none does."""
    ticks = texts[mark.part, mark.staff, mark.side]
    following = bisect_left(ticks, mark.first.tick + 1)
    stop = bisect_left(moments, ticks[following]) if following < len(ticks) else len(moments)
    room = CHARACTERS_A_MOMENT * (stop - bisect_left(moments, mark.first.tick))
    return next((label for label in mark.labels if len(label) <= room), mark.labels[-1])


def _no_number(score: Score, mark: Mark) -> str:
    """Return the notice for a figure without a bracket: where, and what."""
    bar = next(part.bars[mark.first.bar].number for part in score.parts if part.id == mark.part)
    return (
        f"part {mark.part}, bar {bar}, staff {mark.staff}: too many brackets at once, "
        f"'{mark.labels[0]}' stands without one in the MusicXML"
    )


# Greys and covers.


def _write_greys(splice: Splice, places: Places, numbers: frozenset[int], grey: str) -> None:
    """Colour the notes with these numbers; ``grey`` is ``#RRGGBB`` or ``#AARRGGBB`` in upper case."""
    dark_chords = {lead for number, lead in places.leads.items() if number not in numbers}
    for number in sorted(numbers):
        note, in_dark_chord = places.element(number), places.leads[number] in dark_chords
        before: dict[str, str] = {}
        for name, part in coloured_parts(note):
            was = splice.attribute(part, "color")
            if was == grey:
                before[name] = was  # the user's own, which happens to be ours: it must not go with ours
            elif not (in_dark_chord and part.tag in _OF_THE_CHORD) and (was is None or was.upper() in BLACK):
                before |= {} if was is None else {name: was}
                splice.set_attribute(part, "color", grey)
        splice.first(note, grey_record(grey, before))


def write_covers(splice: Splice, places: Places, cover: Covering, greys: Iterable[int], grey: str) -> None:
    """Cover notes, and give others their courtesy signs: in grey, where the note is one of the ``greys``."""
    for number in sorted(cover.notes):
        note = places.element(number)
        if note.findtext("stem") != "none":
            _cover(splice, note)
    for number, alter in sorted(cover.signs.items()):
        if alter in SIGNS:
            colour = f' color="{grey}"' if number in greys else ""
            splice.put_in(places.element(number), f"<accidental{colour}>{SIGNS[alter]}{ADDED}</accidental>", _AFTER_SIGN)


def _cover(splice: Splice, note: Any) -> None:
    """Whiten the accidental and the head of a note; one that has no head of its own gets one that is none."""
    before: dict[str, str] = {}
    for name, part in coloured_parts(note):
        if part.tag in ("notehead", "accidental"):
            was = splice.attribute(part, "color")
            before |= {} if was is None else {name: was}
            splice.set_attribute(part, "color", WHITE)
    if note.find("notehead") is None:
        splice.put_in(note, f'<notehead color="{WHITE}">none{ADDED}</notehead>', _AFTER_HEAD)
    splice.first(note, grey_record(WHITE, before))
