"""The package from Python: what it offers, what it takes, what it refuses, and that the documentation holds."""

from __future__ import annotations

import ast
import dataclasses
import pydoc
import re
import shutil
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

import annotator
from annotator.errors import MissingError, OutputError, UsageError
from annotator.figures.registry import KINDS_BY_NAME
from annotator.products.excerpts.excerpt import MarkedExcerpt

ROOT = Path(__file__).resolve().parents[1]
NAME = "letter-by-the-window"
README = (ROOT / "README.md").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def report() -> annotator.Report:
    return annotator.find_figures(annotator.read(annotator.example(NAME)))


@pytest.fixture(scope="module")
def bars() -> MarkedExcerpt:
    return annotator.excerpt(annotator.example(NAME), bars="1-2")


def test_the_readmes_lines_run_as_they_stand(tmp_path: Path) -> None:
    (code,) = re.findall(r"^```python\n(.*?)^```", README, re.S | re.M)
    shutil.copy(annotator.example(), tmp_path / "piece.musicxml")
    command = [sys.executable, "-W", "error", "-c", code]
    done = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, timeout=120, check=False)
    assert done.returncode == 0, done.stderr
    assert {path.name for path in tmp_path.iterdir()} == {
        "piece.musicxml", "piece-marked.musicxml", "piece-marked.pdf", "bars-5-8.svg"
    }  # fmt: skip


@pytest.mark.parametrize("name", annotator.__all__)
def test_a_public_name_has_an_example_or_says_where_there_is_one(name: str) -> None:
    text = getattr(annotator, name).__doc__
    assert ">>>" in text or re.search(r"``annotator\.\w+", text), name
    for other in re.findall(r"``annotator\.(\w+)``", text):
        assert other in annotator.__all__


def test_help_shows_every_public_name() -> None:
    text = pydoc.plain(pydoc.render_doc(annotator))
    for name in annotator.__all__:
        assert re.search(rf"^    (?:class {name}\b|{name}\()", text, re.M), name
    assert set(annotator.__all__) <= set(dir(annotator))


def test_importing_the_package_loads_nothing_of_it() -> None:
    code = "import sys, annotator; print([name for name in sys.modules if name.startswith('annotator.')])"
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=60).stdout == "[]\n"
    with pytest.raises(AttributeError, match="no attribute 'nonsense'"):
        _ = annotator.nonsense


def test_the_types_are_there_for_those_who_use_the_package() -> None:
    assert (Path(annotator.__file__).parent / "py.typed").is_file()


def mutable(value: Any, seen: set[int]) -> list[Any]:
    """Return what could be changed in a value of frozen data; the document behind it is the user's own tree and not looked at."""
    if id(value) in seen or isinstance(value, str | bytes | int | float | None):
        return []
    seen.add(id(value))
    if dataclasses.is_dataclass(value):
        inner = [getattr(value, each.name) for each in dataclasses.fields(value) if each.name not in ("document", "element")]
        frozen = type(value).__dataclass_params__.frozen  # type: ignore[union-attr]
        return [*([] if frozen else [value]), *(found for each in inner for found in mutable(each, seen))]
    if isinstance(value, tuple | frozenset):
        return [found for each in value for found in mutable(each, seen)]
    return [value] if isinstance(value, list | dict | set) else []


def test_what_is_returned_is_frozen_to_the_bottom(report: annotator.Report, bars: MarkedExcerpt) -> None:
    assert mutable(report, set()) == []
    assert mutable(annotator.Options(kinds=["trill"]), set()) == []  # type: ignore[arg-type]
    for value in (report, report.score, report.score.parts[0], report.figures[0][1], annotator.Options(), bars):
        field = dataclasses.fields(value)[0].name
        with pytest.raises(dataclasses.FrozenInstanceError):
            setattr(value, field, None)


def test_options_take_lists_and_what_is_typed() -> None:
    one = annotator.Options(kinds=("trill", "turn"), bars=("5", "12"), without=("mordent",), parts=("Piano",))
    typed: Mapping[str, Any] = {"kinds": "trill, turn", "bars": "5-12", "without": ["mordent"], "parts": "Piano"}
    assert annotator.Options(**typed) == one and hash(annotator.Options(**typed)) == hash(one)


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"langauge": "de"}, "did you mean 'language'"),
        ({"nonsense": 1}, "they are out, style"),
        ({"language": "xx"}, "en, de, fr, it"),
        ({"hand": "up"}, "right, left, both"),
        ({"kinds": "scale-runs"}, "did you mean 'scale-run'"),
        ({"without": ["turns"]}, "did you mean 'turn'"),
        ({"bars": "-"}, "write them as 5-12"),
        ({"bars": ("900", "901")}, "no bar 900"),
        ({"shortest": 3}, "from 4 on"),
        ({"shortest": "many"}, "from 4 on"),
        ({"paper": "A4"}, "did you mean 'a4'"),
        ({"formats": "gif"}, "musicxml, pdf, svg, png"),
        ({"steps": 5}, "1 to 4"),
        ({"parts": "Flute"}, "this score has Piano"),
    ],
)
def test_mark_refuses_what_is_no_setting(tmp_path: Path, wrong: dict[str, Any], said: str) -> None:
    with pytest.raises(UsageError, match=re.escape(said)):
        annotator.mark(annotator.example(NAME), tmp_path / "out", **wrong)
    assert not list(tmp_path.iterdir())


def test_an_excerpt_and_an_example_refuse_too() -> None:
    with pytest.raises(UsageError, match="did you mean 'language'"):
        annotator.excerpt(annotator.example(NAME), bars="1", langauge="de")
    with pytest.raises(MissingError, match="did you mean 'revolving-doors'"):
        annotator.example("revolving-door")


def test_mark_takes_what_it_says(tmp_path: Path) -> None:
    shutil.copy(annotator.example(NAME), tmp_path / "piece.musicxml")
    (tmp_path / "mine.toml").write_text('grey = "#999999"\n', encoding="utf-8")
    report = annotator.mark(
        str(tmp_path / "piece.musicxml"), str(tmp_path / "out"), tmp_path / "mine.toml",
        kinds=["alberti-bass"], without="trill", hand="left",
        bars="1-8", shortest=4, language="it", parts=["all"], paper="letter", formats="svg,musicxml", breaks="source",
    )  # fmt: skip
    assert {figure.kind for _, figure in report.figures} == {"alberti-bass"} and report.headline.endswith("da leggere")
    names = sorted(path.name for path in (tmp_path / "out").iterdir())
    assert names[0] == "piece-marked-001.svg" and names[-1] == "piece-marked.musicxml" and "piece-marked.pdf" not in names
    assert "#999999" in (tmp_path / "out" / "piece-marked-001.svg").read_text(encoding="utf-8")
    (tmp_path / "out" / "piece-marked.pdf").write_bytes(b"mine")
    with pytest.raises(OutputError, match="not made by this program"):
        annotator.mark(tmp_path / "piece.musicxml", tmp_path / "out", bars="1-2")
    annotator.mark(tmp_path / "piece.musicxml", tmp_path / "out", bars="1-2", force=True)


def test_every_kind_may_be_asked_for() -> None:
    assert annotator.Options(kinds=tuple(KINDS_BY_NAME)).kinds == tuple(KINDS_BY_NAME)


def undocumented() -> list[str]:
    """Return the public modules, classes and functions of the package, inner ones too, that say nothing of themselves."""
    found = []
    for path in sorted((ROOT / "annotator").rglob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        named = [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef)]
        place = path.relative_to(ROOT).as_posix()
        found += [place] if ast.get_docstring(tree) is None else []
        found += [f"{place}:{node.lineno} {node.name}" for node in named if not node.name.startswith("_") and not ast.get_docstring(node)]
    return found


def test_every_public_name_says_what_it_is() -> None:
    assert undocumented() == []
