"""Looking for circles of objects: put off while a score is read and looked through, and in force again whatever comes."""

from __future__ import annotations

import gc
from collections.abc import Iterator

import pytest

import annotator
from annotator.collecting import collect_later
from annotator.errors import ScoreError


@pytest.fixture
def looking() -> Iterator[None]:
    """Let Python look for circles before and after."""
    gc.enable()
    yield
    gc.enable()


def test_python_looks_again_after_a_call_and_after_an_error(looking: None) -> None:
    with collect_later():
        assert not gc.isenabled()
    assert gc.isenabled()
    score = annotator.read(annotator.example("letter-by-the-window"))
    assert gc.isenabled()
    annotator.find_figures(score)
    assert gc.isenabled()
    with pytest.raises(ScoreError):
        annotator.read(b"no score")
    assert gc.isenabled()


def test_where_python_does_not_look_it_goes_on_not_to(looking: None) -> None:
    gc.disable()
    with collect_later():
        pass
    assert not gc.isenabled()


def test_no_look_is_taken_while_figures_are_found(looking: None) -> None:
    score = annotator.read(annotator.example("revolving-doors"))
    looks: list[str] = []

    def look(phase: str, _: dict[str, int]) -> None:
        """Note that Python looks."""
        looks.append(phase)

    before = gc.get_threshold()
    gc.callbacks.append(look)
    gc.set_threshold(50, 2, 2)
    try:
        annotator.find_figures.__wrapped__(score)  # type: ignore[attr-defined]
        assert looks  # it would
        with collect_later():
            looks.clear()
            annotator.find_figures.__wrapped__(score)  # type: ignore[attr-defined]
            assert not looks
    finally:
        gc.set_threshold(*before)
        gc.callbacks.remove(look)
