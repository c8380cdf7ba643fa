"""An excerpt as the engraver is given it: its own document (MEI) of these bars, with nothing torn at the cut.

Rule
----
* The engraver selects the bars and says which clefs, key and time are in force there. It drops what reaches over the cut; so a hairpin, an
  octave line or a bracket is ended with the excerpt and begun with it here, and a slur is ended at the last note of its voice. Half a slur
  from before, half a tie and half a pedal tell nothing and are gone.
* Tempo and loudness are set again unless the first bar begins with its own; a loudness not after a hairpin, for nobody can say how loud it
  is then (common practice, no source).
* Of one hand its staves stay, which the engraver cannot select. In a voice that crosses, the notes of the other hand are room without ink.
  Tempo and rehearsal marks hold for both hands; so do loudness and hairpins of the other staff, where the hand has none of its own.
* Several stretches of bars follow each other behind a double bar, with the number of the bar, and what is in force there where that is new.

Source: MEI (music-encoding.org). What the engraver's selection does and drops was tried with scores that have each of these at the cut.
"""

from __future__ import annotations

import copy
from collections.abc import Iterator, Mapping, Sequence
from itertools import accumulate, pairwise
from typing import Any

from lxml import etree

from annotator.music.score import Bar, Score
from annotator.pages.engraver import ask
from annotator.pages.mei import MEI, XML_ID
from annotator.pages.render_copy import PREFIX, RenderCopy, render_copy
from annotator.pages.svg import parsed, tag
from annotator.products.excerpts.excerpt import Excerpt

BESIDE = (MEI + "hairpin", MEI + "octave", MEI + "bracketSpan")
LOUD = (MEI + "dynam", MEI + "hairpin")
FOR_BOTH = (MEI + "tempo", MEI + "reh")
DIRECTIONS = (*LOUD, *FOR_BOTH, MEI + "dir", MEI + "pedal", MEI + "bracketSpan")
"""What is not needed to read the notes; octave lines are."""

LOUDNESS = frozenset(["pppppp", "ppppp", "pppp", "ppp", "pp", "p", "mp", "mf", "f", "ff", "fff", "ffff", "fffff", "ffffff", "n"])
OPTIONS = {"breaks": "none", "xmlIdSeed": 40001, "header": "none", "footer": "none"}
"""What the engraver is told for cutting. Its seed of ids is not that of the import, which gives ids to what is put in here."""


def copies_of(excerpts: Sequence[Excerpt], directions: bool = True) -> list[RenderCopy]:
    """Return the copies of some excerpts of one document, on request without ``directions``. Raises an ``EngraverError``."""
    whole = render_copy(excerpts[0].document)
    bars = [(stretch.start, stretch.stop - 1) for each in excerpts for stretch in each.bars]
    answer = ask("cut", whole.text, OPTIONS, len(whole.printed), more={"bars": bars})
    source, cuts = _Source(parsed(answer["mei"], blanks=False)), iter(answer["cuts"])
    return [_copy(each, source, [parsed(next(cuts), blanks=False) for _ in each.bars], whole, directions) for each in excerpts]


def _copy(excerpt: Excerpt, source: _Source, pieces: Sequence[Any], whole: RenderCopy, directions: bool) -> RenderCopy:
    """Make the copy of an excerpt from the pieces that the engraver has cut."""
    bars = max((part.bars for part in excerpt.score.parts), key=len)
    ends = list(accumulate(len(stretch) for stretch in excerpt.bars))
    since = 0
    for stretch, piece, end in zip(excerpt.bars, pieces, ends, strict=True):
        last = bars[end - 1]
        beats = last.ticks * (last.time.beat_type if last.time else 4) / (4 * excerpt.score.resolution)
        source.mend(list(piece.iter(MEI + "measure")), stretch, since, f"{1 + beats:g}")
        since = stretch.stop
    made = _joined(pieces, [_is_new(excerpt.score, bars[end]) for end in ends[:-1]])
    _keep_staves(made, {str(staff): str(place) for place, staff in enumerate(excerpt.staves, 1)})
    _mend_bar_lines(made, bars)
    signs = {f"{PREFIX}{number}" for number in excerpt.signs}
    for note in [each for each in made.iter(MEI + "note") if each.get(XML_ID) in signs]:
        note.set("accid", note.attrib.pop("accid.ges", "n"))
    for needless in [] if directions else list(made.iter(*DIRECTIONS)):
        needless.getparent().remove(needless)
    printed = whole.printed & {note.number for part in excerpt.score.parts for note in part.notes}
    staves = {part.id: part.staves for part in excerpt.score.parts}
    return RenderCopy(etree.tostring(made, encoding="unicode"), printed, whole.names, staves, whole.left_out)


class _Source:
    """The whole document, and in which bar each of its elements stands."""

    def __init__(self, whole: Any) -> None:
        self.measures = list(whole.iter(MEI + "measure"))
        self.bar_of = {each.get(XML_ID): place for place, measure in enumerate(self.measures) for each in measure.iter()}

    def mend(self, measures: Sequence[Any], bars: range, since: int, end_beat: str) -> None:
        """End what goes on behind the ``measures`` cut out, begin anew what comes from before, set again what is new ``since`` a bar."""
        for measure, bar in zip(measures, bars, strict=True):
            for event in [each for each in measure if self._end(each, bar) >= bars.stop]:
                _close(event, measures, f"{bars.stop - 1 - bar}m+{end_beat}")
        for layer in measures[-1].iter(MEI + "layer"):
            for clef in [each for each in layer.findall(MEI + "clef") if each.getnext() is None]:  # that of the bar behind
                layer.remove(clef)
        for event, last in [*self._set_again(measures[0], bars, since), *self._opened(bars)]:
            twin = copy.deepcopy(event)
            twin.attrib.pop("startid", None)
            twin.set("tstamp", "1")
            if twin.get("tstamp2"):
                twin.set("tstamp2", f"{last - bars.start}m+{twin.get('tstamp2').partition('+')[2]}")
            measures[0].append(twin)
            if last >= bars.stop:
                _close(twin, measures, f"{len(bars) - 1}m+{end_beat}")

    def _end(self, event: Any, bar: int) -> int:
        """Return in which bar something ends that begins in a bar."""
        count = event.get("tstamp2", "").rpartition("m+")[0]
        return self.bar_of.get(event.get("endid", "").removeprefix("#"), bar + int(count or 0))

    def _opened(self, bars: range) -> Iterator[tuple[Any, int]]:
        """Yield what stands beside the staff from before some bars and goes on in them, and in which bar it ends."""
        for bar, measure in enumerate(self.measures[: bars.start]):
            for event in measure.iterchildren(*BESIDE):
                end, beat = self._end(event, bar), event.get("tstamp2", "").rpartition("+")[2]
                if end > bars.start or (end == bars.start and not (beat and float(beat) <= 1)):
                    yield event, end

    def _set_again(self, first: Any, bars: range, since: int) -> Iterator[tuple[Any, int]]:
        """Yield the tempo and the loudness in force before some bars, as far as their first does not begin with its own."""
        before = [event for measure in self.measures[since : bars.start] for event in measure]
        begins = {tag(event) for event in first if float(event.get("tstamp", "9")) <= 1}
        tempo = [event for event in before if tag(event) == "tempo"]
        if tempo and not begins & {"tempo", "dir"}:
            yield tempo[-1], bars.start
        loud = [event for event in before if tag(event) == "hairpin" or "".join(event.itertext()).strip() in LOUDNESS]
        if loud and tag(loud[-1]) == "dynam" and "dynam" not in begins:
            yield loud[-1], bars.start


def _close(event: Any, measures: Sequence[Any], end: str) -> None:
    """End something with the last bar; what cannot end early is gone."""
    last = _last_of_voice(event.get("startid", "").removeprefix("#"), measures) if tag(event) == "slur" else None
    if last is not None:
        event.set("endid", f"#{last}")
    elif event.tag in (*BESIDE, MEI + "dir", MEI + "dynam", MEI + "trill"):
        event.attrib.pop("endid", None)
        event.set("tstamp2", end)
    else:
        event.getparent().remove(event)


def _last_of_voice(start: str, measures: Sequence[Any]) -> str | None:
    """Return the id of the last note or chord of the voice in which a slur starts; None where nothing comes behind its start."""
    rows = [(row.get("n"), row.getparent().get("n"), _sounding(row)) for measure in measures for row in measure.iter(MEI + "layer")]
    first = next((row for row in rows if any(_has(start, each) for each in row[2])), None)
    voice = [each for row in rows if first and row[:2] == first[:2] for each in row[2]]
    return None if not voice or _has(start, voice[-1]) else str(voice[-1].get(XML_ID))


def _sounding(container: Any) -> list[Any]:
    """Return the single notes and the chords in a voice or in a part of one."""
    return [each for each in container.iter(MEI + "note", MEI + "chord") if tag(each.getparent()) != "chord"]


def _has(name: str, element: Any) -> bool:
    return any(each.get(XML_ID) == name for each in element.iter())


def _is_new(score: Score, bar: Bar) -> bool:
    """Return whether clef, key or time at a bar are not those at the bar before."""
    for part in score.parts:
        for before, now in pairwise(part.bars[bar.index - 1 : bar.index + 1]):
            clefs = [(part.clef_at(staff, now.tick - 1), part.clef_at(staff, now.tick)) for staff in range(1, part.staves + 1)]
            if (before.key, before.time) != (now.key, now.time) or any(one != other for one, other in clefs):
                return True
    return False


def _joined(pieces: Sequence[Any], new: Sequence[bool]) -> Any:
    """Return all pieces as one document; clefs, key and time of a later one are said where they are ``new``."""
    made = pieces[0]
    for place, piece in enumerate(pieces):
        definition = next(piece.iter(MEI + "scoreDef"))
        section = definition.getnext()
        for sign in definition.iter(MEI + "meterSig"):
            sign.attrib.pop("visible", None)
        first = next(section.iter(MEI + "measure"))
        for needless in [each for each in section.iter(etree.Element) if each is not section and not _stays(each, first)]:
            needless.getparent().remove(needless)
        if piece is not made:
            list(made.iter(MEI + "measure"))[-1].set("right", "dbl")
            if first.find(MEI + "mNum") is None:
                etree.SubElement(first, MEI + "mNum").text = first.get("n")
            there = {named.get(XML_ID) for named in made.iter()}
            for named in [each for each in (*definition.iter(), *section.iter()) if each.get(XML_ID) in there]:
                named.attrib.pop(XML_ID, None)
            next(made.iter(MEI + "section")).extend([definition, *section] if new[place - 1] else list(section))
    return made


def _stays(element: Any, first: Any) -> bool:
    """Return whether a piece needs an element: not the order of its parts, nor those left empty, nor a change before its first bar."""
    if tag(element) in ("ending", "section"):
        return next(element.iter(MEI + "measure"), None) is not None
    return tag(element) != "expansion" and not (tag(element) == "scoreDef" and element.getnext() in (first, first.getparent()))


def _mend_bar_lines(made: Any, bars: Sequence[Bar]) -> None:
    """Take away repeats and endings that are not there as a whole; a double bar stands for a repeat, but at the ends of the excerpt."""
    measures = list(made.iter(MEI + "measure"))
    edges = [False, *(bar.repeat_before for bar in bars[1:]), False]
    edges[0] = bars[0].repeat_before
    for place, (measure, bar) in enumerate(zip(measures, bars, strict=True)):
        back = bool(bars[place - 1].repeat_after) if place else False
        for side, ends, starts in (("left", back, edges[place]), ("right", bool(bar.repeat_after), edges[place + 1])):
            line = measure.get(side, "")
            stays = [word for word, there in (("end", ends), ("start", starts)) if there and line in (f"rpt{word}", "rptboth")]
            if line.startswith("rpt"):
                inner = place > 0 if side == "left" else place + 1 < len(bars)
                measure.set(side, "rptboth" if len(stays) > 1 else f"rpt{stays[0]}" if stays else "dbl" if inner else "single")
    for ending in list(made.iter(MEI + "ending")):
        if bars[measures.index(next(ending.iter(MEI + "measure")))].volta is None:
            _unwrap(ending)


def _unwrap(element: Any) -> None:
    """Put what is in an element in its place."""
    for child in list(element):
        element.addprevious(child)
    element.getparent().remove(element)


def _keep_staves(made: Any, names: Mapping[str, str]) -> None:
    """Leave some staves; ``names`` are their new numbers."""
    if all(each.get("n") in names for each in made.iter(MEI + "staffDef")):
        return
    for definition in list(made.iter(MEI + "staffDef")):
        if definition.get("n") in names:
            definition.set("n", names[definition.get("n")])
        else:
            definition.getparent().remove(definition)
    for group in list(made.iter(MEI + "staffGrp")):
        count = sum(1 for _ in group.iter(MEI + "staffDef"))
        for needless in [*group.findall(MEI + "grpSym")][: count < 2]:
            group.remove(needless)
        if not count:
            group.getparent().remove(group)
    own_loudness = any(each.get("staff") in names for each in made.iter(*LOUD))
    for measure in made.iter(MEI + "measure"):
        _keep_voices(measure, names)
        for event in [each for each in measure if each.get("staff")]:
            _keep_event(event, names, own_loudness)
    there = {f"#{each.get(XML_ID)}" for layer in made.iter(MEI + "layer") for each in layer.iter()}
    for event in [each for measure in made.iter(MEI + "measure") for each in measure]:
        if not {event.get(end) for end in ("startid", "endid") if event.get(end)} <= there:
            event.getparent().remove(event)


def _keep_event(event: Any, names: Mapping[str, str], own_loudness: bool) -> None:
    """Count the staves of an event anew; one of other staves is gone, unless it holds for both hands."""
    told = event.get("staff").split()
    own = [names[staff] for staff in told if staff in names]
    if own:
        event.set("staff", " ".join(own))
    elif event.tag in FOR_BOTH or (event.tag in LOUD and not own_loudness):
        event.set("staff", "1")
        if event.tag in LOUD:
            event.set("place", "above" if int(told[0]) < min(map(int, names)) else "below")
    else:
        event.getparent().remove(event)


def _keep_voices(measure: Any, names: Mapping[str, str]) -> None:
    """Leave in a bar the voices of some staves, and of a voice that crosses what stands on them."""
    staves = {staff.get("n"): staff for staff in measure.iterchildren(MEI + "staff")}
    for home, staff in staves.items():
        for layer in [each for each in staff if each.xpath(".//@staff")]:
            for other in {each.get("staff") for each in layer.iter(etree.Element)} & names.keys() & staves.keys() - {home}:
                twin = copy.deepcopy(layer)
                twin.set("n", str(len(staves[other]) + 5))
                staves[other].append(twin)
                _silence(twin, home, other)
            _silence(layer, home, home)
    for home, staff in staves.items():
        staff.set("n", names.get(home, ""))
        if home not in names:
            measure.remove(staff)
        elif not len(staff):
            etree.SubElement(etree.SubElement(staff, MEI + "layer", n="1"), MEI + "mRest")


def _silence(layer: Any, home: str, kept: str) -> None:
    """Make room without ink of what a voice has on other staves than one; ``home`` is the staff of what names none."""
    for note in [each for each in layer.iter(MEI + "note") if tag(each.getparent()) == "chord"]:
        if (note.get("staff") or note.getparent().get("staff") or home) != kept:
            note.getparent().remove(note)
    units = list(layer.iter(*(MEI + name for name in ("note", "rest", "chord", "bTrem", "fTrem", "clef"))))
    for unit in [each for each in units if tag(each.getparent()) not in ("chord", "bTrem", "fTrem")]:
        inner = list(unit.iter(MEI + "note", MEI + "rest", MEI + "clef"))
        if inner and all(tag(each.getparent()) == "chord" or (each.get("staff") or home) == kept for each in inner):
            continue
        lasting = next(each for each in unit.iter(etree.Element) if each.get("dur") or each is unit)
        room = etree.Element(MEI + "space", {name: lasting.get(name) for name in ("dur", "dots", "dur.ppq") if lasting.get(name)})
        if tag(unit) != "clef" and not unit.get("grace"):
            unit.addprevious(room)
        unit.getparent().remove(unit)
    for each in layer.iter(etree.Element):
        each.attrib.pop("staff", None)
    for tuplet in [each for each in layer.iter(MEI + "tuplet") if not _sounding(each)]:
        tuplet.attrib.update({"num.visible": "false", "bracket.visible": "false"})
    for group in [each for each in layer.iter(MEI + "beam", MEI + "graceGrp") if len(_sounding(each)) < 2]:
        _unwrap(group)
