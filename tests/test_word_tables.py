"""All words in four languages against each other: the same things said, nothing empty, nothing left in English, nothing misspelled.

Spelling: the word lists that come with pyspellchecker 0.9 (from OpenSubtitles and Wiktionary, says its documentation). They are no
dictionaries of music: words of the trade, abbreviations and names that they lack stand below and were read one by one, by the makers of
this program and from memory.
"""

from __future__ import annotations

import re

import pytest
from word_tables import FOLDER, groups, texts, words_in

from annotator.options.settings import LANGUAGES

OTHERS = tuple(language for language in LANGUAGES if language != "en")
ALL, OTHER = pytest.mark.parametrize("language", LANGUAGES), pytest.mark.parametrize("language", OTHERS)

FORMAL = {"de": r"\b(Sie|Ihr|Ihre[mnrs]?|Ihnen)\b", "fr": r"\b(vous|votre|vos|\w{3,}ez)\b", "it": r"\b(Lei|Suo|Sua|Vostr\w)\b"}
"""How a language speaks to a reader formally, which the program does not do."""

ALIKE = {
    "de": "alberti arpeggio esc hand mordent name tab trem tremolo",
    "fr": "date effort figures note notes oct octaves six tab",
    "it": "arpeggio esc file tab trem tremolo",
}
"""The words of all texts that are the same in English: each is a word of the other language, too."""

ENGLISH = frozenset(words_in("the of and with bar bars left right again same read down up from each key run chord below above both hands"))
"""Words that are none in German, French and Italian."""

TRADE = {
    "en": "esc locrian mixolydian inv mordents neighbour neighbours oct octatonic trem",
    "de": "akkordton akkordtöne zählzeit halbverminderter hauptton septakkord versetzungszeichen vorzeichnung wendepaar "
    "alberti arbeitsblatt arp arpeggio basston coda dezime dezimen dominantseptakkord doppelschlag doppelschläge dorisch fine "
    "fingersatz ganzton ganztonleiter ganztöne halbton halbtönen hilfsl hilfslinien leseaufwand lokrisch lydisch mixolydisch mordent "
    "mordente none phrygisch pos pralltriller rechteinhaber segno skripte tab taktart tonarten "
    "tonwiederholung trem tremolo umk vorz walzerbass wendeton gebr harm mel nat pentatonisch umg äolisch "
    "ionisch dazw umkehrton notenpult tastenkürzel",
    "fr": "inf jusqu alberti segno tab interc "
    "altér arp ayants dorien gruppetto gruppettos harm locrien lydien maj mixolydien mél nat oct octatonique "
    "pentatonique phrygien quarte quartes renv semi sixte sixtes sup suppl trém échap éolien étrang ionien préc suiv",
    "it": "grigia dell inf esc interc intercalata intercalato ridiscende risale ottave tab "
    "affiancate albertino all apert arm armonica arp arpeggio asc ascendenti batt bemolli cos cromatica "
    "cromatiche dall decima disc diteggiatura dorica eolia estens estr frigia grigie gruppetti intestazione lidia locria magg melodica "
    "min misolidia nat nell ott ottatonica pentatonica quarte ribattute riv rov saltarne script semidiminuito semitoni seste settime "
    "sup trem tremolo unisono ionica pag scorciatoie suonarla",
}
"""Words that the lists lack and that are right."""


LENGTHS = ("figures", "scales", "inversions", "octaves")
"""Where texts come in several lengths: the shorter may leave out what the longest says."""


def test_there_is_a_file_for_each_language_and_no_word_in_python() -> None:
    assert {path.stem for path in FOLDER.glob("*.toml")} == set(LANGUAGES)
    makers = {"__init__", "language", "labels", "phrases"}
    assert {path.stem for path in FOLDER.glob("*.py")} == makers


@ALL
def test_every_group_says_where_its_words_come_from(language: str) -> None:
    for name, group in groups(language).items():
        assert group.get("source"), f"[{name}] of {language}.toml has no source; from memory: \"unverified\""


@OTHER
def test_the_same_words_and_the_same_blanks_to_fill(language: str) -> None:
    english, other = texts("en"), texts(language)
    assert not set(english) - set(other), f"{language}.toml lacks {sorted(set(english) - set(other))}"
    assert not set(other) - set(english), f"{language}.toml has what en.toml has not: {sorted(set(other) - set(english))}"
    assert list(english) == list(other), "the same order helps whoever compares"
    for place, text in english.items():
        one, two = ({*re.findall(r"{(\w+)}", each.replace("{small}", "{root}"))} for each in (text, other[place]))
        if not (place.startswith(LENGTHS) and place.endswith((".1", ".2"))):
            assert one == two, place
        assert text.count("{") == text.count("}") and other[place].count("{") == other[place].count("}")


@ALL
def test_nothing_is_empty_or_untidy(language: str) -> None:
    english = texts("en")
    for place, text in texts(language).items():
        assert bool(text) == bool(english[place]), place
        assert text == " ".join(text.split(" ")).strip() and "  " not in text and "\n" not in text, place
        assert not re.search(r"[^\W\d_]'[^\W\d_]", text), f"{place}: an apostrophe is ’"
        assert not re.search(r'["“”«»]|\.\.\.', text), place


@OTHER
def test_nothing_is_left_in_english(language: str) -> None:
    english, shared = texts("en"), set(ALIKE[language].split())
    found, left = set(), []
    for place, text in texts(language).items():
        words = {word.lower() for word in words_in(text)}
        if words & ENGLISH:
            left.append((place, text))
        if text.lower() == english[place].lower():
            found |= {word for word in words if len(word) > 2}
    assert not left
    assert found == shared


def test_french_puts_a_space_before_high_signs() -> None:
    for place, text in texts("fr").items():
        assert not re.search(r"[^\s][:;!?](?!\d)", text), (place, text)


@OTHER
def test_the_reader_is_spoken_to_in_one_way(language: str) -> None:
    for place, text in texts(language).items():
        within = re.sub(r"(^|[.:?!] )\w+", "", text) if language != "fr" else text  # a sentence may begin with Sie, sie (they) being meant
        assert not re.search(FORMAL[language], within), (place, text)


@ALL
def test_spelling(language: str) -> None:
    checker = pytest.importorskip("spellchecker", reason="the word lists are in the extra 'test'").SpellChecker(language=language)
    accepted = set(TRADE[language].split())
    words = {word.lower() for text in texts(language).values() for word in words_in(text) if len(word) > 2}
    unknown = {word for word in words if word not in checker}
    assert unknown <= accepted, f"new words: right ones go into the list above: {sorted(unknown - accepted)}"
    assert accepted <= words, f"no longer used: {sorted(accepted - words)}"
