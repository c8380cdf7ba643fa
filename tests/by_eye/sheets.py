"""Writes the sheets for a reader: each excerpt as text and as a picture, without a title or any mark, and how to read them.

``python tests/by_eye/sheets.py FOLDER`` writes ``01.txt``, ``01.png`` … and ``READ.md`` into FOLDER, the sealed excerpts into
``FOLDER-sealed``.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from copy import deepcopy
from fractions import Fraction
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from by_eye.excerpt import HANDS, HERE, Excerpt, bars_of, excerpts, hand_of, part_of, strokes_of
from lxml import etree

import annotator
from annotator.music.score import Bar, Note, Part, Pitch, Score

VALUES = {
    Fraction(8): "breve",
    Fraction(4): "whole",
    Fraction(2): "half",
    Fraction(1): "quarter",
    Fraction(1, 2): "8th",
    Fraction(1, 4): "16th",
    Fraction(1, 8): "32nd",
    Fraction(1, 16): "64th",
}
SIGNS = {-2: "♭♭", -1: "♭", 0: "", 1: "♯", 2: "♯♯"}
ORNAMENTS = ("trill-mark", "turn", "inverted-turn", "mordent", "inverted-mordent", "tremolo", "arpeggiate")


def text_of(score: Score, excerpt: Excerpt) -> str:
    """Return the excerpt as text: bar by bar and hand by hand, a line for each moment."""
    part = part_of(score)
    numbers = {note.number: place[1] for place, notes in strokes_of(part, excerpt).items() for note in notes}
    signs = _signs(score, part, excerpt)
    lines = [f"Excerpt {excerpt.name[:2]}"]
    key, time = None, None
    for bar in bars_of(part, excerpt):
        lines += ["", f"== bar {bar.number} =="]
        if bar.key.fifths != key:
            key = bar.key.fifths
            lines.append(f"key signature: {f'{abs(key)} ' + ('sharp' if key > 0 else 'flat') + 's' * (abs(key) > 1) if key else 'none'}")
        if bar.time is not None and bar.time != time:
            time = bar.time
            lines.append(f"time signature: {'+'.join(map(str, time.beats))}/{time.beat_type}")
        for hand in HANDS:
            lines.append(f"{hand} hand:")
            lines += [f"  {line}" for line in _bar_lines(score, part, bar, hand, numbers, signs)]
    return "\n".join(lines) + "\n"


def _bar_lines(score: Score, part: Part, bar: Bar, hand: str, numbers: dict[int, int], signs: list[tuple[int, str, str]]) -> list[str]:
    """Return what one hand has in a bar, in time order: its signs, strokes, held notes and rests."""
    notes = [n for n in part.notes if n.bar == bar.index and hand_of(part, n) == hand and not n.hidden]
    voices = {note.voice for note in notes}
    rows: list[tuple[int, int, str]] = [(tick, 0, f"({sign})") for tick, where, sign in signs if where == hand and _within(bar, tick)]
    for tick in sorted({note.tick for note in notes}):
        struck = [note for note in notes if note.tick == tick and note.number in numbers]
        held = [note for note in notes if note.tick == tick and note.continues is not None]
        grace = [note for note in notes if note.tick == tick and (note.grace or note.cue)]
        if grace:
            rows.append((tick, 1, f"(grace: {' '.join(_name(note.pitch) for note in grace)})"))
        if struck:
            rows.append((tick, 2, f"s{numbers[struck[0].number]:<4}{_beat(score, bar, tick):<8}{_told(struck, len(voices) > 1)}"))
        if held:
            rows.append((tick, 3, f"  –  {_beat(score, bar, tick):<8}{_told(held, len(voices) > 1)}  (tied on, not struck)"))
    rows += [(tick, 4, f"  –  {_beat(score, bar, tick):<8}rest, {_length(length, score)}") for tick, length in _rests(bar, notes)]
    return [text for _, _, text in sorted(rows)]


def _within(bar: Bar, tick: int) -> bool:
    return bar.tick <= tick < bar.tick + bar.ticks


def _rests(bar: Bar, notes: list[Note]) -> Iterator[tuple[int, int]]:
    """Yield where nothing of a hand sounds in a bar, and for how many ticks."""
    end = bar.tick
    for note in sorted((note for note in notes if not note.grace), key=lambda note: note.tick):
        if note.tick > end:
            yield end, note.tick - end
        end = max(end, note.tick + note.ticks)
    if end < bar.tick + bar.ticks:
        yield end, bar.tick + bar.ticks - end


def _told(notes: list[Note], by_voice: bool) -> str:
    """Return the notes of a moment from low to high, those of one voice and length together."""
    groups: dict[tuple[str, str], list[Note]] = {}
    for note in sorted(notes, key=lambda note: note.pitch.semitone):
        groups.setdefault((note.voice, _value(note)), []).append(note)
    told = []
    for (voice, value), group in groups.items():
        names = " ".join(_name(note.pitch) + ("~" if note.tie_start else "") for note in group)
        told.append(f"{names} ({value}{f', voice {voice}' if by_voice else ''}){_ornaments(group)}")
    return "  +  ".join(told)


def _ornaments(notes: list[Note]) -> str:
    found = [tag for note in notes for tag in ORNAMENTS if note.element.find(f".//{tag}") is not None]
    return f" [{', '.join(dict.fromkeys(found))}]" if found else ""


def _name(pitch: Pitch) -> str:
    return f"{pitch.step}{SIGNS[int(pitch.alter)]}{pitch.octave}"


def _value(note: Note) -> str:
    written = note.duration * Fraction(*note.tuplet) if note.tuplet else note.duration
    return _value_name(written) + (f" {note.tuplet[0]}:{note.tuplet[1]}" if note.tuplet else "")


def _value_name(quarters: Fraction) -> str:
    for dots, factor in (("", Fraction(1)), ("dotted ", Fraction(3, 2)), ("double-dotted ", Fraction(7, 4))):
        if quarters / factor in VALUES:
            return dots + VALUES[quarters / factor]
    return f"{quarters} quarters"


def _length(ticks: int, score: Score) -> str:
    return _value_name(Fraction(ticks, score.resolution))


def _beat(score: Score, bar: Bar, tick: int) -> str:
    """Return a beat from 1, in the lower number of the time signature: ``2``, ``2 1/3``."""
    unit = Fraction(bar.time.beat_type if bar.time else 4, 4)
    whole, rest = divmod(Fraction(tick - bar.tick + bar.offset, score.resolution) * unit, 1)
    return f"{whole + 1}{f' {rest}' if rest else ''}"


def _signs(score: Score, part: Part, excerpt: Excerpt) -> list[tuple[int, str, str]]:
    """Return clefs, octave lines, repeats and endings with tick and hand; the clefs in force at the start come first."""
    measures = [m for p in score.document.tree.iter("part") if p.get("id") == part.id for m in p.findall("measure")]
    bars = bars_of(part, excerpt)
    found: list[tuple[int, str, str]] = []
    in_force: dict[str, str] = {}
    divisions = 1
    for bar, measure in zip(part.bars, measures, strict=True):
        at = 0
        for element in measure:
            divisions = int(element.findtext("divisions", str(divisions)))
            duration = int(element.findtext("duration", "0")) if element.find("chord") is None else 0
            tick = bar.tick + at * score.resolution // divisions
            for hand, sign in _signs_in(element, part):
                if sign.startswith("clef") and tick <= bars[0].tick:
                    in_force[hand] = sign
                elif bars[0].index <= bar.index <= bars[-1].index:
                    found.append((min(tick, bar.tick + bar.ticks - 1), hand, sign))
            at += -duration if element.tag == "backup" else duration
    return [(bars[0].tick, hand, sign) for hand, sign in in_force.items()] + found


def _signs_in(element: Any, part: Part) -> Iterator[tuple[str, str]]:
    """Yield hand and words of each sign in one element of a measure."""
    for clef in element.findall("clef"):
        octave = clef.findtext("clef-octave-change", "0")
        kind = {"G": "treble", "F": "bass"}.get(clef.findtext("sign"), f"{clef.findtext('sign')} on line {clef.findtext('line')}")
        yield _hand(clef.get("number", "1"), part), f"clef: {kind}{f', {octave} octave' if octave != '0' else ''}"
    for line in element.iter("octave-shift"):
        yield _hand(element.findtext("staff", "1"), part), f"octave line {line.get('size', '8')} {line.get('type')}"
    if element.tag == "barline":
        words = [f"repeat sign {sign.get('direction')}" for sign in element.findall("repeat")]
        words += [f"ending {sign.get('number')} {sign.get('type')}" for sign in element.findall("ending")]
        styles = element.findall("bar-style") if element.find("repeat") is None else []
        words += [f"bar line {style.text}" for style in styles if style.text != "regular"]
        yield from (("right", word) for word in words)


def _hand(staff: str, part: Part) -> str:
    return "left" if int(staff) in part.left_staves else "right"


def picture(score: Score, excerpt: Excerpt, target: Path) -> None:
    """Engrave the excerpt plainly and write it as a PNG."""
    import cairosvg
    import verovio

    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit()
    toolkit.setOptions({"header": "none", "footer": "none", "scale": 60, "pageWidth": 2400, "adjustPageHeight": True, "pageHeight": 6000})
    plain = deepcopy(score.document.tree)
    for words in [words for words in plain.iter("words") if "⚠" in (words.text or "")]:
        words.getparent().remove(words)  # an editor's sign that would come out as an empty box
    toolkit.loadData(etree.tostring(plain, encoding="unicode"))
    toolkit.select({"measureRange": f"{excerpt.bars[0]}-{excerpt.bars[1]}"})
    toolkit.redoLayout()
    assert toolkit.getPageCount() == 1
    cairosvg.svg2png(toolkit.renderToSVG(1).encode(), write_to=str(target), background_color="white")


def write(folder: Path) -> None:
    """Write all sheets whose score is at hand."""
    sealed = folder.with_name(f"{folder.name}-sealed")
    for one in (folder, sealed):
        one.mkdir(parents=True, exist_ok=True)
        (one / "READ.md").write_text((HERE / "READ.md").read_text(encoding="utf-8"), encoding="utf-8")
    for excerpt in excerpts():
        if excerpt.path.exists():
            score = annotator.read(excerpt.path)
            target = (sealed if excerpt.sealed else folder) / excerpt.name[:2]
            target.with_suffix(".txt").write_text(text_of(score, excerpt), encoding="utf-8")
            picture(score, excerpt, target.with_suffix(".png"))


if __name__ == "__main__":
    write(Path(sys.argv[1]))
