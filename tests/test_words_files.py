"""The files of words as a musician may edit them: what is wrong in one is said in one line, with the place."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from figures.lines_from_text import texture_of
from unmeasured import unmeasured
from word_tables import FOLDER, groups

from annotator.errors import MissingError, SettingsError
from annotator.figures.figure import Figure
from annotator.options.settings import LANGUAGES
from annotator.words.labels import kind_name, labels
from annotator.words.language import filled, read_language

GERMAN = (FOLDER / "de.toml").read_text(encoding="utf-8")


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_file_is_read(language: str) -> None:
    words = read_language(FOLDER / f"{language}.toml")
    assert words.code == language and all(words.figures[name]["name"] for name in ("trill", "scale-run", "parallel"))


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_word_is_there_in_all_its_lengths(language: str) -> None:
    found = groups(language)
    for name, length in {"scales": 2, "inversions": 2, "octaves": 3, "copies": 3}.items():
        assert {len(texts) for key, texts in found.pop(name).items() if key != "source"} == {length}
    for name, words in found.items():
        single = {"source", "name", "rule", "dark"} if name.startswith("figures.") else set(words)
        for key, text in words.items():
            assert isinstance(text, str) if key in single else isinstance(text, list) and len(text) == 3, (name, key)


def test_a_file_that_is_no_toml_is_told_in_one_line(tmp_path: Path) -> None:
    (tmp_path / "de.toml").write_text(GERMAN.replace('name = "Triller"', "name = Triller"), encoding="utf-8")
    with pytest.raises(SettingsError, match=r"/de\.toml: not a readable TOML file .*line \d+") as error:
        read_language(tmp_path / "de.toml")
    assert "\n" not in str(error.value) and error.value.exit_code == 78


def test_a_missing_file_and_a_missing_word_say_what_to_do(tmp_path: Path) -> None:
    with pytest.raises(MissingError, match=r"de\.toml: this file cannot be read"):
        read_language(tmp_path / "de.toml")
    path = tmp_path / "de.toml"
    path.write_text(GERMAN.replace('steps = "{n} Stufen"', 'steps = "{count} Stufen"'), encoding="utf-8")
    words = read_language(path)
    with pytest.raises(SettingsError, match=r"de\.toml: \[titles\] has no 'chapter': write it as in en\.toml"):
        words.titles["chapter"]
    with pytest.raises(SettingsError, match=r"\[distances\]: the blanks of '{count} Stufen' cannot be filled; those there are: {n}"):
        words.distances.fill("steps", n=3)
    with pytest.raises(SettingsError, match="those there are: none"):
        filled("{", {}, "de.toml")


@pytest.mark.parametrize("language", ["en", "de"])
def test_only_the_language_asked_for_is_loaded(language: str) -> None:
    code = (
        "import sys, pathlib; read, names = pathlib.Path.read_text, []\n"
        "pathlib.Path.read_text = lambda path, *a, **k: (names.append(path.name), read(path, *a, **k))[1]\n"
        "from annotator import example; from annotator.shell import cli\n"
        f"try: cli.app(['figures', str(example('revolving-doors')), '--language', {language!r}])\nexcept SystemExit: pass\n"
        "print([name for name in names if len(name) == len('en.toml')], file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, env=unmeasured(), check=True, timeout=60)
    assert done.stderr.splitlines()[-1] == str([f"{language}.toml"])


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('name = "Triller"', 'name = ""', r"de\.toml: \[figures\.trill\] has no 'name'"),
        ('label = ["Triller', 'other = ["Triller', r"de\.toml: \[figures\.trill\] has no 'label'"),
        ('{strokes}", "Triller"]', '{stroke}", "Triller"]', r"\[figures\.trill\]: the blanks of 'Triller {stroke}' cannot"),
    ],
)
def test_what_a_kind_lacks_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, old: str, new: str, message: str) -> None:
    path = tmp_path / "de.toml"
    assert GERMAN.count(old) == 1
    path.write_text(GERMAN.replace(old, new), encoding="utf-8")
    monkeypatch.setattr("annotator.words.labels.language_of", lambda code: read_language(path))
    moments = tuple(event.notes for event in texture_of("D5 C5 D5 C5 D5 C5", "").hands["right"].events)
    trill = Figure("trill", "P1", 1, "1", "right", moments, (*moments[0], *moments[1], *moments[-1]))
    with pytest.raises(SettingsError, match=message):
        assert kind_name("trill", "de") and labels(trill, "de")
