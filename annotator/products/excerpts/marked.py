"""Some bars of a score, marked, as one object that a notebook shows as a picture.

>>> import annotator
>>> shown = annotator.excerpt(annotator.example(), bars="5-8", hand="left")
>>> shown.report.headline, [figure.kind for _, figure in shown.report.figures]
('29 notes, 9 to read', ['broken-chord'])
>>> shown._repr_svg_()[:4]
'<svg'

A notebook shows ``shown`` as music where it stands last in a cell; ``shown.write("bars-5-8.svg")`` keeps the picture.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from html import escape
from pathlib import Path
from typing import Any

from annotator.marks.corrections import find_corrected
from annotator.marks.marking import markings
from annotator.marks.report import Report
from annotator.marks.style import Style, load_style
from annotator.musicxml.files import write_file
from annotator.musicxml.record import take_out
from annotator.options.settings import options_of
from annotator.products.excerpts.carrying import carried
from annotator.products.excerpts.cutting import Excerpt
from annotator.products.excerpts.cutting import excerpt as cut
from annotator.products.excerpts.selection import one_stretch
from annotator.products.excerpts.snippet import Snippet, engrave_snippet
from annotator.products.marked_copies import with_style
from annotator.reading import load, read_document

WIDTH = 180.0
"""How wide a picture is at most, in millimetres: the music of an A4 page."""


@dataclass(frozen=True, repr=False)
class MarkedExcerpt:
    """Some bars with their figures: the little score, the report of its figures, the look, and how wide it may be in millimetres.

    A notebook shows it as music. ``annotator.excerpt`` makes one.
    """

    excerpt: Excerpt
    report: Report
    style: Style
    width_mm: float = WIDTH

    @cached_property
    def snippet(self) -> Snippet:
        """The engraved picture. Raises ``EngraverError``."""
        return self.picture()

    def picture(self, prefix: str = "") -> Snippet:
        """Return the engraved picture; with a prefix of its ids, for several in one page."""
        little = self.excerpt
        marks = markings(self.report, little.score)
        return engrave_snippet(little.document, little.score, marks, self.style, self.width_mm, self.report.language, prefix)

    def write(self, path: Path | str, force: bool = False) -> Path:
        """Write the picture as an SVG file, never over a file that is not this program's own without ``force``."""
        write_file(Path(path), self.snippet.svg.encode(), force=force)
        return Path(path)

    def __repr__(self) -> str:
        """Return it in one line."""
        little = self.excerpt
        return f"<MarkedExcerpt of {little.score.title!r}, bars {little.first}–{little.last}: {self.report.headline}>"

    def _repr_svg_(self) -> str:
        """Show it in a notebook."""
        return self.snippet.svg

    def _repr_html_(self) -> str:
        """Show it in a notebook that takes HTML, with its headline below."""
        return f"<figure>{self.snippet.svg}<figcaption>{escape(self.report.headline)}</figcaption></figure>"


def excerpt(
    path: Path | str,
    bars: str,
    hand: str = "both",
    style: str = "default",
    of_the_whole: bool = False,
    width_mm: float = WIDTH,
    **options: Any,
) -> MarkedExcerpt:
    """Return bars of a score, marked, for a notebook or a page of one's own.

    ``bars`` are printed numbers, ``5-8``, ``5``, ``5-`` or ``-8``; ``hand`` is ``right``, ``left`` or ``both``; ``options`` are fields of
    ``Options``. The figures are looked for in these bars alone; ``of_the_whole`` shows those of the whole piece that lie in them. Raises an
    ``AnnotatorError``.

    >>> import annotator
    >>> shown = annotator.excerpt(annotator.example("lamps-on-the-water"), bars="5-8", hand="right", language="fr")
    >>> shown.report.headline
    '25 notes, 5 à lire'
    """
    document = load(path)
    take_out(document)
    score = read_document(document)
    look = load_style(style)
    cutting = options_of({**options, "bars": bars, "hand": hand}, "figures")
    first, last = one_stretch(cutting.bars)
    little = cut(document, score, first, last, hand=hand, parts=cutting.parts)
    wanted = with_style(replace(cutting, bars=None, hand="both"), look)
    report = carried(find_corrected(score, wanted)[0], little) if of_the_whole else find_corrected(little.score, wanted, score)[0]
    return MarkedExcerpt(little, report, look, width_mm)
