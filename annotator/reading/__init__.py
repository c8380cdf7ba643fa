"""From bytes to a ``Score``: the container, the hardened document, the bars, the notes."""

from __future__ import annotations

from annotator.reading.container import shown_path, source_bytes
from annotator.reading.document import Document
from annotator.reading.loading import load
from annotator.reading.reader import read, read_document

__all__ = ["Document", "load", "read", "read_document", "shown_path", "source_bytes"]
