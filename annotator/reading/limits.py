"""What a score may be at most, in one table; what goes beyond is refused or repaired.

Conventions
-----------
* Sizes in bytes, durations in whole notes. A limit of the file or of the archive refuses; a limit on ``divisions`` or on a duration
  repairs, and the repair is named.
* Depth of nesting and length of one text are bounded by libxml2 itself (``huge_tree`` stays off).

Source: own measurements on real archives (ratios 3.6 to 22.8) and on hostile ones; the values are choices, not a standard.
"""

from __future__ import annotations

from dataclasses import dataclass

MEBIBYTE = 1024 * 1024


@dataclass(frozen=True, slots=True)
class Limits:
    """The most that is read: ``file`` and ``entry`` in bytes (an entry of an archive, unpacked), ``archive`` all entries together.

    ``elements`` are counted by their tags, before a file is parsed: each takes up to 200 bytes of memory.
    ``ratio`` is unpacked to packed size, looked at above ``ratio_from`` bytes; ``entries`` counts those of an archive. ``notes`` and
    ``parts`` are counted in a score, ``bars`` and ``staves`` in each part. ``divisions`` is the finest a quarter note may be divided,
    ``resolution`` the finest common division kept, ``whole_notes`` the longest duration of one note or bar.
    """

    file: int = 64 * MEBIBYTE
    entry: int = 64 * MEBIBYTE
    archive: int = 128 * MEBIBYTE
    elements: int = 4_000_000
    ratio: int = 200
    ratio_from: int = MEBIBYTE
    entries: int = 1_000
    notes: int = 200_000
    bars: int = 5_000
    parts: int = 32
    staves: int = 8
    divisions: int = 16_384
    resolution: int = 2**40
    whole_notes: int = 64


LIMITS = Limits()
"""The limits in force unless others are given."""
