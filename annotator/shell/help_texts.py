"""What ``-h`` says besides the options: examples, the kinds of figures, the exit codes.

Conventions: an example is a line to type and, under it, what it does. Texts fit a terminal of 80 columns. Kinds and exit codes are asked of
the program itself when help is wanted, never written down here.
"""

from __future__ import annotations

from collections.abc import Sequence
from textwrap import wrap

from annotator.options.settings import rows_of

WIDTH = 76

Example = tuple[str, str]
"""What follows ``annotator`` on the line, and what it does."""

EXAMPLES: dict[str, Sequence[Example]] = {
    "annotator": (
        ("mark piece.musicxml", "writes piece-marked.musicxml and piece-marked.pdf beside it"),
        ("figures piece.musicxml", "says what is in the piece, and writes nothing"),
        ("mark -h", "every option of mark, with examples"),
    ),
    "mark": (
        ("mark piece.musicxml", "the marked copy for the music stand, as MusicXML and PDF"),
        ("mark Music --out marked --jobs 2", "every score below a folder, into another folder"),
        ("mark piece.mxl --style large-print --paper letter", "large print on US letter"),
        ("mark piece.musicxml --hand right --bars 5-12", "the right hand of these bars only"),
        ("mark piece.musicxml --kinds scale-run,arpeggio", "runs and arpeggios only"),
        ("mark piece.musicxml --steps 4", "a practice series, four copies with less and less help"),
        ("mark Music --watch", "goes on until Ctrl-C: what is put into the folder is marked"),
        ("mark piece.musicxml --dry-run", "says what would be written, and writes nothing"),
        ("mark - < piece.musicxml > marked.musicxml", "in a pipe, MusicXML only"),
    ),
    "plain": (
        ("plain piece-marked.musicxml", "writes piece-plain.musicxml: everything else as it was"),
        ("plain Music --out clean", "every marked copy below a folder, into another folder"),
        ("plain - < marked.musicxml > plain.musicxml", "in a pipe"),
    ),
    "figures": (
        ("figures piece.musicxml", "a table: where, which hand, what it is, notes left to read"),
        ("figures piece.musicxml --bars 5-12 --hand left", "the left hand of these bars"),
        ("figures piece.musicxml --json > report.json", "the whole report, for programs"),
        ("figures piece.musicxml --csv", "one line a figure, for a spreadsheet"),
        ("figures piece.musicxml --why 12", "each note of bar 12: black or grey, and why"),
        ("figures --explain broken-chord", "what that is, with an example"),
    ),
    "compare": (
        ("compare piece.musicxml", "writes piece-compare.pdf and piece-compare.html"),
        ("compare piece.musicxml --facing", "in the PDF, plain on left pages and marked on right ones"),
        ("compare piece.musicxml --bars 1-16 --style screen", "what these bars are made of, in colours"),
    ),
    "handout": (
        ('handout piece.musicxml --class "Grade 3, week 2"', "writes a handout, a worksheet and its answers, as PDF"),
        ("handout piece.musicxml --bars 5-12 --title Runs", "all three of these bars only, under a title of your own"),
        ("handout piece.musicxml --level 1 --class Anna", "for a beginner: its style, steps and kinds of figures in one word"),
        ("handout piece.musicxml --warm-up --steps 4 --one-file", "a whole week's paper in one PDF to print"),
        ("handout piece.musicxml --language de --out lesson", "in German, into another folder"),
    ),
    "survey": (
        ("survey Music", "every score below a folder, ranked"),
        ("survey Music --kind runs,alberti-bass", "those that drill these figures, best first"),
        ("survey Music --effort 20-35 --share 50", "not too easy, not too hard, at least half of them grey"),
        ("survey Music --like piece.mxl", "more of the kind of this one"),
        ("survey Music --pick 5 --effort 20-35 --rising", "five for today in a range, a step harder than yesterday"),
        ("survey Music --html library.html", "a page with charts and a table to sort"),
    ),
    "styles": (
        ("styles", "one line a style, its name first"),
        ("styles show default > mine.toml", "a style file to change, every key explained"),
        ("mark piece.musicxml --style mine.toml", "the look you made"),
    ),
    "check-setup": (("check-setup", "a line for each piece the program needs"),),
    "settings": (
        ("settings", "the options in force in this folder, and where each is from"),
        ("settings Music/piece.musicxml --style light", "for this score, with one option typed"),
    ),
}
"""The examples of each command, of the whole program under its own name."""

def below_the_options(command: str) -> str:
    """Return what stands below the options of a command, or of the whole program (``annotator``)."""
    blocks = ["Examples:\n" + "\n".join(f"  annotator {line}\n      {what}" for line, what in EXAMPLES[command])]
    rows = rows_of(command)
    if any(row.takes.of == "kinds" for row in rows):
        blocks.append("Kinds of figures:\n" + _kinds(command != "survey"))
    if command == "survey":
        from annotator.products.survey.tables import COLUMNS

        blocks.append("Columns to sort by:\n" + _filled(", ".join(column.key for column in COLUMNS) + ".", "  "))
    if any(row.in_file for row in rows):
        blocks.append(_filled("What you always want can stand in an annotator.toml beside the scores or in a folder above them."))
    blocks.append(_exit_codes() if command == "annotator" else "Exit codes: 0 is done; 'annotator -h' lists the others.")
    return "\n\n".join(blocks)


def _kinds(every: bool) -> str:
    """Return the names of the kinds, or only of ``every`` one that is looked for unasked; the others come last."""
    from annotator.figures.registry import KINDS

    usual = ", ".join(kind.name for kind in KINDS if kind.default)
    asked_for = ", ".join(kind.name for kind in KINDS if not kind.default)
    return _filled(f"{usual}; only where it is asked for: {asked_for}." if every else f"{usual}.", "  ")


def _exit_codes() -> str:
    """Return the exit codes, one a line: those of the errors, and the three that are no error of ours."""
    from annotator.errors import AnnotatorError
    from annotator.shell.running import FAULT, INTERRUPTED

    codes = {0: "Done.", FAULT: "A fault of the program; --debug shows where.", INTERRUPTED: "Interrupted; nothing half-written is left."}
    codes |= {kind.exit_code: kind.__doc__ or "" for kind in AnnotatorError.__subclasses__()}
    return "Exit codes:\n" + "\n".join(f"  {code:3}  {codes[code]}" for code in sorted(codes))


def _filled(text: str, indent: str = "") -> str:
    """Return a paragraph in lines, words with a hyphen kept whole."""
    return "\n".join(wrap(text, WIDTH, initial_indent=indent, subsequent_indent=indent, break_on_hyphens=False))
