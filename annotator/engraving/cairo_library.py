"""The one door to cairo, the C library that writes PDF and PNG: loaded here, or its absence explained.

Convention: nothing else imports cairocffi or cairosvg, so that all but the pages works where the library is
missing.
"""

from __future__ import annotations

from contextlib import suppress
from threading import Thread
from types import ModuleType

from annotator.engraving import fonts
from annotator.errors import EngraverError

MISSING = (
    "the library cairo is missing, so no PDF or PNG can be made: install it "
    "(Debian, Ubuntu: apt install libcairo2; Fedora: dnf install cairo; macOS: brew install cairo; "
    "Windows: the GTK 3 runtime) and run again"
)


def load_ahead() -> None:
    """Begin to load in the background, for the time that the engraver keeps us waiting; ``load`` waits for it and meets its errors."""
    Thread(target=_load_quietly, name="cairo").start()


def _load_quietly() -> None:
    with suppress(EngraverError):
        load()


def load() -> ModuleType:
    """Return the module ``cairocffi``, the page's typefaces made known to it first."""
    try:
        import cairocffi
    except OSError as error:
        raise EngraverError(MISSING) from error
    except ImportError as error:
        raise EngraverError("the package cairocffi is missing: pip install cairocffi") from error
    fonts.register()
    module: ModuleType = cairocffi
    return module
