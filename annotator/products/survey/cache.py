"""What earlier runs found out, kept in the user's cache folder: records by content, and which content each file had.

Conventions
-----------
* What is kept counts only for the same program: one SQLite file for each fingerprint (``survey-<fingerprint>.sqlite``); when a new one
  begins, those go that were not written to for ``UNUSED`` days. ``ANNOTATOR_CACHE`` names another folder.
* The fingerprint is a hash of the version and the sources that read, find and measure (``BEARING``). What draws, words, chooses or asks has
  no bearing; a test holds the list against what measuring a file loads.
* The content decides: a record belongs to a digest. A file whose size, times and number on the disk are those of an earlier run is taken
  to have the content it had then; so it need not be opened. That is not believed of a file changed within ``RECENT`` seconds of being
  read, which could have changed again within one tick of the clock.
* SQLite locks the file for the moment of each write, so two runs at once are safe; what is written is complete or absent. A cache that
  cannot be made, read or written is done without, one that is damaged is removed, and the next run begins anew: it only saves time. A
  record that is not as it was kept (a checksum tells) is made anew.

Source: the racy file is the one git's index documents ("Use of index and Racy Git problem"); SQLite's documentation of WAL.
"""

from __future__ import annotations

import os
import sqlite3
import time
from contextlib import AbstractContextManager, closing, suppress
from functools import lru_cache
from hashlib import blake2b
from pathlib import Path

from annotator.options import __version__
from annotator.products.gathering import Found

UNUSED = 30  # days
RECENT = 2_000_000_000  # nanoseconds
PATIENCE = 10.0  # seconds that a run waits for another one's write

BEARING = (
    *("errors.py", "figures", "formats", "music", "options", "reading"),
    *("marks/finding.py", "marks/report.py", "musicxml/record.py", "products/handout/hands.py"),
    *(f"products/survey/{name}.py" for name in ("cache", "effort", "measures", "measuring")),
)
"""The modules and packages that decide what is found."""

_SET_UP = (
    "PRAGMA journal_mode = WAL",
    "PRAGMA synchronous = NORMAL",
    "CREATE TABLE IF NOT EXISTS records (digest TEXT PRIMARY KEY, record TEXT NOT NULL) WITHOUT ROWID",
    "CREATE TABLE IF NOT EXISTS files (path BLOB PRIMARY KEY, size, modified, changed, inode, digest TEXT NOT NULL) WITHOUT ROWID",
)


@lru_cache(maxsize=1)
def program() -> str:
    """Return the fingerprint of the program: 16 letters and digits."""
    root = Path(__file__).parents[2]
    found = blake2b(__version__.encode(), digest_size=8)
    for name in BEARING:
        place = root / name
        for path in sorted(place.rglob("*.py")) if place.is_dir() else [place]:
            source = path.read_bytes().replace(b"\r\n", b"\n")
            found.update(f"{path.relative_to(root).as_posix()} {len(source)}\n".encode() + source)
    return found.hexdigest()


def cache_folder() -> Path:
    """Return the folder for what can be worked out again."""
    from platformdirs import user_cache_path

    return Path(os.environ.get("ANNOTATOR_CACHE") or user_cache_path("annotator", appauthor=False))


class Cache:
    """The cache of one run; ``None`` as its path: nothing is kept and nothing is found."""

    def __init__(self, path: Path | None) -> None:
        self._path = path
        self._connection: sqlite3.Connection | None = None
        if path is not None:
            with suppress(OSError, sqlite3.Error):
                path.parent.mkdir(parents=True, exist_ok=True)
                if not path.exists():
                    _remove_unused(path.parent)
                self._connection = sqlite3.connect(path, timeout=PATIENCE, isolation_level=None)
            for statement in _SET_UP:
                self._asked(statement)

    def digest_of(self, file: Found) -> str | None:
        """Return the digest of the content that a file had when it was as it is now, or None."""
        as_now = "path = ? AND size = ? AND modified = ? AND changed = ? AND inode = ?"
        return self._asked(f"SELECT digest FROM files WHERE {as_now}", *_state(file))

    def record_of(self, digest: str) -> str | None:
        """Return the record of a content, or None."""
        checksum, _, record = (self._asked("SELECT record FROM records WHERE digest = ?", digest) or "").partition(" ")
        return record if checksum == _checksum(digest, record) else None

    def keep(self, digest: str, record: str) -> None:
        """Keep the record of a content."""
        self._asked("INSERT OR REPLACE INTO records VALUES (?, ?)", digest, f"{_checksum(digest, record)} {record}")

    def keep_file(self, file: Found, digest: str) -> None:
        """Keep which content a file has, unless it changed just now."""
        if max(file.status.st_mtime_ns, file.status.st_ctime_ns) + RECENT < time.time_ns():
            self._asked("INSERT OR REPLACE INTO files VALUES (?, ?, ?, ?, ?, ?)", *_state(file), digest)

    def close(self) -> None:
        """Let the file go."""
        if self._connection is not None:
            self._connection.close()
            self._connection = None

    def _asked(self, statement: str, *values: str | bytes | int) -> str | None:
        """Return what the first row says that SQLite has for a statement; go on without a cache where that cannot be had."""
        if self._connection is None:
            return None
        try:
            row = self._connection.execute(statement, values).fetchone()
        except sqlite3.Error as error:  # a full disk, say
            self.close()
            if self._path is not None and not isinstance(error, sqlite3.OperationalError):
                _remove(self._path)  # damaged: begun anew by the next run
            return None
        return str(row[0]) if row is not None else None


def _state(file: Found) -> tuple[bytes, int, int, int, int]:
    """Return what tells whether a file is as it was."""
    path, status = os.fsencode(os.path.abspath(file.path)), file.status  # noqa: PTH100
    return path, status.st_size, status.st_mtime_ns, status.st_ctime_ns, status.st_ino


def _checksum(digest: str, record: str) -> str:
    """Return what tells whether a record is as it was kept."""
    return blake2b(f"{digest} {record}".encode(), digest_size=8).hexdigest()


def opened_cache(wanted: bool = True) -> AbstractContextManager[Cache]:
    """Give the cache of this program while it is used."""
    return closing(Cache(cache_folder() / f"survey-{program()}.sqlite" if wanted else None))


def _remove_unused(folder: Path) -> None:
    """Remove the files of versions that have not been used for long."""
    for path in folder.glob("survey-*.sqlite"):
        with suppress(OSError):
            if time.time() - path.stat().st_mtime > UNUSED * 86_400:
                _remove(path)


def _remove(path: Path) -> None:
    for end in ("", "-wal", "-shm"):
        with suppress(OSError):
            path.with_name(path.name + end).unlink(missing_ok=True)
