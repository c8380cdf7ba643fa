"""The engraver killed, hanging, missing, or answering nonsense: exit 69, one line, and the marked MusicXML is there.

The engraver's library is put out of the way by a module of its name earlier on the path; the program around it is the real one.
"""

from __future__ import annotations

from pathlib import Path

from robustness.jobs import job, run_jobs
from robustness.pieces import PLAIN

from annotator.musicxml.record import take_out
from annotator.reading import load

TOOLKIT = """
LOG_OFF = 0
def enableLog(_level): pass
class toolkit:
    def setOptions(self, _options): pass
    def loadData(self, text):
        self.text = text
        return {loads}
    def getMEI(self): return {mei}
    def renderToSVG(self, page): return {svg}
    def getPageCount(self): return {pages}
"""
EMPTY_MEI = '<mei xmlns="http://www.music-encoding.org/ns/mei"/>'
EMPTY_SVG = '<svg xmlns="http://www.w3.org/2000/svg"/>'


def toolkit(loads: str = "True", mei: str = EMPTY_MEI, svg: str = EMPTY_SVG, pages: int = 1) -> str:
    """Return a library whose toolkit answers like this."""
    return TOOLKIT.format(loads=loads, mei=repr(mei), svg=repr(svg), pages=pages)


BROKEN = {
    "missing": "raise ModuleNotFoundError(\"No module named 'verovio'\", name='verovio')",
    "killed": "import os, signal; os.kill(os.getpid(), signal.SIGKILL)",
    "aborted": "import os; os.abort()",
    "divided by zero": "import os, signal; os.kill(os.getpid(), signal.SIGFPE)",
    "hanging": "import time; time.sleep(60)",
    "greedy": "x = bytearray(8 << 30)",
    "raising": "raise RuntimeError('no fonts')",
    "silent": "import os; os._exit(0)",
    "garbage": "import os, sys; sys.stdout.write('\\x00garbage'); sys.stdout.flush(); os._exit(0)",
    "other json": "import os, sys; sys.stdout.write('[1, 2]'); sys.stdout.flush(); os._exit(0)",
    "ok without more": "import os, sys; sys.stdout.write('{\"ok\": true}'); sys.stdout.flush(); os._exit(0)",
    "odd kinds": "import os, sys; sys.stdout.write('{\"ok\": true, \"mei\": 3, \"strip\": [1]}'); sys.stdout.flush(); os._exit(0)",
    "not loading": toolkit(loads="False"),
    "empty": toolkit(mei="", svg=""),
    "no xml": toolkit(mei="no xml", svg="no xml"),
    "empty elements": toolkit(),
    "other elements": toolkit(mei="<a/>", svg="<b/>"),
    "no pages": toolkit(pages=0),
    "entities": toolkit(mei='<!DOCTYPE a [<!ENTITY x SYSTEM "file:///etc/passwd">]><a>&x;</a>'),
}


def test_whatever_the_engraver_does_the_marked_score_is_there(tmp_path: Path) -> None:
    jobs = []
    for number, source in enumerate(BROKEN.values()):
        folder = tmp_path / str(number)
        (folder / "library").mkdir(parents=True)
        (folder / "library" / "verovio.py").write_text(source)
        (folder / "x.musicxml").write_bytes(PLAIN)
        jobs.append(
            job(folder, "mark", "x.musicxml", "--out", "out", environment={"PYTHONPATH": str(folder / "library")}, patience=0.5)
        )
    for name, order, result in zip(BROKEN, jobs, run_jobs(jobs), strict=True):
        out = Path(order["folder"]) / "out"
        assert [path.name for path in out.iterdir()] == ["x-marked.musicxml"], (name, result)
        copy = load(out / "x-marked.musicxml")
        assert take_out(copy).data == load(PLAIN).data != copy.data, name
        assert result["code"] == 69 and len(result["stderr"].splitlines()) == 1, (name, result)
        assert "engraver" in result["stderr"] or "not installed" in result["stderr"], (name, result)


def test_where_it_is_missing_the_line_says_what_to_install(tmp_path: Path) -> None:
    (tmp_path / "verovio.py").write_text(BROKEN["missing"])
    (tmp_path / "x.musicxml").write_bytes(PLAIN)
    (result,) = run_jobs([job(tmp_path, "mark", "x.musicxml", environment={"PYTHONPATH": str(tmp_path)})])
    assert result["code"] == 69 and "pip install verovio" in result["stderr"]
