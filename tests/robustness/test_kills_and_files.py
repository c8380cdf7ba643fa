"""Files: killed while writing, full disks, folders that may not be written to, odd names, links to the source, other surroundings."""

from __future__ import annotations

import json
import os
import random
import signal
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

import pytest
from robustness.jobs import job, run_jobs
from robustness.pieces import PLAIN

from annotator.marks.finding import find_figures
from annotator.marks.marking import markings
from annotator.marks.style import load_style
from annotator.pages.engraving import engrave
from annotator.reading import load, read_document

SEED = 41
FEW, MANY = 10, 200
SLOW = 0.05  # seconds that a file takes to reach the disk, so that most kills fall into the writing
NOBODY = 65534
MARK = ("mark", "x.musicxml", "--formats", "musicxml,pdf,svg,png")


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a file that holds the engraved pages of the piece."""
    document = load(PLAIN)
    score = read_document(document)
    drawn = engrave(document, score, markings(find_figures(score)), load_style("default"), "a4").pages
    path = tmp_path_factory.mktemp("pages") / "pages.json"
    path.write_text(json.dumps(list(drawn) * 3))
    return path


def place(folder: Path, name: str = "x.musicxml") -> Path:
    """Put the piece into a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / name).write_bytes(PLAIN)
    return folder


def contents(folder: Path) -> dict[str, bytes]:
    """Return what the files of a folder hold, by name."""
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def kill(top: Path, pages: Path, times: int) -> tuple[int, int]:
    """Kill the program so many times while it writes; return how many ended early and how many files were whole by then."""
    chance = random.Random(SEED)
    reference = place(top / "whole")
    _, unharmed = run_jobs([job(place(top / "first"), *MARK, pages=str(pages)), job(reference, *MARK, pages=str(pages), slow=SLOW)])
    assert unharmed["code"] == 0
    whole = contents(reference)
    assert len(whole) == 9, "the source, the score, the PDF and three pages twice"
    jobs = []
    for number in range(times):
        how = signal.SIGKILL if number % 2 else signal.SIGINT
        after = chance.uniform(0, unharmed["seconds"])
        jobs.append(job(place(top / str(number)), *MARK, pages=str(pages), slow=SLOW, kill=(after, how)))
    early, files = 0, 0
    for one, result in zip(jobs, run_jobs(jobs), strict=True):
        left = contents(Path(one["folder"]))
        halves = {name for name in left if name.endswith(".part")}
        for name in left.keys() - halves:
            assert left[name] == whole[name], f"{name} is half written"
        early += len(left) - len(halves) < len(whole)
        files += len(left) - len(halves) - 1
        assert result["code"] in (0, -signal.SIGKILL, 130), result
        if one["kill"][1] == signal.SIGINT:
            assert not halves and "Traceback" not in result["stderr"], result
            assert result["code"] == 130 or len(left) == len(whole), result
    return early, files


def test_killed_while_writing(tmp_path: Path, pages: Path) -> None:
    early, _ = kill(tmp_path, pages, FEW)
    assert early > FEW // 3


@pytest.mark.slow
def test_killed_many_times_while_writing(tmp_path: Path, pages: Path) -> None:
    early, files = kill(tmp_path, pages, MANY)
    assert early > MANY // 3 and files > MANY


def open_to_all(path: Path) -> bool:
    """Return whether any user may read what lies below a path."""
    return all(folder.stat().st_mode & 0o005 == 0o005 for folder in (path, *path.parents))


@pytest.mark.skipif(
    os.getuid() == 0 and not (open_to_all(Path(__file__).parent) and open_to_all(Path(sys.prefix).resolve())),
    reason="root may write everywhere, and another user may not read this checkout or its environment",
)
def test_a_folder_that_may_not_be_written_to() -> None:
    with tempfile.TemporaryDirectory() as top:
        Path(top).chmod(0o755)
        folder = place(Path(top) / "shut")
        folder.chmod(0o555)
        (beside, inside) = run_jobs(
            [job(folder, *MARK, drawn=False, user=NOBODY), job(folder, *MARK, "--out", "new/er", drawn=False, user=NOBODY)]
        )
        assert (beside["code"], inside["code"]) == (73, 73), (beside, inside)
        assert contents(folder) == {"x.musicxml": PLAIN}
        folder.chmod(0o755)


@pytest.mark.parametrize("most", [1_000, 12_000])
def test_a_full_disk(tmp_path: Path, pages: Path, most: int) -> None:
    folder = place(tmp_path / "full")
    (result,) = run_jobs([job(folder, *MARK, pages=str(pages), file_bytes=most)])
    left = contents(folder)
    assert result["code"] == 74 and len(result["stderr"].splitlines()) == 1, result
    assert left.pop("x.musicxml") == PLAIN
    assert all(len(data) < most for data in left.values()) and not [name for name in left if name.endswith(".part")]


NAMES = (
    " blank first.musicxml",
    "blank last .musicxml",
    "line\nend.musicxml",
    os.fsdecode(b"not-utf-8-\xff\xfe.musicxml"),
    "é日ß.musicxml",
    "op. 27 no. 2.musicxml",
    "-x.musicxml",
    "--force",
    "no ending",
    ".musicxml",
    "%s {0} $HOME ~ *?.musicxml",
    "X.MUSICXML",
    "'quotes\".xml",
)


def test_odd_file_names(tmp_path: Path, pages: Path) -> None:
    folders = [place(tmp_path / str(number), name) for number, name in enumerate(NAMES)]
    jobs = [job(folder, "mark", "--", name, pages=str(pages)) for folder, name in zip(folders, NAMES, strict=True)]
    for folder, name, result in zip(folders, NAMES, run_jobs(jobs), strict=True):
        stem = Path(name).stem
        assert result["code"] == 0, (name, result)
        assert set(contents(folder)) == {name, f"{stem}-marked.musicxml", f"{stem}-marked.pdf"}
        assert len(result["stderr"].splitlines()) == 1, (name, result)


def test_what_is_no_file(tmp_path: Path) -> None:
    place(tmp_path)
    (tmp_path / "folder").mkdir()
    (tmp_path / "circle").symlink_to("circle")
    (tmp_path / "nowhere").symlink_to("gone")
    names = ("folder", "circle", "nowhere", "circle/x.musicxml", "gone.musicxml", "x.musicxml/y", "n" * 300)
    for name, result in zip(names, run_jobs([job(tmp_path, "mark", name) for name in names]), strict=True):
        assert result["code"] == 66 and len(result["stderr"].splitlines()) == 1, (name, result)


def test_a_name_too_long_for_its_copy(tmp_path: Path) -> None:
    name = "n" * 245 + ".musicxml"
    place(tmp_path, name)
    (result,) = run_jobs([job(tmp_path, "mark", name, drawn=False)])
    assert result["code"] == 73 and contents(tmp_path) == {name: PLAIN}, result


@pytest.mark.parametrize("how", ["hard link", "link"])
@pytest.mark.parametrize("words", [(), ("--force",)])
def test_an_output_that_is_the_source_by_another_name(tmp_path: Path, how: str, words: tuple[str, ...]) -> None:
    place(tmp_path)
    if how == "link":
        (tmp_path / "x-marked.musicxml").symlink_to("x.musicxml")
    else:
        (tmp_path / "x-marked.musicxml").hardlink_to(tmp_path / "x.musicxml")
    (result,) = run_jobs([job(tmp_path, "mark", "x.musicxml", *words, drawn=False)])
    assert result["code"] == 73, result
    assert (tmp_path / "x.musicxml").read_bytes() == PLAIN


def test_standard_streams_that_are_full_or_closed(tmp_path: Path) -> None:
    program = f"{sys.executable} -m annotator"
    place(tmp_path)
    commands = {
        f"{program} figures x.musicxml > /dev/full": 74,
        f"{program} figures x.musicxml >&-": 73,
        f"{program} mark - <&-": 66,
        f"{program} figures gone.musicxml 2>&-": 66,
    }
    for command, code in commands.items():
        done = subprocess.run(["sh", "-c", command], cwd=tmp_path, capture_output=True, text=True, timeout=60)
        assert done.returncode == code and len(done.stderr.splitlines()) == ("2>&-" not in command), (command, done)


SURROUNDINGS: tuple[dict[str, str], ...] = (
    {"PYTHONHASHSEED": "0"},
    {"PYTHONHASHSEED": "1", "LC_ALL": "C", "TZ": "Asia/Tokyo"},
    {"PYTHONHASHSEED": "2", "LC_ALL": "POSIX", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0", "TZ": "America/St_Johns"},
    *({"PYTHONHASHSEED": str(seed), "LANG": "de_DE.UTF-8", "LC_NUMERIC": "de_DE.UTF-8", "TZ": "UTC"} for seed in range(3, 11)),
)


def outputs(folder: Path, surroundings: dict[str, str]) -> dict[str, bytes]:
    """Return all outputs of the program in such surroundings."""
    place(folder)
    environment = {name: value for name, value in os.environ.items() if not name.startswith("LC_")} | surroundings
    subprocess.run([sys.executable, "-m", "annotator", *MARK], cwd=folder, check=True, capture_output=True, env=environment)
    return contents(folder)


def same_everywhere(top: Path, surroundings: tuple[dict[str, str], ...]) -> Any:
    """Check that all outputs are the same bytes in all surroundings."""
    first, *others = [outputs(top / str(number), around) for number, around in enumerate(surroundings)]
    assert len(first) == 5
    assert all(other == first for other in others)


def test_the_same_bytes_elsewhere(tmp_path: Path) -> None:
    same_everywhere(tmp_path, SURROUNDINGS[:3])


@pytest.mark.slow
def test_the_same_bytes_under_ten_hash_seeds(tmp_path: Path) -> None:
    same_everywhere(tmp_path, SURROUNDINGS)
