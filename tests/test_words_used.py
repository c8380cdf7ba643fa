"""What is missing in a file of words, and what no one uses: each word that is asked for is there, each that is there is asked for.

What is asked for is read off the program: the constants in its modules and its pages, the data of its kinds, and the names that theory
gives.
"""

from __future__ import annotations

import ast
import inspect
import re
import textwrap
from functools import cache
from pathlib import Path

import pytest
from jinja2 import Environment, nodes
from word_tables import groups

import annotator
from annotator.figures.registry import KINDS, OWN, Kind
from annotator.music.chords import QUALITIES
from annotator.music.scales import COLLECTIONS, MODES, TYPES
from annotator.options.settings import LANGUAGES

ALL = pytest.mark.parametrize("language", LANGUAGES)

ASKED_BY = {
    "headings": ("heading",),
    "titles": ("title_words", "titled"),
    "lines": ("line_words", "said"),
    "comparing": ("comparing", "_say"),
    "explaining": ("explaining",),
    "survey": ("survey_word",),
    "columns": ("column_heading",),
}
"""The groups of phrases, and the functions that each is asked through."""

ALONE = "label"
"""What the one label of a kind is called, where its builder does not say."""

STEPS = {*map(str, range(1, 10)), *(str(7 * octaves) for octaves in range(2, 7)), "steps"}
FROM_THEORY = {
    "scales": {*TYPES, "chromatic", *COLLECTIONS, *MODES},
    "chords": set(QUALITIES),
    "suffixes": set(QUALITIES),
    "inversions": {"1", "2", "3"},
    "intervals": STEPS | {"octave-and"},
    "distances": STEPS | {"0"},
    "doubles": {kind.interval for kind in KINDS if kind.interval},
    "octaves": {"up", "down", "over-up", "over-down", "turning"},
    "numbers": {"thousands", "decimals"},
}


def constants(tree: ast.AST) -> set[str]:
    """Return the words of all texts in a piece of program; ``fade_value`` asks for ``fade-value``."""
    texts = (node.value for node in ast.walk(tree) if isinstance(node, ast.Constant) and isinstance(node.value, str))
    return {word for text in texts for word in (text, *text.replace("_", "-").split())}


def asked(tree: ast.AST) -> dict[str, set[str]]:
    """Return the keys that each function is called with, first of its arguments, as patterns: ``plain``, ``foot-step-.+``."""
    found: dict[str, set[str]] = {}
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name | ast.Attribute):
            name = node.func.id if isinstance(node.func, ast.Name) else node.func.attr
            first = node.args[0] if node.args else ast.Constant(ALONE)
            for each in choices(first):
                parts = each.values if isinstance(each, ast.JoinedStr) else [each]
                if isinstance(each, ast.JoinedStr | ast.Constant):
                    key = "".join(re.escape(str(part.value)) if isinstance(part, ast.Constant) else ".+" for part in parts)
                    found.setdefault(name, set()).add(key)
    return found


def choices(given: ast.expr) -> list[ast.expr]:
    """Return what a condition chooses among; else what is given."""
    return [*choices(given.body), *choices(given.orelse)] if isinstance(given, ast.IfExp) else [given]


@cache
def program() -> tuple[set[str], dict[str, set[str]]]:
    """Return all constants of the program, and the keys that functions are called with."""
    every: set[str] = set()
    calls: dict[str, set[str]] = {}
    for path in Path(annotator.__file__).parent.rglob("*.py"):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        every |= constants(tree)
        for name, keys in asked(tree).items():
            calls.setdefault(name, set()).update(keys)
    for path in Path(annotator.__file__).parent.rglob("*.html"):
        page = Environment().parse(path.read_text(encoding="utf-8"))
        every |= {str(text.value) for text in page.find_all(nodes.Const)}
        for call in page.find_all(nodes.Call):
            if isinstance(call.node, nodes.Name) and call.args and isinstance(call.args[0], nodes.Const):
                calls.setdefault(call.node.name, set()).add(re.escape(str(call.args[0].value)))
    return every, calls


def asked_for(kind: Kind) -> set[str]:
    """Return the templates that the builder of a kind's labels chooses among."""
    found = asked(ast.parse(textwrap.dedent(inspect.getsource(kind.label))))["LabelData"]
    return {re.sub(r"\\(.)", r"\1", key) for key in found}


def members(group: str) -> list[Kind]:
    return [kind for kind in (*KINDS, OWN) if group in (kind.name, kind.words)]


@ALL
def test_every_kind_has_a_name_a_rule_and_its_labels(language: str) -> None:
    found = groups(language)
    missing = []
    for kind in (*KINDS, OWN):
        said = {**found.get(f"figures.{kind.words}", {}), **found.get(f"figures.{kind.name}", {})}
        missing += [f"{kind.name}: {key}" for key in ("name", "rule", "dark", *sorted(asked_for(kind))) if key not in said]
    assert not missing, f"{language}.toml lacks, in [figures.…]: {missing}"


@ALL
def test_no_words_of_figures_are_left_over(language: str) -> None:
    unused = []
    for name, words in groups(language).items():
        group = name.removeprefix("figures.")
        if group != name:
            used = {"source", "name", "rule", "dark"}.union(*(asked_for(kind) for kind in members(group))) if members(group) else set()
            unused += [f"{group}: {key}" for key in words if key not in used]
    assert not unused, f"no one uses, in {language}.toml: {unused}"


@ALL
@pytest.mark.parametrize("group", ASKED_BY)
def test_every_phrase_that_is_asked_for_is_there_and_none_is_left_over(language: str, group: str) -> None:
    there = set(groups(language)[group]) - {"source"}
    every, calls = program()
    patterns = set().union(*(calls.get(name, set()) for name in ASKED_BY[group]))
    missing = {pattern for pattern in patterns if not any(re.fullmatch(pattern, key) for key in there)}
    assert not missing, f"{language}.toml lacks, in [{group}]: {sorted(missing)}"
    unused = {key for key in there - every if not any(re.fullmatch(pattern, key) for pattern in patterns)}
    assert not unused, f"no one uses, in [{group}] of {language}.toml: {sorted(unused)}"


@ALL
@pytest.mark.parametrize("group", FROM_THEORY)
def test_what_theory_names_has_its_words(language: str, group: str) -> None:
    assert set(groups(language)[group]) - {"source"} == FROM_THEORY[group]


def test_a_missing_word_and_one_too_many_are_named(monkeypatch: pytest.MonkeyPatch) -> None:
    spoilt = {name: dict(group) for name, group in groups("de").items()}
    del spoilt["figures.trill"]["label"], spoilt["titles"]["chart"]
    spoilt["figures.turn"]["slow"] = ["", "", ""]
    spoilt["figures.glissando"] = {"source": "unverified", "name": "Glissando"}
    monkeypatch.setitem(globals(), "groups", lambda language: spoilt)
    for test, words in (
        (test_every_kind_has_a_name_a_rule_and_its_labels, "trill: label"),
        (test_no_words_of_figures_are_left_over, "turn: slow.*glissando: name"),
    ):
        with pytest.raises(AssertionError, match=words):
            test("de")
    with pytest.raises(AssertionError, match="chart"):
        test_every_phrase_that_is_asked_for_is_there_and_none_is_left_over("de", "titles")
