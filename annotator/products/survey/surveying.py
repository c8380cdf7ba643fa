"""A library surveyed: find the files, take from the cache what is known, have the rest measured, choose what is asked for.

Conventions
-----------
* An *engine* does the work on files: all cores of this machine, or a ``cluster``. It takes digests with bytes and gives digests with
  records, in any order; so the outcome does not depend on it.
* Copies of one content are measured once. The outcome is in the order in which the files were found.
* Memory: of each file its path, digest and record stay; bytes only while they are worked on.
* Nothing of the program that reads scores is loaded before there is one to read, so that a run from the cache is quick.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from hashlib import blake2b
from pathlib import Path
from typing import Any

from annotator.errors import MissingError, ScoreError, UsageError
from annotator.options.option import known
from annotator.options.settings import Options, rows_of
from annotator.products.gathering import Found, reason, shown, walk
from annotator.products.survey import cluster
from annotator.products.survey.cache import Cache, opened_cache
from annotator.products.survey.choosing import Wish, add, choose, day_of, levels_of
from annotator.products.survey.measures import Failed, LeftOut, Measured, Survey, fault_record, read_record, record_of, worth_keeping
from annotator.products.survey.tables import Column

Job = tuple[str, bytes]
"""A digest, and the bytes that have it."""
Done = tuple[str, str]
"""A digest, and the record of the bytes that have it."""
Engine = Callable[[Iterable[Job]], Iterator[Done]]
Count = Callable[[int], None]
"""Is told of so many files."""

LARGEST = 64 * 1024 * 1024
"""Bytes of a file that are handed on; the reader refuses what is larger (``reading.document``, not loaded here to start quickly)."""
SECONDS_A_FILE = 120.0
"""How long one file may take; the largest score that is read takes a tenth of it."""
SHAPES = ("out", "force", "json", "csv", "html", "quiet", "verbose", "debug")
"""The options of the command that say what becomes of a survey, not what it is."""


def survey(*folders: Path | str, **options: Any) -> Survey:
    """Return the scores below folders, measured, chosen and ranked as ``annotator survey`` does.

    The options are those of the command, under the same names and with the same values; ``pick`` notes what it suggests in the practice
    log, as the command does. Raises an ``AnnotatorError``; a file that cannot be read is in ``failed``.

    >>> import annotator
    >>> found = annotator.survey(annotator.example().parent, kind="alberti-bass", no_cache=True, jobs=1)
    >>> found
    <Survey: 2 scores, 0 failed, 0 left out>
    >>> found.scores[0].measures.title, found.scores[0].measures.drills[0]
    ('A Letter by the Window', 'alberti-bass')
    """
    known(options, [row.name for row in rows_of("survey") if row.name not in SHAPES])
    asked = Options(**options)
    wanted = surveyed([str(folder) for folder in folders], asked).wanted
    note_pick(wanted, asked)
    return wanted


def _checked(options: Options) -> tuple[str, ...]:
    """Return the kinds that are asked for; refuse wishes that contradict each other or name nothing."""
    for name in ("seed", "rising"):
        if getattr(options, name) and options.pick is None:
            raise UsageError(f"--{name} says how to --pick: give both")
    day_of(options.seed)
    if options.kind is None:
        return ()
    from annotator.figures.registry import KINDS_BY_NAME  # loaded only where a kind is asked for
    from annotator.words.labels import all_meant, kinds_taken

    kinds_taken("kind", options.kind)
    kinds = all_meant(options.kind)
    for kind in kinds:
        if not KINDS_BY_NAME[kind].default:
            raise UsageError(f"{kind} is only looked for where it is asked for: a survey does not count it")
    return kinds


@dataclass(frozen=True, slots=True)
class Surveyed:
    """A library surveyed: all of it, what is wanted of it in which columns, and how many files were read for it."""

    found: Survey
    wanted: Survey
    columns: tuple[Column, ...]
    read: int


def surveyed(
    sources: Sequence[str], options: Options, advance: Count = lambda _count: None, expect: Count = lambda _count: None
) -> Surveyed:
    """Return the survey of all scores below the sources, and what the options want of it.

    ``advance`` is called with the number of files that became known, ``expect`` with the number there are.
    """
    kinds = _checked(options)
    if options.cluster is not None:
        engine: Engine = partial(cluster.records, address=options.cluster)
    else:
        engine = partial(records, count=options.jobs)
    with opened_cache(not options.no_cache) as cache:
        like = _one_score(options.like, cache) if options.like is not None else None
        work = Work(cache, advance, expect)
        found = work.survey(sources, engine)
    levels = levels_of(options.levels, found.scores) if options.levels is not None else None
    wish = Wish(options, kinds, like, levels)
    return Surveyed(found, choose(found, wish), wish.columns(), work.read)


def note_pick(wanted: Survey, options: Options) -> None:
    """Write the pieces picked into the practice log, where some were asked for."""
    if options.pick is not None:
        add(day_of(options.seed), wanted.scores)


class Work:
    """One survey at work. ``read`` counts the contents that were worked on, not found in the cache."""

    def __init__(self, cache: Cache, advance: Count = lambda _count: None, expect: Count = lambda _count: None) -> None:
        self.read = 0
        self._cache, self._advance, self._expect = cache, advance, expect
        self._digests: dict[str, str] = {}  # by path
        self._records: dict[str, str] = {}  # by digest; empty while it is on its way

    def survey(self, sources: Sequence[str], engine: Engine) -> Survey:
        """Return the survey of the scores below the sources."""
        there = list(walk(sources))
        files = [one for one in there if isinstance(one, Found)]
        self._expect(len(files))
        for digest, record in engine(self._unknown(files)):
            self._records[digest] = record
            self.read += 1
            if worth_keeping(record):
                self._cache.keep(digest, record)
            self._advance(1)
        told = [read_record(shown(path), digest, self._records[digest]) for path, digest in self._digests.items()]
        passed = sorted([*told, *(one for one in there if not isinstance(one, Found))], key=lambda one: one.path)
        return Survey(
            tuple([one for one in told if isinstance(one, Measured)]),
            tuple([one for one in passed if isinstance(one, Failed)]),
            tuple([one for one in passed if isinstance(one, LeftOut)]),
        )

    def _unknown(self, files: Iterable[Found]) -> Iterator[Job]:
        """Yield the contents that have no record yet, each once; take note of the digest of every file."""
        for file in files:
            digest, data = self._cache.digest_of(file), b""
            if digest is None or not self._is_known(digest):
                digest, data = self._content(file)
            self._digests[file.path] = digest
            if self._is_known(digest):
                self._advance(1)
            else:
                self._records[digest] = ""
                yield digest, data

    def _content(self, file: Found) -> Job:
        """Return the digest and the bytes of a file; of one that cannot be read, a digest of its own, whose record says why."""
        try:
            data = _bytes_of(file.path)
        except (OSError, ValueError) as error:
            unread = f"the content of {file.path}"
            self._records[unread] = record_of(failed=f"cannot be read: {reason(error)}", code=MissingError.exit_code)
            return unread, b""
        digest = blake2b(data, digest_size=16).hexdigest()
        self._cache.keep_file(file, digest)
        return digest, data

    def _is_known(self, digest: str) -> bool:
        """Return whether the record of a content is there, or on its way."""
        if digest not in self._records and (record := self._cache.record_of(digest)) is not None:
            self._records[digest] = record
        return digest in self._records


def records(jobs: Iterable[Job], count: int | None = None) -> Iterator[Done]:
    """Yield the record of each job, from so many workers (None: as many as there are cores)."""
    from annotator.processes.side_by_side import as_done, cores

    # of a file over which a worker died, the next run tries again
    done = as_done(_measured, jobs, count or cores(), lambda job, why: (job[0], fault_record(why)), seconds=SECONDS_A_FILE, forked=True)
    yield from (record for _, record in done)


def _measured(job: Job) -> Done:
    """Return the record of one job."""
    from annotator.products.survey.measuring import measure_bytes

    return job[0], measure_bytes(job[1])


def _one_score(path: str, cache: Cache) -> Measured:
    """Return the score that others are to be like. Raises the error that its file is, or a ``UsageError`` for one that is left out."""
    if Path(path).is_dir():
        raise UsageError(f"{path}: a score is wanted here, not a folder")
    found = Work(cache).survey([path], partial(records, count=1))
    for failed in found.failed:
        error = MissingError if failed.exit_code == MissingError.exit_code else ScoreError
        raise error(f"{failed.path}: {failed.message}")
    for left_out in found.left_out:
        raise UsageError(f"{left_out.path}: {left_out.reason}: give a score of its own")
    return found.scores[0]


def _bytes_of(path: str) -> bytes:
    """Return a file's bytes, at most one more than ``LARGEST``."""
    with Path(path).open("rb") as stream:
        return stream.read(LARGEST + 1)
