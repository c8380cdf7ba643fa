"""Files in other formats that are damaged, lie, or mean harm, and seeded damage to good ones."""

from __future__ import annotations

import gzip
import random

from formats.sources import ABC, KERN, MEI, MIDI, TUNE, midi
from robustness.pieces import Case
from robustness.refused_files import archive

GOOD = {"abc": ABC.encode(), "krn": KERN.encode(), "mei": MEI.encode(), "mid": MIDI}


def foreign(canary: str) -> list[Case]:
    """Return files in other formats; ``canary`` is the path of a file that nobody may read."""
    mei = MEI.encode()
    entity = mei.replace(b"<mei ", f'<!DOCTYPE mei [<!ENTITY c SYSTEM "file://{canary}">]><mei '.encode()).replace(b"Sketch", b"&c;")
    bad = {
        "abc-without-music": (b"X:1\nT:nothing\nK:C\n", ".abc"),
        "abc-endless-note": (b"X:1\nL:1/1\nK:C\nC999999999|\n", ".abc"),
        "abc-overlay": (b"X:1\nK:C\ncdef & CDEF |\n", ".abc"),
        "abc-only-rests": (b"X:1\nM:4/4\nK:C\n", ".abc"),
        "kern-cut-in-a-line": (KERN[: KERN.index("2b") - 3].encode() + b"\t\t\t\t\t4", ".krn"),
        "kern-nonsense": (b"**kern\nxyzzy\n0000000000000000000000%\n*-\n", ".krn"),
        "kern-only-dynamics": (b"**dynam\nf\n*-\n", ".krn"),
        "mei-cut": (mei[: len(mei) // 2], ".mei"),
        "mei-empty": (b'<mei xmlns="http://www.music-encoding.org/ns/mei"/>', ".mei"),
        "mei-entity": (entity, ".mei"),
        "midi-head-only": (MIDI[:14], ".mid"),
        "midi-cut": (MIDI[:-40], ".mid"),
        "midi-lies-about-its-size": (MIDI.replace(b"MTrk\0\0", b"MTrk\0\xff"), ".mid"),
        "midi-no-notes": (midi([]), ".mid"),
        "midi-of-seconds": (midi(TUNE, division=0xE728), ".mid"),
        "midi-endless": (midi([(0, 200_000_000, 60)]), ".mid"),
        "midi-of-percussion": (midi(TUNE).replace(b"\x90", b"\x99"), ".mid"),
        "gzip-bomb": (gzip.compress(b" " * 200_000_000), ".abc.gz"),
        "gzip-cut": (gzip.compress(KERN.encode())[:-12], ".krn.gz"),
        "gzip-of-text": (gzip.compress(b"Dear pianist"), ".gz"),
        "zip-of-two": (archive({"a.abc": ABC.encode(), "b.abc": ABC.encode()}), ".zip"),
        "zip-climbing": (archive({"../a.abc": ABC.encode()}), ".zip"),
        "large": (MIDI + b"\0" * (5 << 20), ".mid"),
    }
    good = {
        "abc": (ABC.encode(), ".abc"),
        "abc-named-musicxml": (ABC.encode(), ".musicxml"),
        "kern": (KERN.encode(), ".krn"),
        "mei-utf-16": (MEI.replace("UTF-8", "UTF-16").encode("utf-16"), ".mei"),
        "midi": (MIDI, ".mid"),
        "kern-with-a-canary": (KERN.replace("!!!OTL: Sketch", f"!!!OTL: <!ENTITY c SYSTEM 'file://{canary}'> &c;").encode(), ".krn"),
        "zip-of-one": (archive({"a.krn": KERN.encode(), "about.txt": b"by hand"}), ".zip"),
    }
    return [
        *(Case(f"foreign-{name}", data, 65, suffix=suffix) for name, (data, suffix) in bad.items()),
        *(Case(f"foreign-{name}", data, 0, "converted from", suffix=suffix) for name, (data, suffix) in good.items()),
    ]


def damaged(chance: random.Random) -> bytes:
    """Return a good source, one to six of its bytes changed, dropped or doubled."""
    data = bytearray(GOOD[chance.choice(sorted(GOOD))])
    for _ in range(chance.randint(1, 6)):
        at = chance.randrange(len(data))
        kind = chance.randrange(4)
        if kind == 0:
            data[at] = chance.randrange(256)
        elif kind == 1:
            data[at] = chance.choice(b"0123456789[](){}<>|:=*^_-\t\n ")
        elif kind == 2:
            del data[at : at + chance.randint(1, 12)]
        else:
            data[at:at] = data[at : at + chance.randint(1, 30)]
    return bytes(data)
