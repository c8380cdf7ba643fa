"""What earlier runs found out, kept in the user's cache folder: records by content, and which content each file had.

Conventions
-----------
* What is kept counts only for the same program: one SQLite file for each fingerprint (``survey-<fingerprint>.sqlite``); files of versions
  not used for ``UNUSED`` days go. ``ANNOTATOR_CACHE`` names another folder.
* The fingerprint is a hash of the version and the sources that read, find and measure (``BEARING``). What draws, words, chooses or asks has
  no bearing; a test holds the list against what measuring a file loads.
* The content decides: a record belongs to a digest. A file whose size, times and number on the disk are those of an earlier run is taken
  to have the content it had then; so it need not be opened. That is not believed of a file changed within ``RECENT`` seconds of being
  read, which could have changed again within one tick of the clock.
* SQLite locks the file for the moment of each write, so two runs at once are safe; what is written is complete or absent. A cache that
  cannot be made, read or written is done without, one that is damaged is begun anew: it only saves time. A record that is not as it was
  kept (a checksum tells) is made anew.

Source: the racy file is the one git's index documents ("Use of index and Racy Git problem"); SQLite's documentation of WAL.
"""

from __future__ import annotations

import contextlib
import os
import sqlite3
import time
from collections.abc import Iterator
from contextlib import contextmanager
from functools import lru_cache
from hashlib import blake2b
from pathlib import Path

from annotator.options import __version__
from annotator.products.gathering import Found

FORMAT = 2
UNUSED = 30  # days
RECENT = 2_000_000_000  # nanoseconds
AT_ONCE = 64  # records written in one go
PATIENCE = 10.0  # seconds that a run waits for another one's write

BEARING = (
    *("errors.py", "figures", "formats", "music", "options", "reading"),
    *("marks/finding.py", "marks/report.py", "musicxml/record.py", "products/handout/hands.py"),
    *(f"products/survey/{name}.py" for name in ("effort", "measures", "measuring")),
)
"""The modules and packages that decide what is found."""

_TABLES = """
CREATE TABLE IF NOT EXISTS records (digest TEXT PRIMARY KEY, record TEXT NOT NULL, checksum TEXT) WITHOUT ROWID;
CREATE TABLE IF NOT EXISTS files (path BLOB PRIMARY KEY, size, modified, changed, inode, digest TEXT NOT NULL) WITHOUT ROWID;
"""


@lru_cache(maxsize=1)
def program() -> str:
    """Return the fingerprint of the program: 16 letters and digits."""
    root = Path(__file__).parents[2]
    found = blake2b(__version__.encode(), digest_size=8)
    for name in BEARING:
        place = root / name
        for path in sorted(place.rglob("*.py")) if place.is_dir() else [place] if place.is_file() else []:
            source = path.read_bytes().replace(b"\r\n", b"\n")
            found.update(f"{path.relative_to(root).as_posix()} {len(source)}\n".encode() + source)
    return found.hexdigest()


def cache_folder() -> Path:
    """Return the folder for what can be worked out again."""
    from platformdirs import user_cache_path

    return Path(os.environ.get("ANNOTATOR_CACHE") or user_cache_path("annotator", appauthor=False))


class Cache:
    """The cache of one run; ``None`` as its connection: nothing is kept and nothing is found. ``place`` names its file for people."""

    def __init__(self, connection: sqlite3.Connection | None, place: str = "none") -> None:
        self.place = place
        self._connection = connection
        self._records: list[tuple[str, str, str]] = []
        self._files: list[tuple[bytes, int, int, int, int, str]] = []
        self._written = time.monotonic()
        self.damaged = False

    def digest_of(self, file: Found) -> str | None:
        """Return the digest of the content that a file had when it was as it is now, or None."""
        key = os.fsencode(os.path.abspath(file.path))  # noqa: PTH100
        row = self._one("SELECT size, modified, changed, inode, digest FROM files WHERE path = ?", key)
        as_now = row is not None and row[:4] == (file.size, file.modified, file.changed, file.inode)
        return str(row[4]) if row is not None and as_now else None

    def record_of(self, digest: str) -> str | None:
        """Return the record of a content, or None."""
        row = self._one("SELECT record, checksum FROM records WHERE digest = ?", digest)
        return str(row[0]) if row is not None and row[1] == _checksum(digest, str(row[0])) else None

    def keep(self, digest: str, record: str) -> None:
        """Keep the record of a content."""
        self._records.append((digest, record, _checksum(digest, record)))
        self._write_now_and_then()

    def keep_file(self, file: Found, digest: str) -> None:
        """Keep which content a file has, unless it changed just now."""
        if max(file.modified, file.changed) + RECENT < time.time_ns():
            key = os.fsencode(os.path.abspath(file.path))  # noqa: PTH100
            self._files.append((key, file.size, file.modified, file.changed, file.inode, digest))
            self._write_now_and_then()

    def write(self) -> None:
        """Write what is waiting to be written."""
        self._written = time.monotonic()
        if self._connection is not None and (self._records or self._files):
            try:
                with self._connection:
                    self._connection.executemany("INSERT OR REPLACE INTO records VALUES (?, ?, ?)", self._records)
                    self._connection.executemany("INSERT OR REPLACE INTO files VALUES (?, ?, ?, ?, ?, ?)", self._files)
            except sqlite3.Error as error:  # a full disk, say: go on without
                self._give_up(error)
        self._records.clear()
        self._files.clear()

    def _write_now_and_then(self) -> None:
        if len(self._records) + len(self._files) >= AT_ONCE or time.monotonic() - self._written > 1:
            self.write()

    def _one(self, query: str, key: str | bytes) -> tuple[object, ...] | None:
        if self._connection is None:
            return None
        try:
            row: tuple[object, ...] | None = self._connection.execute(query, (key,)).fetchone()
            return row
        except sqlite3.Error as error:
            self._give_up(error)
            return None

    def _give_up(self, error: sqlite3.Error) -> None:
        """Go on without a cache; one that turned out damaged is not kept."""
        self._connection = None
        self.damaged = not isinstance(error, sqlite3.OperationalError)


def _checksum(digest: str, record: str) -> str:
    """Return what tells whether a record is as it was kept."""
    return blake2b(f"{digest} {record}".encode(), digest_size=8).hexdigest()


@contextmanager
def opened_cache(wanted: bool = True) -> Iterator[Cache]:
    """Give the cache of this program, and write what is left when done, however that comes about."""
    path = cache_folder() / f"survey-{FORMAT}-{program()}.sqlite" if wanted else Path()
    connection = _connect(path) if wanted else None
    cache = Cache(connection, str(path) if connection is not None else "none")
    try:
        yield cache
    finally:
        cache.write()
        if connection is not None:
            connection.close()
        if cache.damaged:
            _remove(path)


def _connect(path: Path) -> sqlite3.Connection | None:
    """Return a connection to this version's file, begun anew if it is damaged; None where none can be had."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        if not path.exists():
            _remove_unused(path.parent)
    except OSError:
        return None
    for _ in range(2):
        connection = None
        try:
            connection = sqlite3.connect(path, timeout=PATIENCE)
            connection.execute("PRAGMA journal_mode = WAL")
            connection.execute("PRAGMA synchronous = NORMAL")
            connection.executescript(_TABLES)
            os.utime(path)
            return connection
        except sqlite3.OperationalError:  # locked, read-only, full: not for us to mend
            if connection is not None:
                connection.close()
            return None
        except sqlite3.DatabaseError:
            if connection is not None:
                connection.close()
            _remove(path)
        except OSError:
            return connection
    return None


def _remove_unused(folder: Path) -> None:
    """Remove the files of versions that have not been used for long."""
    for path in folder.glob("survey-*.sqlite"):
        with contextlib.suppress(OSError):
            if time.time() - path.stat().st_mtime > UNUSED * 86_400:
                _remove(path)


def _remove(path: Path) -> None:
    for end in ("", "-wal", "-shm"):
        with contextlib.suppress(OSError):
            path.with_name(path.name + end).unlink(missing_ok=True)
