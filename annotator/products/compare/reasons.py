"""Why each grey note is grey: the kinds of the figures that make it so.

Conventions: a reason is the names of the kinds, alphabetically, with spaces between them; any one of them suffices. What belongs to
several notes (a beam, a tie) has the reasons of all of them, with commas between, and each must hold.

>>> holds("alberti-bass hands-in-octaves,arpeggio", {"arpeggio", "hands-in-octaves"}), holds("arpeggio,trill", {"trill"})
(True, False)
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping

from annotator.marks.marking import Markings
from annotator.marks.report import Report


def reasons(report: Report, markings: Markings) -> Mapping[int, str]:
    """Return the reason of each grey note by its number; a tied-on note has that of the note it continues."""
    kinds: dict[int, set[str]] = {}
    for _, figure in report.figures:
        for note in figure.grey:
            kinds.setdefault(note.number, set()).add(figure.kind)
    tied = [note for part in report.score.parts for note in part.notes if note.continues is not None]
    for note in sorted(tied, key=lambda note: (note.tick, note.number)):
        if note.continues in kinds:
            kinds.setdefault(note.number, set()).update(kinds[note.continues])
    return {number: " ".join(sorted(kinds[number])) for number in sorted(markings.grey) if number in kinds}


def grey_counts(report: Report, why: Mapping[int, str]) -> Mapping[str, int]:
    """Return how many of the notes that count are grey for each reason, reasons alphabetically."""
    counts = Counter(why[number] for number in report.grey_numbers)
    return {reason: counts[reason] for reason in sorted(counts)}


def holds(reason: str, shown: Collection[str]) -> bool:
    """Tell whether something is grey when the figures of these kinds are shown."""
    return all(any(kind in shown for kind in each.split()) for each in reason.split(","))
