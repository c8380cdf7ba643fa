"""The converter's own process: one source in on stdin, one MusicXML text out on stdout, and then it ends.

Rule
----
The converter (music21) was not made for files that mean harm, or for broken ones: some send it into hours of work or take all memory.
So it never runs in the program's own process. A job is one JSON object ``{"format": ..., "data": base64, "seconds": ..., "megabytes":
...}``; the answer is ``{"ok": true, "text": MusicXML, "hands": [[part, ...], ...], "told": [...], "struck": number or null, "by": name
and version}`` or ``{"ok": false, "why": ...}``. This process opens no socket, starts no program and writes no file: what tries to is
stopped.

Source: Python's table of audit events.
"""

from __future__ import annotations

import base64
import json
import os
import sys
import warnings
from typing import Any

from annotator.errors import AnnotatorError
from annotator.processes.bounds import limit

_STOPPED = ("socket.", "subprocess.", "os.system", "os.exec", "os.posix_spawn", "os.fork", "ftplib.", "urllib.", "webbrowser.")


def stay_inside(event: str, words: tuple[Any, ...]) -> None:
    """Stop what a conversion has no need of: the network, other programs, files written. An audit hook."""
    if event.startswith(_STOPPED):
        raise PermissionError(f"stopped: {event}")
    if event == "open" and isinstance(words[2], int) and words[2] & (os.O_WRONLY | os.O_RDWR | os.O_CREAT):
        raise PermissionError("stopped: a file opened for writing")


def answer(job: dict[str, Any]) -> dict[str, Any]:
    """Do one job."""
    warnings.simplefilter("ignore")
    import music21
    from music21.musicxml.m21ToXml import GeneralObjectExporter

    score, hands, told, struck = _read(job["format"], base64.b64decode(job["data"]))
    text = GeneralObjectExporter(score).parse().decode("utf-8")
    return {"ok": True, "text": text, "hands": hands, "told": told, "struck": struck, "by": f"music21 {music21.__version__}"}


def _read(kind: str, data: bytes) -> tuple[Any, list[list[int]], list[str], int | None]:
    """Return the converter's score and, for MIDI, one piano's staves, what there is to tell, and the notes struck."""
    if kind == "midi":
        from annotator.formats.midi_score import midi_score

        return midi_score(data)
    from music21.converter import subConverters

    reader = {"kern": subConverters.ConverterHumdrum, "abc": subConverters.ConverterABC, "mei": subConverters.ConverterMEI}[kind]()
    reader.parseData(data.decode("utf-8"))
    score = reader.stream
    inner = getattr(score, "scores", None)
    return (inner[0] if inner and not score.parts else score), [], [], None


def main() -> None:
    """Read the job, answer it."""
    said = sys.stdout.buffer
    sys.stdout = sys.stderr  # what the converter prints is no answer
    job = json.loads(sys.stdin.buffer.read())
    limit(float(job["seconds"]), int(job["megabytes"]))
    try:
        import music21  # noqa: F401 - loaded before the hook, which stops what loading may do

        sys.addaudithook(stay_inside)
        done = answer(job)
    except AnnotatorError as error:
        done = {"ok": False, "why": str(error)}
    except Exception as error:
        done = {"ok": False, "why": f"the converter gave up ({type(error).__name__}: {str(error)[:200]})"}
    said.write(json.dumps(done).encode())
    said.flush()


if __name__ == "__main__":
    main()
