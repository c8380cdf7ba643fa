"""The words of the handout: the rule of each kind, and lines put together."""

from __future__ import annotations

import re

import pytest

from annotator.errors import UsageError
from annotator.figures.registry import KINDS
from annotator.music.score import key_of
from annotator.options.settings import LANGUAGES
from annotator.words.labels import rule_words
from annotator.words.phrases import bars_words, interval_name, line_words, signature_words, times_words, title_words

EVERY = pytest.mark.parametrize("language", LANGUAGES)


@EVERY
def test_every_kind_has_a_sentence_of_its_own_or_of_its_group(language: str) -> None:
    sentences = {kind.name: rule_words(kind.name, language) for kind in KINDS}
    for sentence in sentences.values():
        assert len({kind.words or kind.name for kind in KINDS if sentences[kind.name] == sentence}) == 1, sentence
    for kind, sentence in sentences.items():
        assert re.fullmatch(r"[A-ZÄÖÜ][^{}]+\.", sentence), (kind, sentence)
        assert 30 < len(sentence) <= 190, (kind, sentence)


def test_languages_differ() -> None:
    for language in ("de", "fr", "it"):
        assert not any(rule_words(kind.name, language) == rule_words(kind.name) for kind in KINDS)
    with pytest.raises(UsageError, match="no words for the language 'xx'"):
        title_words("key", "xx")


def test_short_lines() -> None:
    assert signature_words(key_of(2)) == "2 sharps: F♯ C♯"
    assert signature_words(key_of(-3), "de") == "3 B: B Es As"
    assert signature_words(key_of(0), "fr") == "ni dièse ni bémol"
    assert signature_words(key_of(1), "it") == "1 diesis: fa♯"
    assert [times_words(times) for times in (1, 2, 3)] == ["once", "twice", "3 times"]
    assert [interval_name(7, language) for language in LANGUAGES] == ["an octave", "eine Oktave", "une octave", "un’ottava"]
    assert [interval_name(12, language) for language in LANGUAGES] == [
        *("an octave and a sixth", "eine Oktave und eine Sexte", "une octave et une sixte", "un’ottava e una sesta")
    ]
    assert interval_name(17, "it") == "due ottave e una quarta"
    assert bars_words([(str(n), str(n)) for n in range(1, 40, 2)]).endswith("23 …")
    assert line_words("told", "fr", what="main droite", more="une fois") == "main droite : une fois"
