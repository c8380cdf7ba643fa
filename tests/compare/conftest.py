"""What the tests of the comparison share: comparisons of shipped studies, made once, and a browser, started once."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import Any

import browser
import pytest
from scores_at_hand import EXAMPLES

from annotator.options.settings import Options
from annotator.products.compare.comparison import plan_comparison

Compare = Callable[..., Path]


@pytest.fixture(scope="session")
def compared(tmp_path_factory: pytest.TempPathFactory) -> Compare:
    """Return a function that gives the stem of a study's comparison: add ``.html`` or ``.pdf``."""

    @cache
    def make(name: str = "sonatina-at-the-open-gate", facing: bool = False, language: str = "en", style: str = "default") -> Path:
        folder = tmp_path_factory.mktemp("compared")
        options = Options(language=language, out=folder, style=style, facing=facing)
        plan_comparison(EXAMPLES / f"{name}.musicxml", options).write()
        return folder / f"{name}-compare"

    return make


@pytest.fixture(scope="module")  # two browsers cannot be driven at once in one process
def chromium() -> Iterator[Any]:
    """Give a driven browser, or skip."""
    if browser.NOT_DRIVEN:
        pytest.skip(browser.NOT_DRIVEN)
    with browser.driven() as driven:
        yield driven
