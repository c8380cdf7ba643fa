"""The looks that come with the program are right, and a wrong one is refused with the way out."""

from __future__ import annotations

from itertools import combinations
from pathlib import Path

import pytest

from annotator.errors import MissingError, SettingsError
from annotator.marks import style
from annotator.marks.style import TAKES, Style, available, load_style, names, read_style, style_text


def luminance(colour: str) -> float:
    """Return relative luminance. Source: WCAG 2.1, definition of relative luminance, w3.org/TR/WCAG21."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (part / 12.92 if part <= 0.03928 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(colour: str, paper: str = "#FFFFFF") -> float:
    light, dark = sorted((luminance(colour), luminance(paper)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_contrast_formula_gives_the_known_values() -> None:
    # Black on white is 21 : 1 by definition; #767676 is the lightest grey with 4.5 : 1 (WebAIM contrast
    # checker, from memory).
    assert contrast("#000000") == pytest.approx(21)
    assert contrast("#767676") >= 4.5 > contrast("#777777")


def test_the_styles_there_must_be() -> None:
    assert names()[0] == "default"
    assert {"large-print", "screen", "light", "beginner", "worksheet"} <= set(names())
    assert [each.name for each in available()] == list(names())
    assert all(each.description for each in available())


def test_the_default_file_says_what_the_class_says() -> None:
    shipped = load_style("default")
    assert shipped == Style(description=shipped.description)


@pytest.mark.parametrize("name", names())
def test_greys_print_as_grey_and_the_rest_is_readable(name: str) -> None:
    look = load_style(name)
    assert 2.5 <= contrast(look.grey) <= 4.0
    assert contrast(look.ink) > 15
    assert contrast(look.label_colour) >= 4.5
    assert all(contrast(look.bracket(family)) > 2 for family in style.FAMILIES)


def test_the_staff_of_the_large_print_is_nine_millimetres() -> None:
    assert load_style("large-print").staff_height == pytest.approx(9.0, abs=0.2)
    assert load_style("large-print").label_size / load_style("default").label_size == pytest.approx(11.25 /
    8.5, rel=0.02)


def test_screen_colours_are_those_of_the_published_palette_and_all_differ() -> None:
    # Okabe & Ito (2008), Color Universal Design: the six of its eight colours that are neither black nor
    # yellow.
    palette = {"#E69F00", "#56B4E9", "#009E73", "#0072B2", "#D55E00", "#CC79A7"}
    look = load_style("screen")
    assert {look.bracket(family) for family in style.FAMILIES} == palette
    assert all(look.bracket(one) != look.bracket(other) for one, other in combinations(style.FAMILIES, 2))


def test_light_and_worksheet_grey_nothing() -> None:
    assert not load_style("light").greying
    assert (load_style("worksheet").greying, load_style("worksheet").labels) == (False, "blank")


def test_text_of_a_style_reads_back_as_the_style(tmp_path: Path) -> None:
    for name in names():
        copy = tmp_path / f"{name}.toml"
        copy.write_text(style_text(name), encoding="utf-8")
        assert load_style(str(copy)) == load_style(name)


def test_own_file_from_any_folder_takes_its_name_and_leaves_the_rest(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "mine.toml").write_text('grey = "#8a8a8a"\nunit = 9\n', encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    assert load_style("mine.toml") == Style(name="mine", grey="#8A8A8A", unit=9.0)


WRONG = {
    'grey = "grey"': ("grey", '"#909090"'),
    "grey = 5": ("grey", '"#909090"'),
    "unit = 15": ("unit", "from 4.5 to 12"),
    "unit = true": ("unit", "from 4.5 to 12"),
    "unit = nan": ("unit", "from 4.5 to 12"),
    "spacing_linear = -1": ("spacing_linear", "from 0 to 1"),
    'labels = "shrt"': ("labels", "did you mean 'short'"),
    'font = "comic"': ("font", "serif, sans"),
    "greying = 1": ("greying", "true or false"),
    'description = """two\nlines"""': ("description", "one line"),
    'gray = "#909090"': ("'gray'", "did you mean 'grey'"),
    "linewidth = 20": ("linewidth", "did you mean 'line_width'"),
    '[family_colours]\nruns = "#000000"': ("family_colours", "run, chord"),
    '[family_colours]\nrun = "blue"': ("family_colours", "run, chord"),
    "kinds = []": ("kinds", "scale-run, "),
    'kinds = ["no-such-kind"]': ("kinds = 'no-such-kind'", "scale-run, "),
    'labels = "none"': ("labels", "greying = false"),
    'greying = true\nlabels = "blank"': ("labels", "greying = false"),
    "grey = = 1": ("TOML", "line 1"),
}


@pytest.mark.parametrize("text", WRONG)
def test_a_wrong_file_is_refused_naming_file_key_and_values(text: str, tmp_path: Path) -> None:
    path = tmp_path / "wrong.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(SettingsError) as caught:
        load_style(str(path))
    assert caught.value.exit_code == 78
    assert "\n" not in str(caught.value)
    for part in (str(path), *WRONG[text]):
        assert part in str(caught.value)


def test_without_words_nothing_may_be_grey() -> None:
    assert style.read_style('labels = "none"\ngreying = false', "mine", "mine.toml").labels == "none"
    for name in names():
        look = load_style(name)
        assert not (look.greying and look.labels in ("blank", "none"))


def test_what_is_not_grey_cannot_be_covered() -> None:
    with pytest.raises(SettingsError, match="covered = true covers grey notes"):
        read_style("covered = true\ngreying = false", "mine", "mine.toml")
    assert load_style("covered").covered and load_style("covered").greying


def test_an_unknown_name_lists_the_styles_and_guesses() -> None:
    with pytest.raises(SettingsError, match=r"did you mean 'large-print'.*beginner"):
        load_style("largeprint")


def test_a_missing_folder_or_binary_file(tmp_path: Path) -> None:
    for path in (tmp_path / "none.toml", tmp_path):
        with pytest.raises(MissingError, match="cannot be read"):
            load_style(str(path))
    (tmp_path / "bytes.toml").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(SettingsError, match="UTF-8"):
        load_style(str(tmp_path / "bytes.toml"))


def test_every_key_of_the_default_file_is_explained_or_a_rule() -> None:
    text = style_text("default")
    assert all(key in text for key in TAKES if key not in ("name", "family_colours"))
