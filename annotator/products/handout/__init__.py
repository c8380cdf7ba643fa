"""The handout for a lesson: a look-through page, the marked score, a legend, and a worksheet with its answers."""

from __future__ import annotations
