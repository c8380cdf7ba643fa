"""Files that are no score, are damaged, or mean harm: forms, encodings, entities, archives, sizes."""
# ruff: noqa: E501 - one case a line

from __future__ import annotations

import io
import zipfile

from robustness.pieces import BOTH, GRAND, PLAIN, Case, bar, first, note, piano, score

CANARY = "canary-5d1f0c"
"""What stands in the file that no output may ever hold."""

TEXT = PLAIN.decode()
BODY = TEXT.split("?>", 1)[1]


def with_prolog(doctype: str, title: str = "") -> bytes:
    """Return the plain piece behind a document type, with a title."""
    named = f"<movement-title>{title}</movement-title>" if title else ""
    return ('<?xml version="1.0" encoding="UTF-8"?>' + doctype + BODY.replace("<part-list>", named + "<part-list>", 1)).encode()


def archive(entries: dict[str, bytes], stored: bool = False) -> bytes:
    """Return an archive."""
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w", zipfile.ZIP_STORED if stored else zipfile.ZIP_DEFLATED) as packed:
        for name, content in entries.items():
            packed.writestr(name, content)
    return data.getvalue()


def container(path: str) -> bytes:
    """Return the table of contents of an archive that names a path."""
    return f'<container><rootfiles><rootfile full-path="{path}"/></rootfiles></container>'.encode()


def mxl(path: str, **entries: bytes) -> bytes:
    """Return an archive whose score is said to be at a path."""
    return archive({"META-INF/container.xml": container(path), **entries})


def forms() -> list[Case]:
    """Return files that are no well-formed MusicXML."""
    deep = b"<score-partwise>" + b"<a>" * 100_000 + b"</a>" * 100_000 + b"</score-partwise>"
    bad = {
        "empty": b"",
        "blanks": b"  \n\t ",
        "text": b"Dear pianist, this is no score.",
        "html": b"<!DOCTYPE html><html><body><p>not here</p></body></html>",
        "json": b'{"score": []}',
        "pdf": b"%PDF-1.7\n1 0 obj<<>>endobj\n%%EOF",
        "picture": b"\x89PNG\r\n\x1a\n" + bytes(range(256)),
        "midi": b"MThd\x00\x00\x00\x06\x00\x01\x00\x02\x01\xe0",
        "cut": PLAIN[: len(PLAIN) // 2],
        "cut-in-a-tag": PLAIN[:-8],
        "nul": PLAIN.replace(b"<step>C", b"<step>\0C", 1),
        "tags-crossed": PLAIN.replace(b"</pitch>", b"</note>", 1),
        "two-roots": PLAIN + PLAIN.split(b"?>", 1)[1],
        "bare-ampersand": PLAIN.replace(b"Piano", b"Piano & co", 1),
        "namespaced": PLAIN.replace(b"<score-partwise", b'<score-partwise xmlns="http://example.org/x"', 1),
        "opus": b'<opus xmlns:xlink="http://www.w3.org/1999/xlink"><score xlink:href="a.xml"/></opus>',
        "other-root": b"<mei/>",
        "deep": deep,
        "many-attributes": b"<score-partwise " + b" ".join(b'a%d="1"' % n for n in range(200_000)) + b"/>",
        "long-text": PLAIN.replace(b"Piano", b"x" * 11_000_000, 1),
        "latin-1-undeclared": PLAIN.replace(b"Piano", "Flügel".encode("latin-1"), 1),
        "unknown-encoding": PLAIN.replace(b"UTF-8", b"UTF-99", 1),
        "no-part": b'<score-partwise version="4.0"><part-list/></score-partwise>',
    }
    return [Case(f"form-{name}", data, 65) for name, data in bad.items()]


def entities(canary: str, port: int) -> list[Case]:
    """Return files that reach for another file or for the network; ``canary`` is a path, ``port`` one that is listened to."""
    remote = f"http://127.0.0.1:{port}/x"
    laughs = "".join(f'<!ENTITY l{n} "{f"&l{n - 1};" * 10}">' for n in range(1, 12))
    bad = {
        "file": with_prolog(f'<!DOCTYPE s [<!ENTITY c SYSTEM "file://{canary}">]>', "&c;"),
        "plain-path": with_prolog(f'<!DOCTYPE s [<!ENTITY c SYSTEM "{canary}">]>', "&c;"),
        "http": with_prolog(f'<!DOCTYPE s [<!ENTITY c SYSTEM "{remote}">]>', "&c;"),
        "laughs": with_prolog(f'<!DOCTYPE s [<!ENTITY l0 "ha">{laughs}]>', "&l11;"),
        "quadratic": with_prolog(f'<!DOCTYPE s [<!ENTITY a "{"a" * 50_000}">]>', "&a;" * 10_000),
        "internal": with_prolog('<!DOCTYPE s [<!ENTITY t "Nocturne">]>', "&t;"),
        "undeclared": with_prolog("", "&eacute;"),
        "parameter": with_prolog(f'<!DOCTYPE s [<!ENTITY % p SYSTEM "file://{canary}"> %p;]>'),
        "in-attribute": with_prolog('<!DOCTYPE s [<!ENTITY v "4.0">]>').replace(b'version="4.0"', b'version="&v;"'),
    }
    harmless = {
        "remote-dtd": with_prolog(f'<!DOCTYPE score-partwise SYSTEM "{remote}">'),
        "file-dtd": with_prolog(f'<!DOCTYPE score-partwise SYSTEM "file://{canary}">'),
        "stylesheet": with_prolog(f'<?xml-stylesheet href="{remote}" type="text/xsl"?>'),
        "include": piano(bar(f'<x:include xmlns:x="http://www.w3.org/2001/XInclude" href="{canary}" parse="text"/>' + BOTH)),
        "picture": PLAIN.replace(b"<part-list>", f'<credit><credit-image source="{canary}" type="image/svg"/></credit><part-list>'.encode()),
        "link": PLAIN.replace(
            b"<part-list>",
            f'<credit><link xmlns:xlink="http://www.w3.org/1999/xlink" xlink:href="{remote}"/></credit><part-list>'.encode(),
        ),
        "markup-in-words": with_prolog("", f"&lt;image href='file://{canary}'/&gt;&lt;script src='{remote}'/&gt;"),
    }
    return [
        *(Case(f"entity-{name}", data, 65) for name, data in bad.items()),
        *(Case(f"reach-{name}", data, 0, music=True) for name, data in harmless.items()),
    ]


def archives() -> list[Case]:
    """Return archives that are none, that lie, or that point elsewhere."""
    bad = {
        "no-archive": b"PK\x03\x04" + b"\xff" * 200,
        "cut": mxl("a.xml", **{"a.xml": PLAIN})[:-30],
        "without-container": archive({"readme.txt": b"no score"}),
        "missing": mxl("b.xml", **{"a.txt": PLAIN}),
        "climbing": mxl("../../canary.txt", **{"a.txt": PLAIN}),
        "absolute": mxl("/etc/passwd", **{"a.txt": PLAIN}),
        "bomb": mxl("a.xml", **{"a.xml": PLAIN + b" " * 60_000_000}),
        "nested": mxl("a.mxl", **{"a.mxl": mxl("a.xml", **{"a.xml": PLAIN})}),
        "crowd": archive({"META-INF/container.xml": container("a.xml"), "a.xml": PLAIN, **{f"{n}": b"" for n in range(2_000)}}),
        "bad-container": archive({"META-INF/container.xml": b"<container>", "a.xml": PLAIN}),
    }
    climbing = {**{"META-INF/container.xml": container("a.xml"), "a.xml": PLAIN}, "../../climbed.txt": b"climbed", "/tmp/climbed": b"climbed"}
    return [
        *(Case(f"archive-{name}", data, 65, suffix=".mxl") for name, data in bad.items()),
        Case("archive-plain", mxl("a.xml", **{"a.xml": PLAIN}), 0, suffix=".mxl", music=True, figures=True),
        Case("archive-named-xml", mxl("a.xml", **{"a.xml": PLAIN}), 0, music=True, figures=True),
        Case("archive-climbing-entries", archive(climbing), 65, "unsafe name", suffix=".mxl"),
    ]


def sizes() -> list[Case]:
    """Return scores beyond the limits, and one chord of sixty notes."""
    rest = bar("<note><rest/><duration>8</duration></note>")
    crowd = first(note("C4") * 200_001, GRAND)
    cluster = note("C4") + "".join(note(f"{step}{octave}", first="<chord/>") for octave in range(1, 9) for step in "DEFGABC")
    return [
        Case("size-notes", score(("Piano", crowd)), 65),
        Case("size-bars", score(("Piano", first() + rest * 5_001)), 65),
        Case("size-parts", score(*[("Piano", first())] * 33), 65),
        Case("size-file", PLAIN + b"<!--" + b"x" * (64 << 20) + b"-->", 65),
        Case("size-chord", piano(bar(cluster)), 0, music=True),
    ]
