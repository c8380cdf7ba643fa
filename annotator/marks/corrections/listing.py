"""A file of corrections to begin with: all figures found, as comments to be uncommented and changed."""

from __future__ import annotations

import json

from annotator.marks.report import Report, beat_of

HEAD = """\
# Corrections to {name}. Nothing is in force while a # stands before it.
# Every figure found stands below as a [[drop]]: take the # off its lines, and it is gone from all copies.
# Write [[label]] in place of [[drop]], and text = "…" below it, and it stays under another label.
#
# Notes that stay black, by bars and hand, or by their ids (annotator figures --json tells them):
#   [[read]]
#   bars = "3-4"
#   hand = "left"
#
# A bracket of your own. It greys nothing, unless grey = true; then the page's foot says that these notes are yours:
#   [[bracket]]
#   from = {{ bar = "5", beat = 1 }}
#   to = {{ bar = "6", beat = 3 }}
#   hand = "right"
#   text = "like the bells"
"""


def listing(report: Report, name: str) -> str:
    """Return the text of a file with every figure of a report as a comment. ``name`` is that of the score."""
    blocks = [HEAD.format(name=" ".join(name.split()))]
    for (_, figure), row in zip(report.figures, report.rows(), strict=True):
        first = figure.moments[0][0]
        bar = report.bars[first.part][first.bar]
        beat = float(beat_of(first, bar, report.score.resolution))
        beat = int(beat) if beat.is_integer() else beat
        says = {"bar": bar.number, "beat": beat, "hand": figure.hand, "kind": figure.kind, "label": row.label}
        lines = [f"#{key} = {json.dumps(value, ensure_ascii=False)}" for key, value in says.items()]
        blocks.append("\n".join([f"# {row.notes} notes, {row.to_read} to read", "#[[drop]]", *lines]) + "\n")
    return "\n".join(blocks)
