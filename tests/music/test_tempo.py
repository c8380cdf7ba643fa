"""Tempo words: phrases as they stand over real scores, and the table itself.

Source of the phrases: the scores at hand (études, preludes, polonaises, a song); ``tempo.toml`` names the sources of the words.
"""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

import annotator
from annotator.music.tempo import tempo_words


@pytest.mark.parametrize(
    "text",
    [
        *("Allegro.", "Vivace legato.", "All°. sostenuto.", "All.ᵒ molto con fuoco.", "Tempo Di Marcia", "Tempo I°.", "lento"),
        *("Massig", "Mäßig", "Très lent", "Sehr langsam", "Modéré", "Lively", "Andte con moto", "Meno mosso", "Più vivo", "Con moto"),
    ],
)
def test_words_that_name_a_tempo(text: str) -> None:
    assert tempo_words([text]) == text


@pytest.mark.parametrize(
    "text",
    [
        *("Legato", "Sempre legato", "Con fuoco", "molto legato", "Legatissimo", "TRIO", "Trio.", "dolce", "Loco", "Poco rall"),
        *("a Tempo", "⚠", "D.C. al Fine", "FINE", "sotto voce", "Risoluto", "espressivo", "cresc.", "", "P"),
    ],
)
def test_words_that_name_none(text: str) -> None:
    assert tempo_words([text]) == ""


@pytest.mark.parametrize(
    ("pieces", "whole"),
    [
        ([" P", "(", "resto", ")"], "Presto"),
        (["Alle", "gro"], "Allegro"),
        (["Allegro", "con fuoco"], "Allegro con fuoco"),
        (["All|o. con fuoco."], "Allo. con fuoco."),
        (["A d a g i o"], "Adagio"),
        (["Trio. Vivace. "], "Vivace."),
    ],
)
def test_pieces_are_put_together_and_the_name_of_a_section_goes(pieces: list[str], whole: str) -> None:
    assert tempo_words(pieces) == whole


def test_the_table_is_written_as_it_says() -> None:
    table = tomllib.loads((Path(annotator.__file__).parent / "music" / "tempo.toml").read_text(encoding="utf-8"))
    words = [word for group in table.values() for key in ("words", "unverified", "shortened") for word in group.get(key, ())]
    assert set(table) == {"italian", "german", "french", "english", "sections"}
    assert len(words) == len(set(words)) and all(word.isascii() and word.islower() for word in words)
