"""Scores that are MusicXML, well-formed, and odd: times, bars, staves, pitches, parts, signs. All of them can be marked.

Where the engraver cannot draw a score the marked MusicXML is there all the same, and the exit code is 69.
"""
# ruff: noqa: E501 - one case a line

from __future__ import annotations

from robustness.pieces import (
    ALBERTI,
    BOTH,
    GRAND,
    KEY,
    LEFT,
    PLAIN,
    RIGHT,
    RUN,
    SINGLE,
    TIME,
    Case,
    back,
    bar,
    first,
    note,
    notes,
    piano,
    score,
)  # fmt: skip

PIANO = ("Piano", first() + bar(number="99"))


def timed(time: str) -> bytes:
    """Return the piece under another ``<time>``."""
    return PLAIN.replace(TIME.encode(), time.encode())


def staved(staves: str) -> bytes:
    """Return the piece with another ``<staves>``."""
    return PLAIN.replace(b"<staves>2</staves>", staves.encode())


def divided(divisions: str) -> bytes:
    """Return the piece with other ``<divisions>``."""
    return PLAIN.replace(b"<divisions>2</divisions>", divisions.encode())


def times() -> list[Case]:
    """Return time signatures of every sort; the engraver is not given those that kill it."""
    drawn = {
        "senza-misura": "<time><senza-misura/></time>",
        "composite": "<time><beats>3+5</beats><beat-type>8</beat-type></time>",
        "two-pairs": "<time><beats>3</beats><beat-type>8</beat-type><beats>5</beats><beat-type>8</beat-type></time>",
        "none": "",
        "sixty-fourths": "<time><beats>64</beats><beat-type>64</beat-type></time>",
        "hidden": TIME.replace("<time>", '<time print-object="no">'),
        "interchangeable": TIME.replace("</time>", "<interchangeable><beats>2</beats><beat-type>2</beat-type></interchangeable></time>"),
        "beats-0": "<time><beats>0</beats><beat-type>4</beat-type></time>",
        "beats-x": "<time><beats>x</beats><beat-type>4</beat-type></time>",
        "beats-huge": f"<time><beats>{'9' * 30}</beats><beat-type>4</beat-type></time>",
    }
    deadly = {
        "type-0": "<time><beats>4</beats><beat-type>0</beat-type></time>",
        "type-x": "<time><beats>4</beats><beat-type>x</beat-type></time>",
        "type-missing": "<time><beats>4</beats></time>",
        "type-3": "<time><beats>4</beats><beat-type>3</beat-type></time>",
        "type-256": "<time><beats>4</beats><beat-type>256</beat-type></time>",
    }
    return [
        *(Case(f"time-{name}", timed(time), 0, music=True) for name, time in drawn.items()),
        Case("time-senza-misura-words", timed("<time><senza-misura>X</senza-misura></time>"), 0, music=True),
        *(Case(f"time-{name}", timed(time), 69, "engrave", music=True) for name, time in deadly.items()),
    ]


def bars() -> list[Case]:
    """Return bars that do not add up, numbered oddly, repeated, split."""
    over, under = notes(RUN) + notes(RUN[:3]), notes(RUN[:5])
    repeat = '<barline location="right"><bar-style>light-heavy</bar-style><ending number="1" type="stop"/><repeat direction="backward"/></barline>'
    volta = '<barline location="left"><ending number="1" type="start"/></barline>'
    second = '<barline location="left"><ending number="2" type="start"/></barline>'
    tuplet = "<time-modification><actual-notes>{}</actual-notes><normal-notes>2</normal-notes></time-modification>"
    triplets = "".join(note(name, "2", after=tuplet.format(3)) for name in RUN[:6])
    nested = "".join(note(name, "0.5333", after=tuplet.format("15")) for name in RUN[:5])
    odd = {
        "overfull": bar(over + back(11) + LEFT),
        "underfull": bar(under + back(5) + LEFT),
        "backup-past-the-start": bar(RIGHT + back(800) + LEFT),
        "backup-zero": bar(back(0) + BOTH),
        "backup-empty": bar("<backup/>" + BOTH),
        "backup-words": bar(back("x") + BOTH),
        "forward-huge": bar(BOTH + f"<forward><duration>{'9' * 20}</duration></forward>"),
        "duration-negative": bar(note("C5", "-3") + BOTH),
        "duration-huge": bar(note("C5", "400000000000") + BOTH),
        "duration-missing": bar(note("C5", None) + BOTH),
        "duration-nan": bar(note("C5", "NaN") + BOTH),
        "duration-fraction": bar(note("C5", "1/2") + BOTH),
        "number-6a": bar(number="6a"),
        "number-x1": bar(number="X1", more=' implicit="yes"'),
        "number-empty": bar(number=""),
        "number-none": bar(number=None),
        "number-twice": bar(number="1"),
        "empty": bar(""),
        "only-attributes": bar("", "<divisions>2</divisions>"),
        "voltas": bar(volta + BOTH + repeat, number="2") + bar(second + BOTH, number="3"),
        "repeat-alone": bar('<barline location="left"><repeat direction="backward"/></barline>' + BOTH),
        "rests": bar("<note><rest measure=\"yes\"/><duration>8</duration><voice>1</voice></note>"),
        "many-rests": bar("<note><rest measure=\"yes\"/><duration>8</duration></note>", "<measure-style><multiple-rest>3</multiple-rest></measure-style>")
        + bar("<note><rest measure=\"yes\"/><duration>8</duration></note>", number="3") * 2,
        "triplets": bar(triplets + back() + LEFT),
        "nested-tuplets": bar(nested + BOTH),
        "double-dots": bar(note("C5", "7", kind="half", after="<dot/><dot/>") + note("D5") + back() + LEFT),
        "divisions-change": bar(notes(RUN, duration="6") + back(48) + notes(ALBERTI, duration="6", voice="5", staff="2"), "<divisions>12</divisions>")
        + bar(BOTH, "<divisions>2</divisions>", "3"),
        "key-in-mid-bar": bar(notes(RUN[:4]) + "<attributes><key><fifths>-3</fifths></key></attributes>" + notes(RUN[4:]) + back() + LEFT),
        "clef-in-mid-bar": bar(notes(RUN[:4]) + '<attributes><clef number="1"><sign>F</sign><line>4</line></clef></attributes>' + notes(RUN[4:])),
    }  # fmt: skip
    pickup = score(("Piano", bar(note("G4") + back(1) + note("rest", staff="2", voice="5"), GRAND, "0", ' implicit="yes"') + bar() + bar()))
    whole = {
        "pickup": pickup,
        "divisions-missing": divided(""),
        "divisions-0": divided("<divisions>0</divisions>"),
        "divisions-negative": divided("<divisions>-2</divisions>"),
        "divisions-huge": divided("<divisions>99999999</divisions>"),
        "divisions-x": divided("<divisions>x</divisions>"),
        "key-huge": PLAIN.replace(KEY.encode(), b"<key><fifths>99</fifths></key>"),
        "key-own": PLAIN.replace(KEY.encode(), b"<key><key-step>F</key-step><key-alter>1</key-alter></key>"),
        "key-x": PLAIN.replace(KEY.encode(), b"<key><fifths>x</fifths><mode>none</mode></key>"),
    }
    rows = [*((name, piano(inside)) for name, inside in odd.items()), *whole.items()]
    return [Case(f"bar-{name}", data, 0, music=True) for name, data in rows]


def staves_and_pitches() -> list[Case]:
    """Return odd staves, pitches and note heads."""
    chord = "".join(note(name, first="<chord/>" if place else "") for place, name in enumerate(("C5", "E5", "G5", "C6")))
    odd = {
        "staff-9": bar(RIGHT + back() + notes(ALBERTI, voice="5", staff="9")),
        "staff-x": bar(RIGHT + back() + notes(ALBERTI, voice="5", staff="x")),
        "voice-words": bar(notes(RUN, voice="upper one") + back() + LEFT),
        "quarter-tones": bar(notes(RUN).replace("<octave>", "<alter>0.5</alter><octave>") + back() + LEFT),
        "alter-7": bar(notes(RUN).replace("<octave>", "<alter>7</alter><octave>") + back() + LEFT),
        "step-h": bar(RIGHT.replace("<step>B", "<step>H") + back() + LEFT),
        "octave-99": bar(RIGHT.replace("<octave>5", "<octave>99") + back() + LEFT),
        "octave-negative": bar(RIGHT.replace("<octave>5", "<octave>-1") + back() + LEFT),
        "ids-twice": bar(notes(RUN, attributes=' id="twice"') + back() + notes(ALBERTI, voice="5", staff="2", attributes=' id="twice"')),
        "ids-odd": bar(notes(RUN, attributes=' id="9 &lt;&quot;\' é"') + back() + LEFT),
        "grace": bar(note("B4", None, first='<grace slash="yes"/>') + BOTH),
        "grace-last": bar(BOTH + note("B4", None, first="<grace/>", staff="2", voice="5")),
        "cue": bar(notes(RUN, first="<cue/>") + back() + LEFT),
        "hidden": bar(notes(RUN, attributes=' print-object="no"') + back() + LEFT),
        "unpitched": bar(RIGHT.replace("<pitch><step>E</step><octave>5</octave></pitch>", "<unpitched><display-step>E</display-step><display-octave>4</display-octave></unpitched>") + back() + LEFT),
        "chord-first": bar(note("C5", first="<chord/>") + BOTH),
        "chords": bar(chord * 2 + back(2) + LEFT),
        "cross-staff": bar(notes(RUN[:4]) + notes(RUN[4:], staff="2") + back() + LEFT),
        "cross-beams": bar(notes(RUN[:2], last="<beam number=\"1\">begin</beam>") + notes(RUN[2:], staff="2") + back() + LEFT),
        "tie-to-nowhere": bar(notes(RUN, after='<!-- x --><?y z?>').replace("</duration>", '</duration><tie type="start"/>', 3) + back() + LEFT),
        "tremolo": bar(note("C5", "8", kind="whole", last='<notations><ornaments><tremolo type="single">3</tremolo></ornaments></notations>') + back() + LEFT),
        "arpeggiate": bar(chord.replace("</note>", "<notations><arpeggiate/></notations></note>") + note("D5") + back(2) + LEFT),
        "own-marks": bar('<direction><direction-type><bracket number="1" type="start" line-end="none"/></direction-type></direction>'
                         + notes(RUN, attributes=' color="#FF0000"') + back() + LEFT
                         + '<direction><direction-type><bracket number="1" type="stop" line-end="none"/></direction-type></direction>'),
        "ottava": bar('<direction><direction-type><octave-shift type="down" size="8" number="1"/></direction-type><staff>1</staff></direction>'
                      + RIGHT + '<direction><direction-type><octave-shift type="stop" size="8" number="1"/></direction-type></direction>' + back() + LEFT),
        "harmony": bar('<harmony><function>free text here</function><kind text="?">other</kind></harmony>' + BOTH),
        "lyrics": bar(notes(RUN, last="<lyric><syllabic>single</syllabic><text>é ß 日 &amp; &lt;b&gt;</text></lyric>") + back() + LEFT),
        "cdata": bar(RIGHT.replace("<octave>5</octave>", "<octave><![CDATA[5]]></octave>") + back() + LEFT),
        "unknown-elements": bar("<future><thing/></future>" + BOTH.replace("<voice>", "<shape-of-note>x</shape-of-note><voice>")),
    }  # fmt: skip
    grand = {
        "staves-1": staved("<staves>1</staves>"),
        "staves-3": staved("<staves>3</staves>"),
        "staves-4": staved("<staves>4</staves>"),
        "staves-missing": staved(""),
    }
    deadly = {"staves-0": "<staves>0</staves>", "staves-huge": "<staves>99999999</staves>", "staves-x": "<staves>x</staves>"}
    good = [*((n, piano(b)) for n, b in odd.items()), *grand.items()]
    return [
        *(Case(f"note-{name}", data, 0, music=True) for name, data in good),
        *(Case(f"note-{name}", staved(staves), 69, "staves", music=True) for name, staves in deadly.items()),
    ]


def parts() -> list[Case]:
    """Return scores of several parts: figures stand on keyboard parts only."""
    tune = bar(RIGHT, SINGLE, "1") + bar(RIGHT, number="99")
    low = bar(notes(ALBERTI), SINGLE, "1") + bar(notes(ALBERTI), number="99")
    tablature = SINGLE.replace("<sign>G</sign><line>2</line>", "<sign>TAB</sign><line>5</line>")
    drums = SINGLE.replace("<sign>G</sign><line>2</line>", "<sign>percussion</sign>")
    horn = SINGLE + "<transpose><diatonic>-4</diatonic><chromatic>-7</chromatic></transpose>"
    rows = {
        "voice-and-piano": (score(("Voice", tune), PIANO), ("P1",)),
        "two-pianos": (score(PIANO, PIANO), ()),
        "four-hands": (score(("Primo", PIANO[1]), ("Secondo", PIANO[1])), ()),
        "two-staves-apart": (score(("", tune), ("", low)), ()),
        "two-hands-apart": (score(("Piano right hand", tune), ("Piano left hand", low)), ()),
        "horn-and-piano": (score(("Horn in F", tune.replace(SINGLE, horn)), PIANO), ("P1",)),
        "clarinet-alone": (score(("Clarinet", tune.replace(SINGLE, horn))), ()),
        "guitar": (score(("Guitar", tune.replace(SINGLE, tablature)), PIANO), ("P1",)),
        "drums": (score(("Drums", tune.replace(SINGLE, drums)), PIANO), ("P1",)),
        "longer-than-the-other": (score(("Voice", tune + bar(RIGHT, number="3")), PIANO), ("P1",)),
        "part-not-listed": (score(PIANO, PIANO).replace(b'<score-part id="P2"><part-name>Piano</part-name></score-part>', b""), ()),
        "unnamed": (score(("", PIANO[1])), ()),
    }
    alone = "<note><rest/><duration>8</duration></note>"
    nothing = {
        "strings": score(("Violin", tune), ("Violoncello", low)),
        "tablature-alone": score(("Guitar", tune.replace(SINGLE, tablature))),
        "percussion-alone": score(("Drums", tune.replace(SINGLE, drums))),
        "only-rests": score(("Piano", first(alone, GRAND))),
        "without-bars": score(("Piano", "")),
    }
    return [
        *(
            Case(f"part-{name}", data, 0, music=True, silent=silent, figures=True)
            for name, (data, silent) in rows.items()
        ),
        *(Case(f"part-{name}", data, 65, "--parts") for name, data in nothing.items()),
    ]


def shapes() -> list[Case]:
    """Return the same piece in other shapes of file: all of them give its figures."""
    opening = '<?xml version="1.0" encoding="{}"?>'
    text = PLAIN.decode().split("?>", 1)[1]
    old = '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML {0} Partwise//EN" "http://www.musicxml.org/dtds/partwise.dtd">'
    timewise = (
        '<score-timewise version="4.0"><part-list><score-part id="P1"><part-name>Piano</part-name></score-part></part-list>'
        f'<measure number="1"><part id="P1"><attributes>{GRAND}</attributes>{BOTH}</part></measure>'
        f'<measure number="2"><part id="P1">{BOTH}</part></measure></score-timewise>'
    ).encode()
    rows = {
        "timewise": timewise,
        **{f"version-{number}": (old.format(number) + text.replace("4.0", number)).encode() for number in ("1.0", "2.0", "3.1")},
        "no-declaration": text.encode(),
        "utf-8-mark": b"\xef\xbb\xbf" + PLAIN,
        "utf-16": (opening.format("UTF-16") + text).encode("utf-16"),
        "utf-16-be": (opening.format("UTF-16") + text).encode("utf-16-be"),
        "latin-1": (opening.format("ISO-8859-1") + text.replace(">Piano", ">Piano é")).encode("latin-1"),
        "windows": PLAIN.replace(b"><note", b">\r\n<note"),
        "mixed-line-ends": PLAIN.replace(b"><note", b">\r<note", 5).replace(b"><backup", b">\r\n<backup").replace(b"><pitch", b">\n<pitch"),
        "tail": PLAIN + b"<!-- made at night --><?later yes?>\n\n",
    }
    return [Case(f"shape-{name}", data, 0, music=True, figures=True) for name, data in rows.items()]


def all_of_it() -> list[Case]:
    """Return every odd score."""
    return [*times(), *bars(), *staves_and_pitches(), *parts(), *shapes()]


