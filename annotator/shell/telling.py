"""What the program says beside its work: one line on standard error, whatever its letters and wherever that goes."""

from __future__ import annotations

import os
import sys
import unicodedata


def plain_letters(text: str) -> str:
    r"""Return a text without what would steer a terminal: control and format characters become question marks.

    >>> plain_letters("bar \x1b[2J\x9b5")
    'bar ?[2J?5'
    """
    return text if text.isprintable() else "".join("?" if unicodedata.category(sign) in ("Cc", "Cf") else sign for sign in text)


def tell(line: str) -> None:
    """Write one line on standard error. Where that is closed, full or read by nobody any more, the work goes on all the same."""
    if sys.stderr is None:
        return
    encoding = sys.stderr.encoding or "utf-8"
    try:
        sys.stderr.write(f"annotator: {plain_letters(' '.join(line.split()))}\n".encode(encoding, "backslashreplace").decode(encoding))
    except OSError:  # what is left in the buffer would fail once more at the end, and give the exit code of that
        sys.stderr = open(os.devnull, "w")  # noqa: PTH123, SIM115
