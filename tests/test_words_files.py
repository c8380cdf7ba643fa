"""The files of words as a musician may edit them: they are read, and each word is there in all its lengths."""

from __future__ import annotations

import subprocess
import sys

import pytest
from unmeasured import unmeasured
from word_tables import groups

from annotator.options.settings import LANGUAGES
from annotator.words.language import language_of


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_file_is_read(language: str) -> None:
    words = language_of(language)
    assert all(words.figures[name]["name"] for name in ("trill", "scale-run", "parallel"))


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_word_is_there_in_all_its_lengths(language: str) -> None:
    found = groups(language)
    for name, length in {"scales": 2, "inversions": 2, "octaves": 3, "copies": 3}.items():
        assert {len(texts) for key, texts in found.pop(name).items() if key != "source"} == {length}
    for name, words in found.items():
        single = {"source", "name", "rule", "dark"} if name.startswith("figures.") else set(words)
        for key, text in words.items():
            assert isinstance(text, str) if key in single else isinstance(text, list) and len(text) == 3, (name, key)


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
