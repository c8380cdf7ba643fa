"""The score as the engraver takes it in: the copy it is given and its answer, which may be asked for while figures are looked for.

Conventions: see ``pages`` for what becomes of the answer. A score that the engraver must not see, and an engraver that fails, are told when
the answer is wanted, not before.
"""

from __future__ import annotations

from threading import Thread
from typing import Any

from annotator.marks.style import Style
from annotator.pages.engraver import ask
from annotator.pages.paper import Paper
from annotator.pages.render_copy import RenderCopy, render_copy
from annotator.reading.document import Document


def page_options(style: Style, paper: Paper) -> dict[str, Any]:
    """Return what the engraver is told of style and paper, for the import as for the pages."""
    return {
        "pageWidth": paper.width,
        "pageHeight": paper.height,
        "unit": style.unit,
        "spacingLinear": style.spacing_linear,
        "spacingNonLinear": style.spacing_nonlinear,
        "footer": "none",
    }


class Import:
    """An unmarked document on its way into the engraver. Raises an ``EngraverError`` if the engraver must not see it."""

    def __init__(self, document: Document, style: Style, paper: Paper) -> None:
        """Make the copy that the engraver is given."""
        self.copy: RenderCopy = render_copy(document)
        self._options = page_options(style, paper) | {"breaks": "none", "xmlIdSeed": 1, "adjustPageWidth": True, "header": "none"}
        self._document, self._look = document, page_options(style, paper)
        self._answer: dict[str, Any] | None = None
        self._failure: BaseException | None = None
        self._thread: Thread | None = None

    def fits(self, document: Document, style: Style, paper: Paper) -> bool:
        """Whether this is the import of a document in a look."""
        return self._document is document and self._look == page_options(style, paper)

    def begin(self) -> None:
        """Ask the engraver now, and go on."""
        self._thread = Thread(target=self._ask, name="import", daemon=True)
        self._thread.start()

    def answer(self) -> dict[str, Any]:
        """Return what the engraver answers: its own document (``mei``) and the score as one long system (``strip``)."""
        if self._thread is not None:
            self._thread.join()
        elif self._answer is None:
            self._ask()
        if self._failure is not None:
            raise self._failure
        assert self._answer is not None
        return self._answer

    def _ask(self) -> None:
        try:
            self._answer = ask("import", self.copy.text, self._options, len(self.copy.printed))
        except Exception as failure:  # raised again where the answer is wanted
            self._failure = failure


def begun(document: Document, style: Style, paper: Paper) -> Import | None:
    """Return an import that has begun, None where no copy can be made."""
    try:
        made = Import(document, style, paper)
    except Exception:  # it comes again when the pages are asked for, and is met there
        return None
    made.begin()
    return made
