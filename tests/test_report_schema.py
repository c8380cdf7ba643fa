"""The report's JSON against the schema that ships with the program, and the schema against the vocabulary.

The validator is ``jsonschema``, an implementation of the open standard JSON Schema (draft 2020-12).
"""

from __future__ import annotations

import copy
import json
from importlib.resources import files
from pathlib import Path

import jsonschema
import pytest
from scores_at_hand import CORPUS, EXAMPLES, keyboard_corpus

import annotator
from annotator.figures.registry import KINDS, OWN
from annotator.music.chords import QUALITIES

SCHEMA = json.loads((files("annotator.marks") / "report.schema.json").read_text(encoding="utf-8"))
VALIDATOR = jsonschema.Draft202012Validator(SCHEMA)
EVERY_KIND = annotator.Options(kinds=tuple(kind.name for kind in KINDS))


def report(path: Path, options: annotator.Options | None = None) -> dict[str, object]:
    found = annotator.find_figures(annotator.read(path), options or annotator.Options())
    data: dict[str, object] = json.loads(found.to_json())
    return data


def test_the_schema_is_one() -> None:
    jsonschema.Draft202012Validator.check_schema(SCHEMA)


def test_the_schema_knows_the_vocabulary_and_no_more() -> None:
    assert SCHEMA["$defs"]["figure"]["properties"]["kind"]["enum"] == [kind.name for kind in (*KINDS, OWN)]
    assert SCHEMA["$defs"]["chord"]["properties"]["quality"]["enum"] == list(QUALITIES)


@pytest.mark.parametrize("path", [*sorted(EXAMPLES.glob("*.musicxml")), *keyboard_corpus()], ids=lambda path: path.stem)
def test_reports_are_valid(path: Path) -> None:
    found = report(path)
    VALIDATOR.validate(found)
    assert found["figures"]


def test_block_chords_are_valid_too() -> None:
    found = report(CORPUS / "schubert" / "Lindenbaum.xml", EVERY_KIND)
    VALIDATOR.validate(found)
    assert any(figure["kind"] == "block-chord" for figure in found["figures"])  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    ("path", "wrong"),
    [
        (("format",), 2),
        (("score", "notes"), -1),
        (("figures", 0, "kind"), "glissando"),
        (("figures", 0, "labels"), ["one", "two"]),
        (("figures", 0, "from", "beat"), "1"),
        (("figures", 0, "direction"), "sideways"),
        (("figures", 0, "notes"), ["n1", "n1"]),
    ],
    ids=lambda each: str(each[-1]) if isinstance(each, tuple) else "",
)
def test_a_wrong_report_is_not_valid(path: tuple[str | int, ...], wrong: object) -> None:
    found = copy.deepcopy(report(EXAMPLES / "sonatina-at-the-open-gate.musicxml"))
    place: object = found
    for key in path[:-1]:
        place = place[key]  # type: ignore[index]
    place[path[-1]] = wrong  # type: ignore[index]
    assert not VALIDATOR.is_valid(found)
