"""What Python shows of an object: counts in words, and tables for a notebook.

>>> counted(1, "bar"), counted(24, "bar")
('1 bar', '24 bars')
>>> table("A & B", ["bar"], [["5"]])
'<table><caption>A &amp; B</caption><tr><th>bar</th></tr><tr><td>5</td></tr></table>'
"""

from __future__ import annotations

from collections.abc import Iterable


def counted(count: int, what: str) -> str:
    """Return a count in words."""
    return f"{count} {what}{'' if count == 1 else 's'}"


def table(caption: str, heads: Iterable[str], rows: Iterable[Iterable[object]]) -> str:
    """Return a table as HTML; all texts are escaped."""
    from html import escape  # which is wanted in notebooks alone

    lines = [("th", heads), *(("td", row) for row in rows)]
    texts = ("".join(f"<{tag}>{escape(str(cell))}</{tag}>" for cell in cells) for tag, cells in lines)
    return f"<table><caption>{escape(caption)}</caption>{''.join(f'<tr>{text}</tr>' for text in texts)}</table>"
