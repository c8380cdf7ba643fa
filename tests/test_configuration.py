"""The project file: what it may say, what is answered to a wrong value, and that every option of a run has its key."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest
import typer
from scores_at_hand import EXAMPLES
from typer.testing import CliRunner

from annotator.cli import COMMANDS, app
from annotator.configuration import KEYS, project_file, project_settings
from annotator.errors import SettingsError

NAME = "lamps-on-the-water"
ROOT = Path(__file__).resolve().parents[1]

NO_KEYS = {
    "json": "the shape of what is printed is a matter of one call",
    "csv": "as --json",
    "html": "as --json",
    "force": "what a file says must not cost somebody a file of his own",
    "dry_run": "a file that says so would stop every run",
    "no_cache": "a matter of one call",
    "cluster": "a file among somebody's scores must not send them to an address",
    "kind": "what is wanted of a survey is a matter of one call",
    "easiest": "as --kind",
    "like": "as --kind",
    "share": "as --kind",
    "pick": "as --kind",
    "seed": "as --kind",
    "sort": "as --kind",
    "reverse": "as --kind",
    "limit": "as --kind",
    "quiet": "how much is said is a matter of one call",
    "verbose": "as --quiet",
    "debug": "as --quiet",
    "help": "no setting",
}
"""The long options that have no key, each with the reason."""


def options() -> set[str]:
    """Return the long options of all commands, as names of keys."""
    group = typer.main.get_command(app)
    found = set()
    for name in COMMANDS:
        command = group.get_command(None, name)  # type: ignore[attr-defined]
        if name not in ("styles", "check-setup"):
            found |= {option for param in command.params for option in param.opts if option.startswith("--")}
    return {option.removeprefix("--").replace("-", "_") for option in found}


def test_every_option_of_a_run_is_a_key_or_has_a_reason_not_to_be() -> None:
    assert options() - set(KEYS) == set(NO_KEYS) - {"help"}
    assert set(KEYS) <= options(), "a key is an option, too"


def test_the_readme_names_every_key() -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    told = re.search(r"^Its keys are (.*?)\.(?:\s|$)", text, re.S | re.M)
    assert told and re.findall(r"`(\w+)`", told[1]) == list(KEYS)


def write(folder: Path, text: str, name: str = "annotator.toml") -> Path:
    """Write a project file."""
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("steps = 9", ("steps = 9", "from 1 to 3")),
        ("steps = 0", ("steps = 0", "from 1 to 3")),
        ("steps = true", ("steps", "a whole number")),
        ("shortest = 3", ("shortest = 3", "from 4 on")),
        ("jobs = 0", ("jobs = 0", "from 1 on")),
        ('paper = "a3"', ("paper = 'a3'", "a4, letter, a4-landscape, tablet")),
        ('paper = "A4"', ("did you mean 'a4'",)),
        ("paper = 4", ("paper", "text in quotes")),
        ('hand = "up"', ("hand = 'up'", "right, left, both")),
        ('language = "es"', ("language = 'es'", "en, de, fr, it")),
        ('breaks = "odd"', ("breaks = 'odd'", "even, source")),
        ('formats = ["svg", "gif"]', ("formats = 'gif'", "musicxml, pdf, svg, png")),
        ('kinds = ["scale"]', ("kinds = 'scale'", "scale-run, chromatic-run", "did you mean")),
        ('without = "trill,turns"', ("without = 'turns'", "did you mean 'turn'")),
        ('bars = "5-"', ("bars", "write them as 5-12")),
        ('style = "lihgt"', ("style", "did you mean 'light'")),
        ('style = "gone.toml"', ("style", "gone.toml", "cannot read")),
        ('facing = "yes"', ("facing", "true or false")),
        ("force = true", ("force", "give --force")),
        ('out = "../elsewhere"', ("out", "--out")),
        ('out = "/tmp"', ("out", "--out")),
        ("steps = " + 5000 * "[", ("not a readable TOML file",)),
        ("parts = [1]", ("parts", "a list of words")),
        ('papre = "a4"', ("'papre'", "did you mean 'paper'")),
        ("nonsense = 1", ("'nonsense'", "the keys are out, style")),
        ("steps = ", ("not a readable TOML file",)),
    ],
)
def test_a_wrong_value_says_the_file_the_key_and_what_it_takes(tmp_path: Path, line: str, said: tuple[str, ...]) -> None:
    path = write(tmp_path, line + "\n")
    with pytest.raises(SettingsError) as caught:
        project_settings(tmp_path)
    assert caught.value.exit_code == 78
    for words in (str(path), *said):
        assert words in str(caught.value)


def test_every_key_takes_a_right_value(tmp_path: Path) -> None:
    values = {
        "out": '"marked"', "style": '"light"', "paper": '"letter"', "language": '"it"', "kinds": '["trill", "turn"]',
        "without": '"trill"', "hand": '"left"', "bars": '"5-12"', "shortest": "6", "steps": "2", "parts": '["Piano"]',
        "formats": '["svg"]', "breaks": '"source"', "facing": "true", "title": '"For Monday"', "class": '"Grade 3"',
        "jobs": "2",
    }  # fmt: skip
    assert list(values) == list(KEYS)
    write(tmp_path, "[tool.annotator]\n" + "".join(f"{key} = {value}\n" for key, value in values.items()), "pyproject.toml")
    settings = project_settings(tmp_path)
    assert list(settings) == list(KEYS)
    assert settings["kinds"] == ["trill", "turn"] and settings["without"] == ["trill"] and settings["class"] == "Grade 3"


def test_the_nearest_file_counts_and_places_start_from_it(tmp_path: Path) -> None:
    below = tmp_path / "a" / "b"
    below.mkdir(parents=True)
    write(tmp_path, 'out = "marked"\nstyle = "mine.toml"\n')
    (tmp_path / "mine.toml").write_text('grey = "#999999"\n')
    assert project_settings(below) == {"out": str(tmp_path / "marked"), "style": str(tmp_path / "mine.toml")}
    assert project_file(below) == tmp_path / "annotator.toml"
    write(tmp_path / "a", "[tool.other]\n", "pyproject.toml")
    assert project_file(below) == tmp_path / "annotator.toml", "a table of ours is wanted"
    write(tmp_path / "a", '[tool.annotator]\nlanguage = "fr"\n', "pyproject.toml")
    assert project_settings(below) == {"language": "fr"}


def run(*words: object) -> tuple[int, str]:
    """Run the program; return the exit code and what it said."""
    done = CliRunner().invoke(app, [str(word) for word in words], prog_name="annotator")
    return done.exit_code, done.output


@pytest.mark.parametrize("command", ["mark", "plain", "figures", "compare", "handout", "survey"])
def test_each_command_ends_with_the_files_fault(tmp_path: Path, command: str) -> None:
    shutil.copy(EXAMPLES / f"{NAME}.musicxml", tmp_path)
    path = write(tmp_path, "steps = 9\n")
    code, said = run(command, tmp_path if command == "survey" else tmp_path / f"{NAME}.musicxml")
    assert code == 78 and str(path) in said and "from 1 to 3" in said and len(said.splitlines()) == 1


def test_the_same_value_as_a_flag_is_the_command_lines_fault(tmp_path: Path) -> None:
    shutil.copy(EXAMPLES / f"{NAME}.musicxml", tmp_path)
    for words in (["--steps", "9"], ["--paper", "a3"], ["--hand", "up"], ["--kinds", "scale"]):
        assert run("mark", tmp_path / f"{NAME}.musicxml", *words)[0] == 2


def test_keys_reach_the_commands_and_flags_win(tmp_path: Path) -> None:
    shutil.copy(EXAMPLES / f"{NAME}.musicxml", tmp_path)
    write(tmp_path, 'facing = true\ntitle = "For Monday"\nclass = "Grade 3"\nsteps = 2\nout = "marked"\nlanguage = "de"\n')
    score = tmp_path / f"{NAME}.musicxml"
    code, said = run("mark", score, "--dry-run")
    assert code == 0 and "-step-2.pdf" in said and str(tmp_path / "marked") in said and "zu lesen" in said
    code, said = run("mark", score, "--dry-run", "--steps", "1", "--language", "en")
    assert code == 0 and "-step-2" not in said and "to read" in said
    for command in ("compare", "handout"):
        assert run(command, score, "--dry-run")[0] == 0
