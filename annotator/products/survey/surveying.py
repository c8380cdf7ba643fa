"""Surveying a library: find the files, take from the cache what is known, have the rest measured, put it together.

Conventions
-----------
* ``engine`` does the work on files: here on all cores (``workers``) or elsewhere (``cluster``). It takes digests with bytes and gives
  digests with records, in any order; so the outcome does not depend on it.
* Copies of one content are measured once. The outcome is in the order in which the files were found.
* Memory: of each file its path, digest and record stay; bytes only while they are worked on.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from hashlib import blake2b
from pathlib import Path

from annotator.errors import MissingError, ScoreError, UsageError
from annotator.products.survey.cache import Cache
from annotator.products.survey.library import Found, Walk, bytes_of, shown
from annotator.products.survey.measures import Failed, LeftOut, Measured, Survey
from annotator.products.survey.record import read_record, worth_keeping

Engine = Callable[[Iterable[tuple[str, bytes]]], Iterator[tuple[str, str]]]
LARGEST = 64 * 1024 * 1024
"""Bytes of a file that are handed on; the reader refuses what is larger (``reading.limits``, not loaded here to start quickly)."""


@dataclass(slots=True)
class Surveying:
    """One survey at work. ``advance`` is called with the number of files that became known, ``expect`` with the number there are.

    ``measured`` counts the contents that were worked on, not found in the cache.
    """

    cache: Cache
    advance: Callable[[int], None] = lambda _count: None
    expect: Callable[[int], None] = lambda _count: None
    measured: int = 0
    _digests: dict[str, str] = field(default_factory=dict)
    _records: dict[str, str | None] = field(default_factory=dict)
    _sharing: dict[str, int] = field(default_factory=dict)

    def survey(self, sources: Sequence[str], engine: Engine) -> Survey:
        """Return the survey of the scores below the sources."""
        walk = Walk()
        files = list(walk.files(sources))
        self.expect(len(files))
        failed: dict[str, Failed] = {}
        for digest, record in engine(self._unknown(files, failed)):
            self._records[digest] = record
            self.measured += 1
            if worth_keeping(record):
                self.cache.keep(digest, record)
            self.advance(self._sharing[digest])
        return self._together(files, [*walk.failed, *failed.values()], walk.left_out)

    def _unknown(self, files: Iterable[Found], failed: dict[str, Failed]) -> Iterator[tuple[str, bytes]]:
        """Yield the contents that have no record yet, each once; take note of the digest of every file."""
        for file in files:
            digest = self.cache.digest_of(file)
            data = None
            if digest is None or not self._known(digest):
                try:
                    data = bytes_of(file.path, LARGEST)
                except MissingError as error:
                    failed[file.path] = Failed(shown(file.path), str(error), error.exit_code)
                    self.advance(1)
                    continue
                digest = blake2b(data, digest_size=16).hexdigest()
                self.cache.keep_file(file, digest)
            self._digests[file.path] = digest
            if self._known(digest):
                self._share(digest)
            elif data is not None:
                self._records[digest], self._sharing[digest] = None, 1
                yield digest, data

    def _known(self, digest: str) -> bool:
        """Return whether the record of a content is there, or on its way."""
        if digest not in self._records:
            record = self.cache.record_of(digest)
            if record is None:
                return False
            self._records[digest] = record
        return True

    def _share(self, digest: str) -> None:
        """Count one more file of a content: known now, or when its record comes."""
        if self._records[digest] is None:
            self._sharing[digest] += 1
        else:
            self.advance(1)

    def _together(self, files: Sequence[Found], failed: list[Failed], left_out: list[LeftOut]) -> Survey:
        """Return the survey, from the records of the files."""
        scores: list[Measured] = []
        uses = Counter(self._digests.values())
        for path in (file.path for file in files if file.path in self._digests):
            digest = self._digests[path]
            uses[digest] -= 1
            record = self._records[digest] if uses[digest] else self._records.pop(digest)
            found = read_record(shown(path), digest, record or "")
            if isinstance(found, Measured):
                scores.append(found)
            elif isinstance(found, Failed):
                failed.append(found)
            else:
                left_out.append(found)
        return Survey(tuple(scores), tuple(sorted(failed, key=lambda one: one.path)), tuple(sorted(left_out, key=lambda one: one.path)))


def one_score(at_work: Surveying, path: str, engine: Engine) -> Measured:
    """Return the measures of one score. Raises the error that its file is, or a ``UsageError`` for one that is left out."""
    if Path(path).is_dir():
        raise UsageError(f"{path}: a score is wanted here, not a folder")
    found = at_work.survey([path], engine)
    for failed in found.failed:
        error = MissingError if failed.exit_code == MissingError.exit_code else ScoreError
        raise error(f"{failed.path}: {failed.message}")
    for left_out in found.left_out:
        raise UsageError(f"{left_out.path}: {left_out.reason}: give a score of its own")
    return found.scores[0]
