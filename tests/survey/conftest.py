"""Each test has a cache and a practice log of its own."""

from __future__ import annotations

import pytest

from annotator.products.survey.cache import program


@pytest.fixture(autouse=True)
def _own_folders(tmp_path_factory, monkeypatch):
    place = tmp_path_factory.mktemp("user")
    monkeypatch.setenv("ANNOTATOR_CACHE", str(place / "cache"))
    monkeypatch.setenv("ANNOTATOR_DATA", str(place / "data"))
    program.cache_clear()  # the sources may have been worked on since this process read them
