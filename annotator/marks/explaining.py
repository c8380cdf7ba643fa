"""Kinds of figures and notes explained in text: the rule of a kind with an example, and why a note is black or grey.

Conventions: a hand is drawn as a row of notes, bars parted by ``|``, notes struck together joined by ``+``, grey notes in parentheses.
What a bracket says stands in square brackets before the note with which it begins. The example of a kind is a small score of our own in
which the program finds that kind: what is drawn is what it does.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from annotator.errors import UsageError
from annotator.figures.figure import Figure
from annotator.figures.lines import hand_of
from annotator.figures.small_scores import EXAMPLES, small_score
from annotator.marks.finding import find_figures
from annotator.marks.report import Report, columns, in_time
from annotator.music.names import name_of
from annotator.music.score import Note, Part
from annotator.options.settings import FEWEST_OF_A_RUN, Options
from annotator.reading import read
from annotator.words.labels import change_words, dark_words, kind_name, labels, rule_words
from annotator.words.phrases import explaining, heading, note_name


def explained(kind: str, language: str = "en") -> str:
    """Return what there is to say of a kind of figure: its name, its rule, what stays black, and an example drawn in text."""
    example = read(small_score(EXAMPLES[kind]))
    report = find_figures(example, Options(kinds=(kind,), language=language, saves=1, shortest=FEWEST_OF_A_RUN))
    rule = [rule_words(kind, language), _black(kind, language), explaining("in-the-key", language)]
    head = [f"{kind_name(kind, language)} ({kind})", "", *rule, "", explaining("example", language)]
    return "\n".join([*head, *drawn(report)]) + "\n"


def drawn(report: Report) -> Iterator[str]:
    """Yield a line for each hand of each part that was looked at, with all its struck notes."""
    begins: dict[int, str] = {}
    for _, figure in report.figures:
        begins[figure.struck[0].number] = labels(figure, report.language)[0]
        begins.update({note.number: text for note, text in change_words(figure, report.language)})
    for part in report.score.parts:
        struck = [note for note in part.notes if note.number in report.counted]
        for hand in ("right", "left"):
            own = in_time(note for note in struck if hand_of(part, note) == hand)
            if own:
                yield f"{heading(hand, report.language)}: {_row(own, begins, report)}"


def _row(notes: Iterable[Note], begins: dict[int, str], report: Report) -> str:
    """Return the notes of a hand as they are drawn."""
    moments: list[str] = []
    before: Note | None = None
    for note in notes:
        name = _name(note, report.language)
        text = f"({name})" if note.number in report.grey_numbers else name
        if before is not None and before.tick == note.tick:
            moments[-1] += f"+{text}"
        else:
            moments += ["|"] if before is not None and before.bar != note.bar else []
            moments += [f"[{begins[note.number]}]"] if note.number in begins else []
            moments.append(text)
        before = note
    return " ".join(moments)


def reasons_in_bar(report: Report, number: str) -> str:
    """Return a table of the notes of the bar that is printed as ``number``: black or grey, and why; below it the rules that this goes by.

    Raises a ``UsageError`` where there is no such bar among those looked at.
    """
    rows: list[tuple[str, ...]] = []
    kinds: dict[str, None] = {}
    figure_of = {note.number: figure for _, figure in report.figures for note in figure.notes}
    for part in report.score.parts:
        if any(note.number in report.counted for note in part.notes):
            notes = in_time(note for note in part.notes if part.bars[note.bar].number == number)
            rows += [_reason(note, part, report, figure_of.get(note.number)) for note in notes]
            kinds.update(dict.fromkeys(figure_of[note.number].kind for note in notes if note.number in figure_of))
    if not rows:
        raise UsageError(f"no notes of a bar {number!r} were looked at: 'annotator figures SCORE' says which bars there are")
    language = report.language
    head = [heading("bar", language), explaining("beat", language), heading("hand", language), explaining("note", language)]
    table = columns([*head, explaining("ink", language), explaining("why", language)], rows, right=0)
    rules = [f"{kind_name(kind, language)}: {rule_words(kind, language)} {_black(kind, language)}" for kind in kinds]
    return "\n\n".join([table, *rules, *([explaining("in-the-key", language)] if rules else [])]) + "\n"


def _reason(note: Note, part: Part, report: Report, figure: Figure | None) -> tuple[str, ...]:
    """Return the row of one note, of a figure or of none."""
    language = report.language
    label = _label(figure, note, language) if figure else ""
    grey = note.number in report.grey_numbers
    if note.continues is not None:
        why = explaining("held", language)
    elif figure is None:
        why = explaining("free" if note.number in report.counted else "outside", language)
    elif grey:
        why = explaining("follows", language).format(label=label)
    else:
        odd = any(note.number == each.number for each in figure.odd)
        why = explaining("odd" if odd else "anchor", language).format(label=label)
    ink = "–" if note.continues is not None else explaining("grey" if grey else "black", language)
    bar, beat = report.place(note)
    return bar, f"{beat:g}", heading(hand_of(part, note), language), _name(note, language), ink, why


def _label(figure: Figure, note: Note, language: str) -> str:
    """Return what the bracket says at a note: its label, and the chord that is named last."""
    named = [text for first, text in change_words(figure, language) if first.tick <= note.tick]
    return " … ".join([labels(figure, language)[0], *named[-1:]])


def _black(kind: str, language: str) -> str:
    return explaining("stays", language).format(what=dark_words(kind, language))


def _name(note: Note, language: str) -> str:
    """Return the name of a note with its octave (middle C is C4)."""
    return f"{note_name(name_of(note.pitch), language)}{note.pitch.octave}"
