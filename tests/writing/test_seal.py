"""What is ours and unchanged is told by its seal; what somebody has written on, or edited, is not written over."""

from __future__ import annotations

from pathlib import Path

import pytest
from marked_bytes import mark_bytes
from writing.invented import note, score_of

from annotator.errors import OutputError
from annotator.marks.style import load_style
from annotator.musicxml.files import write_file
from annotator.musicxml.seal import as_we_made_it, is_our_work, made_by_us, seal_of, sealed
from annotator.options.settings import Options
from annotator.pages.pdf import write_pdf, write_png

PAGE = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 210 297"><desc>Marked by annotator.</desc>'
    '<svg class="definition-scale" viewBox="0 0 21000 29700"><g class="page-margin"/></svg></svg>\n'
)
SCORE = score_of("".join(map(note, "CDEFGABC")))


def files() -> dict[str, bytes]:
    """Return one file of each kind, as the program makes them."""
    marked = mark_bytes(SCORE, Options(), load_style("default"))
    wide = SCORE.replace(b'encoding="UTF-8"', b'encoding="UTF-16"').decode().encode("utf-16")
    return {
        "x.musicxml": marked,
        "wide.musicxml": mark_bytes(wide, Options(), load_style("default")),
        "x.pdf": write_pdf([PAGE], "a4", "Study", ""),
        "x.png": write_png(PAGE, "a4", 30),
        "x.svg": PAGE.encode(),
        "x.html": b'<!doctype html><html><head><meta name="generator" content="annotator"></head></html>\n',
    }


@pytest.mark.parametrize("name", sorted(files()))
def test_a_seal_is_unbroken_until_anything_changes(name: str) -> None:
    data = sealed(files()[name])
    assert is_our_work(data) and seal_of(data) is True and sealed(data) == data
    for place in range(0, len(data), max(1, len(data) // 200)):
        changed = data[:place] + bytes([data[place] ^ 1]) + data[place + 1 :]
        assert seal_of(changed) is not True, place
    assert seal_of(data + b"\n% more\n") is False and seal_of(data[:-2] + data[-1:]) is not True


@pytest.mark.parametrize("name", sorted(files()))
def test_what_somebody_changed_is_his(tmp_path: Path, name: str) -> None:
    place = tmp_path / name
    write_file(place, files()[name])
    assert as_we_made_it(place)
    write_file(place, files()[name].replace(b"Study", b"Other"))
    place.write_bytes(place.read_bytes() + b" ")
    assert made_by_us(place) and not as_we_made_it(place)
    with pytest.raises(OutputError, match="changed since this program made it: --force"):
        write_file(place, b"new")
    write_file(place, b"new", force=True)
    assert place.read_bytes() == b"new"


def test_an_edited_copy_is_marked_anew_with_force_only_and_its_edits_stay(tmp_path: Path) -> None:
    place = tmp_path / "x-marked.musicxml"
    edited = files()["x.musicxml"].replace(b"<part-name>Piano", b"<part-name>Clavier")
    place.write_bytes(edited)
    again = mark_bytes(edited, Options(), load_style("default"))
    with pytest.raises(OutputError, match="--force marks it anew with its changes kept"):
        write_file(place, again, sources=(place,))
    write_file(place, again, sources=(place,), force=True)
    assert b"<part-name>Clavier" in place.read_bytes() and as_we_made_it(place)


def test_copies_of_earlier_versions_have_no_seal_and_count_as_ours(tmp_path: Path) -> None:
    place = tmp_path / "x.svg"
    place.write_bytes(PAGE.encode())
    assert seal_of(PAGE.encode()) is None and as_we_made_it(place)
