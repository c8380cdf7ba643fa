"""The manners of the command line: help, hints, the dry run, the shell's help with words, and odd places to print to."""

from __future__ import annotations

import json
import os
import re
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from scores_at_hand import EXAMPLES
from the_program import inside, own_process
from unmeasured import unmeasured

from annotator.errors import AnnotatorError
from annotator.figures.registry import KINDS
from annotator.shell.cli import COMMANDS
from annotator.shell.help_texts import EXAMPLES as SHOWN

NAME = "lamps-on-the-water"
HELPS = ["", *COMMANDS]


def names(folder: Path) -> list[str]:
    """Return what is in a folder."""
    return sorted(path.name for path in folder.iterdir())


@pytest.fixture
def music(tmp_path: Path) -> Path:
    """Return a folder with a shipped study."""
    shutil.copy(EXAMPLES / f"{NAME}.musicxml", tmp_path)
    return tmp_path


@pytest.fixture(scope="module")
def helps() -> dict[str, str]:
    """Return the help of every command at 80 columns."""
    return {words: inside(*words.split(), "-h").out for words in HELPS}


@pytest.mark.parametrize("words", HELPS)
def test_help_has_examples_exit_codes_and_no_broken_line(helps: dict[str, str], words: str) -> None:
    text = helps[words]
    assert "\nExamples:" in text and "\nExit codes:" in text
    for line, _ in SHOWN[words.split()[-1] if words else "annotator"]:
        assert f"\n  annotator {line}\n" in text, "an example stands on a line of its own"
    assert "<str>" not in text and "<int" not in text and "<path>" not in text and "\x1b" not in text
    assert max(len(line) for line in text.splitlines()) <= 80


def test_every_command_has_one_line_in_the_list(helps: dict[str, str]) -> None:
    listed = helps[""].partition("\nCommands:\n")[2].partition("\n\n")[0].splitlines()
    assert [line.split()[0] for line in listed] == list(COMMANDS)
    for name, line in zip(COMMANDS, listed, strict=True):
        assert line[15:] in helps[name] and line.endswith("."), "it is the first line of its help, whole"


def test_the_exit_codes_are_all_listed(helps: dict[str, str]) -> None:
    listed = set(re.findall(r"^ +(\d+)  \w", helps[""], re.M))
    assert {str(kind.exit_code) for kind in AnnotatorError.__subclasses__()} | {"0", "70", "130"} == listed


def test_the_kinds_are_listed_where_they_are_wanted(helps: dict[str, str]) -> None:
    words = set(re.findall(r"[\w-]+", helps["mark"]))
    assert {kind.name for kind in KINDS} <= words
    assert "block-chord" not in re.findall(r"[\w-]+", helps["survey"]), "a survey does not count it"


def test_help_fills_a_wide_terminal_and_keeps_its_colours_to_itself() -> None:
    wide = inside("mark", "-h", COLUMNS="120").out
    assert 100 < max(len(line) for line in wide.splitlines()) <= 120 and "\x1b" not in wide
    assert "and the notes that follow from the name turn grey. The source is" in wide


@pytest.mark.parametrize(
    ("words", "hint"),
    [
        (["mrak", "x"], "did you mean 'mark'"),
        (["mark", "x", "--stile", "light"], "--style"),
        (["mark", "x.xml", "--paper", "A4"], "did you mean 'a4'"),
        (["mark", "x.xml", "--breaks", "sources"], "did you mean 'source'"),
        (["mark", "x.xml", "--formats", "pgn"], "did you mean 'png'"),
        (["figures", "x.xml", "--kinds", "Trills"], "did you mean 'trill'"),
        (["figures", "x.xml", "--language", "eng"], "did you mean 'en'"),
        (["figures", "x.xml", "--hand", "rigth"], "did you mean 'right'"),
        (["mark", "x.xml", "--shortest", "3"], "a whole number from 4 on"),
        (["mark", "x.xml", "--steps", "many"], "a whole number from 1 to 4"),
        (["mark", "x.xml", "--bars", "900-901"], "900"),
    ],
)
def test_a_slip_is_answered_with_what_was_meant(music: Path, words: list[str], hint: str) -> None:
    shutil.copy(music / f"{NAME}.musicxml", music / "x.xml")
    said = inside(*words, folder=music)
    assert said.code == 2 and hint in said.err and len(said.lines) == 1 and names(music) == [f"{NAME}.musicxml", "x.xml"]


def test_a_style_that_is_not_there_too(music: Path) -> None:
    code, _, said = inside("mark", f"{NAME}.musicxml", "--style", "lagre-print", folder=music)
    assert code == 78 and "did you mean 'large-print'" in said


@pytest.mark.parametrize(
    ("line", "offered"),
    [
        ("annotator ma", {"mark"}),
        ("annotator mark --dry", {"--dry-run"}),
        ("annotator mark x --style l", {"large-print", "light"}),
        ("annotator mark x --paper a", {"a4", "a4-landscape"}),
        ("annotator figures x --kinds trill,scal", {"trill,scale-run"}),
        ("annotator mark x --formats svg,p", {"svg,pdf", "svg,png"}),
        ("annotator settings x --hand r", {"right"}),
        ("annotator styles show w", {"worksheet"}),
        ("annotator mark lamps", set()),  # and so the shell offers files
    ],
)
def test_the_shell_is_offered_words(line: str, offered: set[str]) -> None:
    program = Path(sys.executable).parent / "annotator"
    words = {"COMP_WORDS": line, "COMP_CWORD": str(len(line.split()) - 1), "_ANNOTATOR_COMPLETE": "complete_bash"}
    done = subprocess.run([program], env={**os.environ, **words}, capture_output=True, text=True, timeout=60, check=True)
    assert set(done.stdout.split()) == offered and not done.stderr


def test_the_shell_gets_its_script_and_finds_it_when_it_begins(tmp_path: Path) -> None:
    program = Path(sys.executable).parent
    env = {**os.environ, "HOME": str(tmp_path), "PATH": f"{program}:{os.environ['PATH']}"}
    line = "annotator --install-completion; annotator --show-completion; source ~/.bashrc; complete -p annotator"
    done = subprocess.run(["bash", "-c", line], env=env, capture_output=True, text=True, timeout=60, check=False)
    assert done.returncode == 0 and not done.stderr, done
    assert done.stdout.rstrip().endswith("complete -o default -F _annotator_completion annotator")


def test_an_unknown_shell_is_told(tmp_path: Path) -> None:
    code = (
        "import shellingham, sys; shellingham.detect_shell = lambda: ('other', '/bin/other'); sys.argv = ['annotator', sys.argv[1]]\n"
        "from annotator.shell.cli import run; run()"
    )
    for option in ("--install-completion", "--show-completion"):
        command = [sys.executable, "-c", code, option]
        done = subprocess.run(command, env={**os.environ, "HOME": str(tmp_path)}, capture_output=True, text=True, timeout=60, check=False)
        assert done.returncode == 2 and "other" in done.stdout + done.stderr and not list(tmp_path.iterdir())


# The dry run.


@pytest.mark.parametrize("command", ["mark", "plain", "compare", "handout"])
def test_a_dry_run_names_the_files_that_the_run_then_writes(music: Path, command: str) -> None:
    words = (command, f"{NAME}.musicxml", "--out", "new/folder")
    code, _, said = inside(*words, "--dry-run", folder=music)
    assert code == 0 and names(music) == [f"{NAME}.musicxml"]
    told = set(re.findall(r"[\w-]+\.(?:musicxml|pdf|html)(?=,|$)", said.partition("would write")[2].strip()))
    assert inside(*words, folder=music).code == 0
    assert told == set(names(music / "new" / "folder"))
    again = inside(*words, "--dry-run", folder=music).err
    assert again.count("(there already, the same)") + again.count("(in place of the one there)") == len(told)


@pytest.mark.parametrize(
    ("command", "name"),
    [("mark", "-marked.musicxml"), ("mark", "-marked.pdf"), ("plain", "-plain.musicxml"), ("compare", "-compare.html"),
     ("handout", "-answers.pdf")],
)  # fmt: skip
def test_a_dry_run_says_that_a_stranger_is_in_the_way(music: Path, command: str, name: str) -> None:
    (music / f"{NAME}{name}").write_text("a stranger's")
    dry = inside(command, f"{NAME}.musicxml", "--dry-run", folder=music)
    assert dry.code == 73 and len(names(music)) == 2
    assert inside(command, f"{NAME}.musicxml", folder=music) == dry, "the same message and exit code"
    assert len(names(music)) == 2, "what is refused is refused before anything is written"
    assert inside(command, f"{NAME}.musicxml", "--dry-run", "--force", folder=music).code == 0
    assert (music / f"{NAME}{name}").read_text() == "a stranger's"


def test_a_dry_run_of_a_folder_a_series_and_pictures(music: Path) -> None:
    (music / "bad.xml").write_text("<score-partwise>")
    (music / "sub").mkdir()
    shutil.copy(EXAMPLES / "revolving-doors.musicxml", music / "sub")
    before = sorted(music.rglob("*"))
    code, out, said = own_process("mark", ".", "--steps", "2", "--formats", "musicxml,pdf,png", "--dry-run", "--jobs", "2", folder=music)
    assert code == 65 and not out and sorted(music.rglob("*")) == before
    lines = [line for line in said.splitlines() if "would write" in line]
    assert len(lines) == 2 and len(said.splitlines()) == 3
    for line, stem in zip(lines, (NAME, "revolving-doors"), strict=True):
        for step in (1, 2):
            for ending in (".musicxml", ".pdf", "-001.png (one a page)"):
                assert f"{stem}-marked-step-{step}{ending}" in line


def test_a_stranger_in_the_place_of_a_picture_is_refused(music: Path) -> None:
    (music / f"{NAME}-marked-001.svg").write_text("mine")
    assert inside("mark", f"{NAME}.musicxml", "--formats", "svg", "--dry-run", folder=music).code == 73


def test_a_dry_run_refuses_what_the_run_refuses(music: Path) -> None:
    (music / "file").write_text("")
    for words in (["--bars", "900-901"], ["--out", "file/below"], ["--paper", "a5"], ["--style", "nonesuch"]):
        dry, real = (inside("mark", f"{NAME}.musicxml", *words, *extra, folder=music) for extra in (["--dry-run"], []))
        assert dry.code == real.code != 0, words
        assert names(music) == ["file", f"{NAME}.musicxml"]


def test_a_dry_run_of_standard_input_prints_nothing(music: Path) -> None:
    code, out, said = inside("mark", "-", "--dry-run", stdin=(music / f"{NAME}.musicxml").read_bytes())
    assert (code, out) == (0, b"") and "standard output" in said


def test_a_dry_run_starts_no_engraver() -> None:
    code = (
        "import subprocess, sys; subprocess.Popen.__init__ = lambda *a, **k: sys.exit('a process was started')\n"
        "from annotator.shell.cli import app\n"
        f"try: app(['mark', {str(EXAMPLES / (NAME + '.musicxml'))!r}, '--dry-run'])\nexcept SystemExit as end: assert not end.code, end\n"
        "print([m for m in ('verovio', 'cairocffi') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=True)
    assert done.stdout == "[]\n", done.stderr


# How much is said, and where to.


def test_quiet_says_only_errors_and_verbose_which_settings_hold(music: Path) -> None:
    (music / "annotator.toml").write_text('language = "de"\n')
    for command in ("mark", "compare", "handout"):
        assert inside(command, f"{NAME}.musicxml", "--dry-run", "-q", folder=music) == (0, b"", "")
    said = inside("mark", f"{NAME}.musicxml", "--dry-run", "-v", "--hand", "left", folder=music).err
    assert "language = 'de' (" in said and "annotator.toml)" in said and "hand = 'left' (--hand)" in said and "to read" in said


def shell(line: str, folder: Path) -> subprocess.CompletedProcess[str]:
    """Run a line of a shell; ``annotator`` in it is the program."""
    around = {**os.environ, "NO_COLOR": "1", "ANNOTATOR_CACHE": str(folder / "cache")}
    return subprocess.run(
        ["bash", "-c", f'annotator() {{ "{sys.executable}" -m annotator "$@"; }}; {line}'],
        cwd=folder, env=around, capture_output=True, text=True, timeout=120, check=False,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("line", "code"),
    [
        ("annotator figures S.musicxml | head -1; exit ${PIPESTATUS[0]}", 0),
        ("annotator survey . | head -1; exit ${PIPESTATUS[0]}", 0),
        ("annotator survey . >&-", 73),
        ("annotator survey . > /dev/full", 74),
        ("annotator survey . 2>&-", 0),
        ("annotator compare S.musicxml >&- 2>&-", 0),
        ("annotator plain S.musicxml 2> /dev/full", 0),
        ("annotator plain S.musicxml R.musicxml 2>&1 | head -1; ls S-plain.musicxml R-plain.musicxml", 0),
        ("annotator plain S.musicxml R.musicxml 2>&-", 0),
        ("annotator mark -h > /dev/full", 74),
        ("annotator mark -h | head -1; exit ${PIPESTATUS[0]}", 0),
        ("annotator -h | true; exit ${PIPESTATUS[0]}", 0),
    ],
)
@pytest.mark.parametrize("unbuffered", ["", "1"])  # what cannot be written fails at once, or only when the program ends
def test_odd_places_to_print_to(music: Path, line: str, code: int, unbuffered: str) -> None:
    for stem in "RS":
        shutil.copy(music / f"{NAME}.musicxml", music / f"{stem}.musicxml")
    if "/dev/full" in line and not Path("/dev/full").exists():
        pytest.skip("there is no /dev/full on this system")
    done = shell(f"export PYTHONUNBUFFERED={unbuffered}; {line}", music)
    assert done.returncode == code and "Traceback" not in done.stderr, done
    assert len(done.stderr.splitlines()) <= 1


def test_an_old_character_set_ends_nothing() -> None:
    study = EXAMPLES / f"{NAME}.musicxml"
    utf8 = own_process("figures", study).out
    assert "→" in utf8
    assert own_process("figures", study, PYTHONCOERCECLOCALE="0", PYTHONUTF8="0", LC_ALL="C").out == utf8, "a pipe gets UTF-8"
    ascii_only = own_process("figures", study, PYTHONIOENCODING="ascii").out
    assert ascii_only.isascii() and "\\u2192" in ascii_only
    assert own_process("mark", "-h", PYTHONIOENCODING="ascii").code == 0
    report = own_process("figures", study, "--json", PYTHONCOERCECLOCALE="0", PYTHONUTF8="0", LC_ALL="C").out
    assert json.loads(report)["format"] == 1


@pytest.mark.parametrize("command", [["compare"], ["handout"], ["mark", "--jobs", "2"]], ids=" ".join)
def test_ctrl_c_leaves_nothing_half_written(music: Path, command: list[str]) -> None:
    for number in range(12):
        shutil.copy(music / f"{NAME}.musicxml", music / f"{number:02}.musicxml")
    called = [sys.executable, "-m", "annotator", *command, str(music)]
    process = subprocess.Popen(called, stderr=subprocess.PIPE, text=True, start_new_session=True, env=unmeasured())
    while not list(music.glob("*.pdf")) and process.poll() is None:
        time.sleep(0.02)
    os.killpg(process.pid, signal.SIGINT)
    _, said = process.communicate(timeout=30)
    assert process.returncode == 130 and "Traceback" not in said and "interrupted" in said.splitlines()[-1]
    for path in music.glob("*.pdf"):
        assert path.read_bytes().rstrip().endswith(b"%%EOF")
    assert not [name for name in names(music) if name.endswith(".part")]
