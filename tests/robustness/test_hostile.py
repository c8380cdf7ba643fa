"""The program on more than a hundred hostile and odd files made here, each run in a process of its own with limits.

Each ends with its documented exit code, in time and in bounded memory, with whole lines on standard error and no traceback; nothing of
another file gets into any output, nobody is called, nothing is left but the outputs, the source is untouched. Where there is music, the
marked copy holds it unchanged, and marks stand in keyboard parts only.
"""

from __future__ import annotations

import json
import select
import socket
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from robustness import odd_music, one_by_one, refused_files
from robustness.damage import canonical
from robustness.pieces import Case

from annotator.musicxml.record import take_out
from annotator.reading import load

SECONDS = 20.0  # on the clock of a machine that has other work too
MEGABYTES = 500.0
CODES = {0, 65, 69}
DRAWN = (
    "reach-picture", "reach-include", "reach-markup-in-words", "size-chord", "time-senza-misura", "time-beats-huge", "bar-duration-huge",
    "bar-many-rests", "bar-voltas", "note-ids-odd", "note-octave-99", "part-only-rests", "part-drums", "shape-timewise",
    "shape-version-1.0",
)  # fmt: skip


@dataclass(frozen=True)
class Found:
    """How the program ended on a case, where the case's folder is, and whether pages were asked for."""

    case: Case
    folder: Path
    drawn: bool
    result: dict[str, Any]

    @property
    def lines(self) -> list[str]:
        return str(self.result["stderr"]).splitlines()


@pytest.fixture(scope="module")
def listener() -> Any:
    """Listen on a port of this machine."""
    with socket.create_server(("127.0.0.1", 0)) as server:
        yield server


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory, listener: Any) -> list[Found]:
    """Run the program on every case; of those that can be drawn only some are."""
    return run_all(tmp_path_factory.mktemp("hostile"), listener.getsockname()[1], drawn=DRAWN)


def run_all(top: Path, port: int, drawn: tuple[str, ...] | None) -> list[Found]:
    """Run the program on every case; ``drawn`` are the cases whose pages are made (None: all)."""
    canary = top / "canary.txt"
    canary.write_text(refused_files.CANARY)
    cases = [
        *refused_files.forms(),
        *refused_files.entities(str(canary), port),
        *refused_files.archives(),
        *refused_files.sizes(),
        *odd_music.all_of_it(),
    ]
    jobs = []
    for case in cases:
        folder = top / case.name
        (folder / "out").mkdir(parents=True)
        (folder / f"{case.name}{case.suffix}").write_bytes(case.data)
        words = ["mark", f"{case.name}{case.suffix}", "--out", "out"]
        pages = drawn is None or case.name in drawn or case.code > 0
        jobs.append({"words": words, "folder": str(folder), "seconds": 2 * SECONDS, "drawn": pages})
    done = subprocess.run([sys.executable, one_by_one.__file__], input=json.dumps(jobs), capture_output=True, text=True, check=True)
    return [
        Found(case, Path(job["folder"]), job["drawn"], result)
        for case, job, result in zip(cases, jobs, json.loads(done.stdout), strict=True)
    ]


def test_there_are_many_and_each_has_its_name(found: list[Found]) -> None:
    assert len({one.case.name for one in found}) == len(found) > 120


def test_each_ends_with_its_exit_code(found: list[Found]) -> None:
    wrong = {one.case.name: (one.case.code, one.result["code"], one.lines) for one in found if one.case.code != one.result["code"]}
    assert not wrong and {one.result["code"] for one in found} <= CODES


def test_each_ends_in_time_and_in_bounded_memory(found: list[Found]) -> None:
    greedy = {
        one.case.name: one.result for one in found if one.result["seconds"] > SECONDS or one.result["megabytes"] > MEGABYTES
    }
    assert not greedy


def test_each_says_what_is_wrong_in_one_line(found: list[Found]) -> None:
    for one in found:
        text = one.result["stderr"]
        assert "Traceback" not in text and "fault of the program" not in text, one.case.name
        assert all(line.startswith("annotator: ") and one.case.name in line for line in one.lines), (one.case.name, one.lines)
        assert one.case.says in text, (one.case.name, text)
        if one.case.code == 65:
            assert len(one.lines) == 1
        if one.case.code:
            assert one.lines and all(len(line) < 600 for line in one.lines), (one.case.name, one.lines)


def test_nothing_is_left_but_the_outputs_and_the_source_is_untouched(found: list[Found]) -> None:
    for one in found:
        name = one.case.name
        assert {path.name for path in one.folder.iterdir()} == {"out", f"{name}{one.case.suffix}"}
        assert (one.folder / f"{name}{one.case.suffix}").read_bytes() == one.case.data
        expected = {f"{name}-marked{_ending(one)}"} if one.case.music else set()
        if one.case.music and one.case.code == 0 and one.drawn:
            expected.add(f"{name}-marked.pdf")
        assert {path.name for path in (one.folder / "out").iterdir()} == expected, name
    assert {path.name for path in found[0].folder.parent.iterdir()} == {"canary.txt", *(one.case.name for one in found)}


def test_no_secret_gets_out_and_nobody_is_called(found: list[Found], listener: Any) -> None:
    for one in found:
        assert refused_files.CANARY not in one.result["stderr"], one.case.name
        for path in (one.folder / "out").iterdir():
            assert refused_files.CANARY.encode() not in path.read_bytes(), path.name
    assert select.select([listener], [], [], 0)[0] == [], "somebody called"


def test_the_marked_copy_holds_the_music_unchanged(found: list[Found]) -> None:
    for one in found:
        if one.case.music:
            copy = load(one.folder / "out" / f"{one.case.name}-marked{_ending(one)}")
            assert canonical(take_out(copy)) == canonical(load(one.case.data)), one.case.name


def test_marks_stand_in_keyboard_parts_only(found: list[Found]) -> None:
    for one in found:
        if not one.case.music:
            continue
        copy = load(one.folder / "out" / f"{one.case.name}-marked{_ending(one)}").tree.getroot()
        source = load(one.case.data).tree.getroot()
        directions = {
            part.get("id"): len(part.findall(".//direction")) - len(source.findall(f"part[@id='{part.get('id')}']//direction"))
            for part in copy.findall("part")
        }
        coloured = {part.get("id"): len(part.xpath(".//note[@color]")) for part in copy.findall("part")}
        for part in one.case.silent:
            assert directions[part] == 0 and coloured[part] == 0, (one.case.name, part)
        if one.case.figures is not None and copy.tag == "score-partwise":
            assert (sum(directions.values()) > 0) is one.case.figures, (one.case.name, directions)


@pytest.mark.slow
def test_all_of_them_drawn(tmp_path: Path, listener: Any) -> None:
    every = run_all(tmp_path, listener.getsockname()[1], drawn=None)
    test_each_ends_with_its_exit_code(every)
    test_each_ends_in_time_and_in_bounded_memory(every)
    test_each_says_what_is_wrong_in_one_line(every)
    test_nothing_is_left_but_the_outputs_and_the_source_is_untouched(every)
    test_no_secret_gets_out_and_nobody_is_called(every, listener)


def _ending(one: Found) -> str:
    """Return the ending of the marked copy: an archive stays one, whatever it was called."""
    return ".mxl" if one.case.data.startswith(b"PK") else ".musicxml"
