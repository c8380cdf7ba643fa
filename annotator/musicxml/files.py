"""Bytes into files: named after their source, complete or absent, and never over what is not ours.

Conventions
-----------
* A file is written beside its place under a name of its own, flushed to the disk and moved in. Whatever breaks off, an interrupt too,
  leaves nothing and the old file untouched.
* The source is never written to, through whatever link or spelling it is named, with force or without. The one case in which output
  and source have one name is a file of ours done again (``x-marked`` stays ``x-marked``): equal bytes leave it alone; else it is
  replaced, since it is a file that this program made, whose own content the new one holds in full.
* An existing file that is not ours, or that somebody has changed since (``musicxml.seal``), is replaced only with force. If it holds
  the very bytes already, there is nothing to do, whoever made it.
* What of ours can carry a seal gets it here.
* An archive gets its ``mimetype`` first and stored, then every other entry as it was and in its order, all with one fixed date: the
  same document gives the same bytes on any day.
* A link at the output's place is replaced itself; what it points to stays.
* A process that is killed in the middle of writing leaves the file beside (``.annotator-….part``); who next writes into that folder
  takes it away, an hour later or more, so that nothing is taken from a run that is still writing.

Source: MusicXML 4.0 (W3C), "Compressed MusicXML files".
"""

from __future__ import annotations

import contextlib
import errno
import io
import os
import re
import secrets
import time
import zipfile
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from annotator.errors import OutputError, TransferError
from annotator.musicxml.seal import as_we_made_it, is_our_work, made_by_us, sealed

if TYPE_CHECKING:
    from annotator.reading import Document

MARKED = "marked"
PLAIN = "plain"
NEW, REPLACED, UNCHANGED = "new", "replaced", "unchanged"
"""What writing a file does to its place."""
_MARKED_COPY = re.compile(rf"-{MARKED}(-step-\d)?$")
_STALE = 3600.0  # seconds
_MIMETYPE, _MEDIA_TYPE = "mimetype", b"application/vnd.recordare.musicxml"
_DATE = (1980, 1, 1, 0, 0, 0)  # the first date that a ZIP archive can name
_MIDWAY = frozenset({errno.ENOSPC, errno.EDQUOT, errno.EIO, errno.EFBIG})


def output_path(source: Path, suffix_word: str, extension: str, out_dir: Path | None) -> Path:
    """Return where an output goes: the source's stem, a dash, the word, the extension (with its dot); None: beside the source.

    A marked or plain copy of a file of ours is named as that of its own source would be. Whether a file called ``x-marked`` (or
    ``x-marked-step-2``, one of a series) is ours is told by what is in it; where there is no such file, its name is believed. A plain copy
    tells by its name only.

    >>> for stem, word in (("x", "marked"), ("x-marked", "marked"), ("x-marked-step-2", "plain"), ("x-plain", "plain")):
    ...     print(output_path(Path(stem + ".xml"), word, ".musicxml", None).name)
    x-marked.musicxml
    x-marked.musicxml
    x-plain.musicxml
    x-plain.musicxml
    """
    stem = source.stem
    copy = _MARKED_COPY.search(stem)
    if copy and (suffix_word == PLAIN or suffix_word.startswith(MARKED)) and (made_by_us(source) or not source.exists()):
        stem = stem[: copy.start()]
    if suffix_word == PLAIN:
        stem = stem.removesuffix(f"-{PLAIN}")
    folder = source.parent if out_dir is None else out_dir
    return folder / f"{stem or source.stem}-{suffix_word}{extension}"


def serialise(document: Document) -> bytes:
    """Return the bytes of a document's file: its XML, or the whole archive with that in it."""
    if document.archive is None:
        return document.data
    entries = {_MIMETYPE: b"", **document.archive, document.entry: document.data}
    entries[_MIMETYPE] = _MEDIA_TYPE  # first, wherever it stood
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as archive:
        for name, entry in entries.items():
            info = zipfile.ZipInfo(name, _DATE)  # nothing in it depends on the day, the system or the user
            info.compress_type = zipfile.ZIP_STORED if name == _MIMETYPE else zipfile.ZIP_DEFLATED
            info.create_system = 3  # Unix
            info.external_attr = 0o644 << 16
            archive.writestr(info, entry)
    return buffer.getvalue()


def make_folder(folder: Path) -> None:
    """Make the folder that files go to, and those above it, where they are not there. Raises an ``OutputError``."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise OutputError(f"{folder}: this folder cannot be made ({error.strerror}): choose another place with --out") from error


def write_file(path: Path, data: bytes, *, sources: Iterable[Path] = (), force: bool = False) -> None:
    """Write a file whole or not at all. ``sources`` are the files that the output comes from.

    Raises ``OutputError`` where the place is taken or cannot be written to, ``TransferError`` where writing breaks off.
    """
    data = sealed(data) if is_our_work(data) else data
    if may_write(path, data, sources=sources, force=force) != UNCHANGED:
        _replace(path, data)


def may_write(path: Path, data: bytes | None, *, sources: Iterable[Path] = (), force: bool = False) -> str:
    """Return what writing a file would do: ``NEW``, ``REPLACED`` or ``UNCHANGED``; raise ``OutputError`` where the place is taken.

    The rest as for ``write_file``; ``data`` is None where the bytes are not known yet.
    """
    if not os.path.lexists(path):
        return NEW
    if path.exists() and not path.is_file():
        raise OutputError(f"{path} is there and is no file: choose another place with --out")
    with contextlib.suppress(OSError):  # what cannot be read is another
        if data is not None and path.read_bytes() == data:
            return UNCHANGED
    is_source = path.exists() and any(source.exists() and path.samefile(source) for source in sources)
    unchanged, ours = as_we_made_it(path), made_by_us(path)
    if is_source and (path.is_symlink() or not (unchanged or (force and ours))):
        marked_anew = ours and not path.is_symlink()
        changed = "it has been changed since this program made it; --force marks it anew with its changes kept"
        way = changed if marked_anew else "choose another place with --out"
        raise OutputError(f"{path} is the source itself, which is never written to: {way}")
    if not (force or is_source or unchanged):
        why = "has been changed since this program made it" if ours else "was not made by this program"
        raise OutputError(f"{path} is there already and {why}: --force replaces it")
    return REPLACED


def _clear_away(folder: Path) -> None:
    """Remove what killed runs left in a folder. Whatever stands in the way of that is no matter."""
    with contextlib.suppress(OSError):
        for left in folder.glob(f".annotator-{'[0-9a-f]' * 16}.part"):
            if left.is_file() and not left.is_symlink() and time.time() - left.stat().st_mtime > _STALE:
                left.unlink()


def _replace(path: Path, data: bytes) -> None:
    """Write the bytes beside the path and move them in."""
    _clear_away(path.parent)
    beside = path.with_name(f".annotator-{secrets.token_hex(8)}.part")
    begun = False
    try:
        with beside.open("xb") as stream:
            begun = True
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        beside.replace(path)
    except OSError as error:
        too_long = error.errno == errno.ENAMETOOLONG  # the name beside was short enough, this one is not
        if too_long or not (begun or error.errno in _MIDWAY):
            raise OutputError(f"{path} cannot be made: {error.strerror or error}") from error
        raise TransferError(f"{path} could not be written: {error.strerror or error}") from error
    finally:
        with contextlib.suppress(OSError):
            beside.unlink(missing_ok=True)
