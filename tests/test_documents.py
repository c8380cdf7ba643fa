"""What README and DEVELOPERS.md promise is there."""

from __future__ import annotations

import re
from pathlib import Path

from annotator.marks import style

ROOT = Path(__file__).resolve().parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"^```sh\n(.*?)^```", README, re.S | re.M)


def test_first_block_runs_the_main_job_and_second_the_tests() -> None:
    assert "annotator mark examples/" in BLOCKS[0]
    assert "pytest" in BLOCKS[1]
    assert all(block.startswith("python3 -m venv .venv\n") for block in BLOCKS[:2])


def test_files_named_in_the_readme_are_there() -> None:
    named = set(re.findall(r"\b(?:examples|annotator)/[\w./-]+\.\w+", README))
    assert named
    assert [name for name in sorted(named) if not (ROOT / name).is_file()] == []


def test_every_style_is_in_the_readme() -> None:
    assert [name for name in style.names() if f"| `{name}` |" not in README] == []


def test_every_exit_code_is_in_the_readme() -> None:
    import annotator.errors as errors

    kinds = [each for each in vars(errors).values() if isinstance(each, type) and issubclass(each, errors.AnnotatorError)]
    assert {str(kind.exit_code) for kind in kinds} <= set(re.findall(r"^\| (\d+) \|", README, re.M))


def test_places_that_the_guide_names_are_there() -> None:
    named = re.findall(r"`((?:\w+/)+\w+\.\w+)`(?:[^`]{1,3}`(\w+)`)?", DEVELOPERS)
    assert len(named) > 20
    for path, name in named:
        (place,) = [place for place in (ROOT / "annotator" / path, ROOT / path) if place.is_file()] or [None]
        assert place is not None, path
        assert not name or re.search(rf"\b{name}\b", place.read_text(encoding="utf-8")), f"{path} has no {name}"


def test_the_guide_has_a_line_for_no_module() -> None:
    """What a module is, its own first line says; the guide lists rooms alone."""
    assert re.findall(r"^\| `(\w+\.py)` \|", DEVELOPERS, re.M) == []
    first = {path: path.read_text(encoding="utf-8").partition("\n")[0] for path in ROOT.glob("annotator/**/*.py")}
    assert [path.name for path, line in first.items() if '"""' not in line] == []
