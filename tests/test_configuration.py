"""The project file: what it may say, what is answered to a wrong value, and that every option of a run has its key."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest
import typer
from scores_at_hand import EXAMPLES
from the_program import inside

from annotator.errors import SettingsError, UsageError
from annotator.figures.registry import KINDS_BY_NAME
from annotator.marks.style import load_style
from annotator.options.option import Row
from annotator.options.settings import ROWS, Options, levels, row_of, rows_of
from annotator.shell.cli import COMMANDS, app
from annotator.shell.configuration import KEYS, in_force, project_file, words_of

NAME = "lamps-on-the-water"
ROOT = Path(__file__).resolve().parents[1]


def flags(command: str) -> set[str]:
    """Return the long options that a command really has."""
    found = app.get_command(typer.Context(app), command)
    return {flag.removeprefix("--") for param in found.params for flag in param.opts if flag.startswith("--")}


@pytest.mark.parametrize("command", [name for name in COMMANDS if name not in ("styles", "check-setup")])
def test_the_options_of_a_command_are_those_of_the_table(command: str) -> None:
    assert flags(command) - {"help"} == {row.key for row in rows_of(command)}


def test_a_project_file_may_set_what_python_may_and_nothing_that_is_a_matter_of_one_call() -> None:
    assert list(KEYS) == [*(row.key for row in ROWS if row.in_python and row.key != "force"), "jobs"]
    assert {"json", "dry-run", "no-cache", "cluster", "quiet", "debug"} <= {row.key for row in ROWS if not row.in_python} - set(KEYS)


def table() -> str:
    """Return the options of a run as the README lists them."""
    lines = ["| option | what it does | for |", "|---|---|---|"]
    for row in (*KEYS.values(), row_of("force")):
        value = f" {row.takes.metavar}" if row.takes.metavar else ""
        text = row.helps().replace(" (listed below)", "")
        lines.append(f"| `--{row.key}{value}` | {text} | {', '.join(row.commands)} |")
    return "\n".join(lines)


def test_the_readmes_table_is_the_table() -> None:
    assert table() in (ROOT / "README.md").read_text(encoding="utf-8"), f"the README wants this table:\n{table()}"


def project_settings(folder: Path) -> dict[str, object]:
    """Return what the project file of a folder sets."""
    return project_file(folder)[1]


def write(folder: Path, text: str, name: str = "annotator.toml") -> Path:
    """Write a project file."""
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("steps = 9", ("steps = 9", "from 1 to 4")),
        ("steps = 0", ("steps = 0", "from 1 to 4")),
        ("steps = true", ("steps", "a whole number")),
        ("shortest = 3", ("shortest = 3", "from 4 on")),
        ("jobs = 0", ("jobs = 0", "from 1 on")),
        ('paper = "a3"', ("paper = 'a3'", "a4, letter, a4-landscape, tablet")),
        ('paper = "A4"', ("did you mean 'a4'",)),
        ("paper = 4", ("paper = 4", "a4, letter, a4-landscape, tablet")),
        ("title = 4", ("title = 4", "text in quotes")),
        ('hand = "up"', ("hand = 'up'", "right, left, both")),
        ('language = "xx"', ("language = 'xx'", "en, de, fr, it")),
        ('breaks = "odd"', ("breaks = 'odd'", "even, source")),
        ('formats = ["svg", "gif"]', ("formats = 'gif'", "musicxml, pdf, svg, png")),
        ('kinds = ["scale"]', ("kinds = 'scale'", "scale-run, chromatic-run", "did you mean")),
        ('without = "trill,turns"', ("without = 'turns'", "did you mean 'turn'")),
        ("bars = true", ("bars = True", "write them as 5-12")),
        ('bars = "-"', ("bars", "write them as 5-12")),
        ('bars = "1-4,"', ("bars", "write them as 5-12")),
        ('style = "lihgt"', ("style", "did you mean 'light'")),
        ('style = "gone.toml"', ("style file", "gone.toml", "this style file cannot be read")),
        ('facing = "yes"', ("facing", "true or false")),
        ("force = true", ("force is not taken from a file", "--force")),
        ('out = "../elsewhere"', ("out = '../elsewhere' lies outside", "--out")),
        ('out = "/tmp"', ("out = '/tmp' lies outside",)),
        ("formats = []", ("formats", "musicxml, pdf, svg, png")),
        ("steps = " + 5000 * "[", ("not a readable TOML file",)),
        ("parts = [1]", ("parts", "a list of words")),
        ('jobs = "2"', ("jobs = '2'", "a whole number")),
        ('papre = "a4"', ("'papre'", "did you mean 'paper'")),
        ("nonsense = 1", ("'nonsense'", "they are out, style")),
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


def right(row: Row) -> str:
    """Return a right value of a key, as TOML."""
    words = [*words_of(row)]
    word = f'"{words[-1] if words else "5-12"}"'
    numbers = {bool: "true", int: str(row.takes.most or 9)}
    return numbers.get(row.takes.shape, f"[{word}]" if row.takes.shape is tuple else word)


def test_every_key_takes_a_right_value(tmp_path: Path) -> None:
    lines = [f"{key} = {right(row)}\n" for key, row in KEYS.items()]
    write(tmp_path, "[tool.annotator]\n" + "".join(lines), "pyproject.toml")
    settings = project_settings(tmp_path)
    assert list(settings) == [row.name for row in KEYS.values()]
    assert settings["formats"] == ("png",) and settings["bars"] == (("5", "12"),) and settings["class_"] == "5-12"
    assert in_force(tmp_path, {"steps": 2}).options.steps == 2 and in_force(tmp_path, {}).options.steps == 4


def test_the_nearest_file_counts_and_places_start_from_it(tmp_path: Path) -> None:
    below = tmp_path / "a" / "b"
    below.mkdir(parents=True)
    write(tmp_path, 'out = "marked"\nstyle = "mine.toml"\n')
    (tmp_path / "mine.toml").write_text('grey = "#999999"\n')
    assert project_settings(below) == {"out": tmp_path / "marked", "style": str(tmp_path / "mine.toml")}
    assert project_file(below)[0] == tmp_path / "annotator.toml"
    write(tmp_path / "a", "[tool.other]\n", "pyproject.toml")
    assert project_file(below)[0] == tmp_path / "annotator.toml", "a table of ours is wanted"
    write(tmp_path / "a", '[tool.annotator]\nlanguage = "fr"\n', "pyproject.toml")
    assert project_settings(below) == {"language": "fr"}


def run(*words: object) -> tuple[int, str]:
    """Run the program; return the exit code and what it said."""
    done = inside(*words)
    return done.code, done.out + done.err


@pytest.mark.parametrize("command", ["mark", "plain", "figures", "compare", "handout", "survey"])
def test_each_command_ends_with_the_files_fault(tmp_path: Path, command: str) -> None:
    shutil.copy(EXAMPLES / f"{NAME}.musicxml", tmp_path)
    path = write(tmp_path, "steps = 9\n")
    code, said = run(command, tmp_path if command == "survey" else tmp_path / f"{NAME}.musicxml")
    assert code == 78 and str(path) in said and "from 1 to 4" in said and len(said.splitlines()) == 1


def test_the_same_value_as_a_flag_is_the_command_lines_fault(tmp_path: Path) -> None:
    shutil.copy(EXAMPLES / f"{NAME}.musicxml", tmp_path)
    for words in (["--steps", "9"], ["--paper", "a3"], ["--hand", "up"], ["--kinds", "scale"]):
        assert run("mark", tmp_path / f"{NAME}.musicxml", *words)[0] == 2


def test_keys_reach_the_commands_and_flags_win(tmp_path: Path) -> None:
    shutil.copy(EXAMPLES / f"{NAME}.musicxml", tmp_path)
    write(tmp_path, 'facing = true\ntitle = "For Monday"\nclass = "Grade 3"\nsteps = 2\nout = "marked"\nlanguage = "de"\n')
    score = tmp_path / f"{NAME}.musicxml"
    code, said = run("mark", score, "--dry-run")
    assert code == 0 and "-step-2.pdf" in said and str(tmp_path / "marked") in said and "to read" in said, "messages are in one language"
    code, said = run("mark", score, "--dry-run", "--steps", "1", "--language", "en")
    assert code == 0 and "-step-2" not in said and "to read" in said
    for command in ("compare", "handout"):
        assert run(command, score, "--dry-run")[0] == 0


# What is said, and where it is from.


def test_a_wrong_option_is_one_line_once(tmp_path: Path) -> None:
    for number in range(3):
        shutil.copy(EXAMPLES / f"{NAME}.musicxml", tmp_path / f"{number}.musicxml")
    wrong = "is wrong (did you mean 'right'?): it takes right, left, both"
    said = f"hand = 'rigth' {wrong}"
    assert run("mark", tmp_path, "--hand", "rigth") == (2, f"annotator: --hand rigth {wrong}\n")
    path = write(tmp_path, 'hand = "rigth"\n')
    assert run("mark", tmp_path) == (78, f"annotator: {path}: {said}\n")
    with pytest.raises(UsageError, match=re.escape(said)):
        Options(hand="rigth")


def test_a_wrong_file_stops_its_own_scores_and_no_others(tmp_path: Path) -> None:
    for name in ("right", "wrong"):
        (tmp_path / name).mkdir()
        shutil.copy(EXAMPLES / f"{NAME}.musicxml", tmp_path / name)
    write(tmp_path / "wrong", "steps = 9\n")
    code, said = run("mark", tmp_path, "--dry-run")
    assert code == 78 and len(said.splitlines()) == 2 and "right" in said.splitlines()[1] and "would write" in said


def test_settings_says_the_value_of_each_option_and_where_it_is_from(tmp_path: Path) -> None:
    shutil.copy(EXAMPLES / f"{NAME}.musicxml", tmp_path)
    path = write(tmp_path, 'language = "de"\nformats = "svg,png"\nhand = "left"\nfacing = true\n')
    for place in (tmp_path, tmp_path / f"{NAME}.musicxml"):
        code, said = run("settings", place, "--hand", "right", "--bars", "5-12")
        told = {line.split()[0]: re.split(r"  +", line)[-2:] for line in said.splitlines()}
        assert code == 0 and list(told) == list(KEYS)
        assert told["language"] == ["de", str(path)] and told["formats"] == ["svg,png", str(path)] and told["facing"] == ["yes", str(path)]
        assert told["hand"] == ["right", "--hand"] and told["bars"] == ["5-12", "--bars"] and told["paper"][-2:] == ["a4", "default"]
    assert run("settings", tmp_path / "gone.musicxml")[0] == 66
    write(tmp_path, "hand = 1\n")
    assert run("settings", tmp_path)[0] == 78


@pytest.mark.parametrize("level", sorted(levels()))
def test_a_level_sets_style_steps_and_kinds_and_what_is_typed_goes_before(level: str, tmp_path: Path) -> None:
    table = levels()[level]
    assert set(table) <= set(KEYS)
    options = Options(level=int(level))
    assert (options.style, options.steps) == (table["style"], table.get("steps")) and load_style(options.style)
    assert set(options.kinds or ()) | set(options.without) <= set(KINDS_BY_NAME)
    assert Options(level=int(level), style="screen", steps=2).style == "screen" and Options(level=int(level), steps=2).steps == 2
    write(tmp_path, f'level = {level}\nstyle = "screen"\n')
    holds = in_force(tmp_path, {})
    assert holds.options.style == "screen" and holds.options.steps == table.get("steps")
    assert holds.whence(row_of("steps")) == (f"level {level}" if "steps" in table else "default")
    assert holds.whence(row_of("paper")) == "default"


def test_a_level_that_is_none_is_refused() -> None:
    with pytest.raises(UsageError, match="from 1 to 3"):
        Options(level=4)
