"""Small sources in other formats, written here."""

from __future__ import annotations

ABC = """X:1
T:Sketch for two hands
C:our own
M:4/4
L:1/8
Q:1/4=100
%%score {1 2}
V:1 clef=treble
V:2 clef=bass
K:G
[V:1] GABc defg | gfed cBAG | [GB]2 (3def "D7"!p!g2>a2 | "G"d8 |] % the end
[V:2] G,D,B,,D, G,D,B,,D, | G,4 D,4 | Z | [G,,D,G,]8 |]
"""
KERN = """!!!COM: our own
!!!OTL: Sketch
**kern\t**kern
*staff2\t*staff1
*clefF4\t*clefG2
*k[f#]\t*k[f#]
*M4/4\t*M4/4
=1\t=1
*\t*^
4G 4B\t8g\t2b
.\t8a\t.
4G\t4b\t.
*\t*v\t*v
2D\t[2d
=2\t=2
1GG\t1d]
==\t==
*-\t*-
"""
MEI = """<?xml version="1.0" encoding="UTF-8"?>
<mei xmlns="http://www.music-encoding.org/ns/mei" meiversion="4.0.0"><meiHead><fileDesc><titleStmt><title>Sketch</title></titleStmt>
<pubStmt/></fileDesc></meiHead><music><body><mdiv><score><scoreDef meter.count="4" meter.unit="4" key.sig="1s">
<staffGrp symbol="brace"><staffDef n="1" lines="5" clef.shape="G" clef.line="2"/><staffDef n="2" lines="5" clef.shape="F" clef.line="4"/>
</staffGrp></scoreDef><section><measure n="1">
<staff n="1"><layer n="1"><note pname="g" oct="4" dur="4"/><note pname="a" oct="4" dur="4"/><note pname="b" oct="4" dur="4"/>
<note pname="c" oct="5" dur="4" tie="i"/></layer></staff>
<staff n="2"><layer n="1"><chord dur="1"><note pname="g" oct="2"/><note pname="d" oct="3"/></chord></layer></staff></measure>
<measure n="2" right="end"><staff n="1"><layer n="1"><note pname="c" oct="5" dur="1" tie="t"/></layer></staff>
<staff n="2"><layer n="1"><note pname="f" oct="2" dur="1" accid.ges="s"/></layer></staff></measure></section></score></mdiv></body></music>
</mei>
"""


def number(value: int) -> bytes:
    """Return a number of variable length."""
    data = [value & 0x7F]
    while value := value >> 7:
        data.insert(0, value & 0x7F | 0x80)
    return bytes(data)


def midi(*tracks: list[tuple[int, int, int]], head: bytes = b"", division: int = 480) -> bytes:
    """Return a MIDI file; a track is a list of (onset, end, key) in ticks, ``head`` goes before the events of the first."""
    chunks = []
    for place, notes in enumerate(tracks):
        events = sorted([(end, 0x80, key) for _, end, key in notes] + [(onset, 0x90, key) for onset, _, key in notes])
        now, data = 0, bytearray(head if place == 0 else b"")
        for at, status, key in events:
            data += number(at - now) + bytes([status, key, 80])
            now = at
        data += b"\x00\xff\x2f\x00"
        chunks.append(b"MTrk" + len(data).to_bytes(4, "big") + data)
    return b"MThd\x00\x00\x00\x06\x00\x01" + len(tracks).to_bytes(2, "big") + division.to_bytes(2, "big") + b"".join(chunks)


ALBERTI = [(480 * beat, 480 * beat + 460, key) for beat, key in enumerate([48, 55, 52, 55, 48, 55, 52, 55])]
TUNE = [(240 * step, 240 * step + 230, key) for step, key in enumerate([72, 74, 76, 77, 79, 81, 83, 84, 83, 81, 79, 77, 76, 74, 73, 72])]
MIDI = midi(sorted(ALBERTI + TUNE))
