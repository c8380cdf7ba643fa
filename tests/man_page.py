"""The manual page, made from the help of the commands: ``python tests/man_page.py --write`` makes it anew.

Conventions: a page of section 1 in the man macros (man(7)), ``annotator/shell/annotator.1``; it is packed into the
wheel. Nothing in it depends on the day or the terminal.
"""

from __future__ import annotations

import argparse
from pathlib import Path

from annotator.options.settings import rows_of
from annotator.shell import help_texts
from annotator.shell.cli import COMMANDS, WIDEST, app

PAGE = Path(__file__).resolve().parents[1] / "annotator" / "shell" / "annotator.1"
ABOUT = (
    "reads piano scores (MusicXML; ABC, kern, MEI and MIDI by converting them) and writes marked copies: each figure that a pianist takes"
    " in at a glance gets a bracket that names it, and the notes that follow from the name turn grey. The source is never written to."
)


def roff(text: str) -> str:
    """Return a text as it is written in a page: what would steer the typesetter is escaped."""
    escaped = text.replace("\\", "\\e").replace("-", "\\-")
    escaped = "".join(sign if sign.isascii() else f"\\[u{ord(sign):04X}]" for sign in escaped)
    return f"\\&{escaped}" if escaped.startswith((".", "'")) else escaped


def man_page() -> str:
    """Return the page."""
    lines = [".TH ANNOTATOR 1", ".SH NAME", roff("annotator - mark the figures a pianist can take in at a glance"), ".SH SYNOPSIS"]
    lines += [".B annotator", roff("COMMAND [OPTION…] SCORE…"), ".SH DESCRIPTION", ".B annotator", roff(ABOUT)]
    for command in COMMANDS:
        lines += [f".SH {roff(command.upper())}", roff(app.get_command(None, command).get_short_help_str(WIDEST))]
        for row in rows_of(command):
            flags = ", ".join([*([row.short] if row.short else []), f"--{row.key}"])
            said = row.helps(command).replace(" (listed below)", "")
            lines += [".TP", rf"\fB{roff(flags)}\fR {roff(row.takes.metavar)}".rstrip(), roff(said)]
        for typed, what in help_texts.EXAMPLES[command]:
            lines += [".PP", rf"\fBannotator {roff(typed)}\fR", ".RS", roff(what), ".RE"]
    lines += [".SH FILES", ".TP", roff("annotator.toml"), roff("What you always want, beside the scores or in a folder above them.")]
    codes = help_texts.below_the_options("annotator").split("Exit codes:\n")[1].splitlines()
    lines.append(".SH EXIT STATUS")
    for line in codes:
        code, said = line.strip().split("  ", 1)
        lines += [".TP", roff(code), roff(said.strip())]
    return "\n".join(lines) + "\n"


def main() -> None:
    """Print the page, or write it to its place."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--write", action="store_true", help="write the page to its place")
    if parser.parse_args().write:
        PAGE.parent.mkdir(exist_ok=True)
        PAGE.write_text(man_page(), encoding="utf-8")
    else:
        print(man_page(), end="")


if __name__ == "__main__":
    main()
