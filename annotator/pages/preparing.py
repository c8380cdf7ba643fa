"""What the engraver is given to draw: its own document of the score, with our head, breaks and carriers in it.

Conventions: MEI is the engraver's own kind of document. Bars are counted from 0, staves through all parts from 1.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate
from typing import Any

from lxml import etree

from annotator.errors import EngraverError
from annotator.pages.breaks import even_breaks
from annotator.pages.carriers import MEI, XML_ID, add_carriers, add_note_names, drop_labels, set_breaks, set_head
from annotator.pages.finishing import Job, first_staves, staff_of_notes
from annotator.pages.heads import add_signs
from annotator.pages.importing import Import
from annotator.pages.paper import head_lines, keep_room
from annotator.pages.strip import NO_STRIP, Strip, read_strip
from annotator.pages.widening import Stretches, widen, widened

_PARSER = etree.XMLParser(resolve_entities=False, no_network=True, huge_tree=True, remove_blank_text=True)


@dataclass(frozen=True, slots=True)
class Imported:
    """The engraver's own document (MEI) of the score, and the score as one endless system."""

    mei: str
    strip: Strip


def take_in(job: Job, given: Import) -> Imported:
    """Return what the engraver made of the score. Raises ``EngraverError``."""
    answer = given.answer()
    return Imported(answer["mei"], NO_STRIP if job.breaks == "source" else read_strip(parsed(answer["strip"]), staff_of_notes(job)))


def begins(job: Job, imported: Imported, stretches: Stretches) -> tuple[int, ...]:
    """Return the indexes of the bars that begin a new system, the first bar not among them."""
    strip = imported.strip
    return even_breaks(widened(strip.widths, strip.bar_of, stretches), job.paper.inner_width, strip.start)


@dataclass(frozen=True, slots=True)
class Prepared:
    """What is drawn, and the ids of the bars that begin its systems (none where the source says where they end)."""

    mei: str
    starts: tuple[str, ...]


def prepare(job: Job, imported: Imported, stretches: Stretches, systems: Sequence[int] = ()) -> Prepared:
    """Put head, carriers and breaks into the engraver's document, and what makes bars wider; ``systems``: how many each page has."""
    mei = parsed(imported.mei)
    starts: tuple[str, ...] = ()
    if job.breaks != "source":
        starts_at = begins(job, imported, stretches)
        set_breaks(mei, starts_at, [starts_at[place - 1] for place in list(accumulate(systems))[:-1]])
        wanted = {0, *starts_at}
        starts = tuple(bar.get(XML_ID, "") for index, bar in enumerate(mei.iter(MEI + "measure")) if index in wanted)
    if len(job.score.parts) == 1:
        drop_labels(mei)
    widen(mei, stretches)
    set_head(mei, keep_room(head_lines(job.document, job.score, job.paper)))
    add_carriers(mei, job.markings.marks, first_staves(job))
    add_signs(mei, job.signs)
    if job.note_names:
        add_note_names(mei, job.markings.marks, job.markings.anchors, first_staves(job), job.language)
    return Prepared(etree.tostring(mei, encoding="unicode"), starts)


def parsed(text: str) -> Any:
    """Return an answer of the engraver as a tree. Raises ``EngraverError``."""
    try:
        return etree.fromstring(text.encode("utf-8"), _PARSER)
    except etree.XMLSyntaxError as error:
        raise EngraverError("the engraver's answer is no XML") from error
