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
from dataclasses import dataclass, replace
from datetime import date
from functools import partial
from hashlib import blake2b
from pathlib import Path
from typing import Any

from annotator.errors import MissingError, ScoreError, UsageError
from annotator.options.option import known, value_of
from annotator.options.settings import Options, row_of, rows_of
from annotator.products.gathering import Found, reason, shown, walk
from annotator.products.survey import cluster
from annotator.products.survey.cache import Cache, opened_cache
from annotator.products.survey.choosing import Wish, add, choose, day_of, levels_of, pick, suggested_before
from annotator.products.survey.measures import Failed, LeftOut, Measured, Survey, fault_record, read_record, worth_keeping

Job = tuple[str, bytes]
"""A digest, and the bytes that have it."""
Done = tuple[str, str]
"""A digest, and the record of the bytes that have it."""
Engine = Callable[[Iterable[Job]], Iterator[Done]]

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
    check(asked)
    at_work = surveyed([str(folder) for folder in folders], asked)
    wanted = chosen(at_work.found, at_work.wish, asked)
    note_pick(wanted, asked)
    return wanted


def check(options: Options) -> None:
    """Refuse wishes that contradict each other or name nothing."""
    for name in ("seed", "rising"):
        if getattr(options, name) and options.pick is None:
            raise UsageError(f"--{name} says how to --pick: give both")
    if options.pick is not None:
        _day(options)
    if options.kind is not None:
        from annotator.figures.registry import KINDS_BY_NAME
        from annotator.words.labels import kinds_meant

        value_of(row_of("kind"), options.kind, KINDS_BY_NAME, knows=kinds_meant)
        for kind in _kinds(options):
            if not KINDS_BY_NAME[kind].default:
                raise UsageError(f"{kind} is only looked for where it is asked for: a survey does not count it")


@dataclass(frozen=True, slots=True)
class Surveyed:
    """A library surveyed: all of it, what is wanted of it, how many files were read for it, and where the cache lies."""

    found: Survey
    wish: Wish
    read: int
    cache: str


def surveyed(
    sources: Sequence[str],
    options: Options,
    advance: Callable[[int], None] = lambda _count: None,
    expect: Callable[[int], None] = lambda _count: None,
) -> Surveyed:
    """Return the survey of all scores below the sources, and the wish, both with what they need from the cache.

    ``advance`` is called with the number of files that became known, ``expect`` with the number there are.
    """
    if options.cluster is not None:
        engine: Engine = partial(cluster.records, address=options.cluster)
    else:
        engine = partial(records, count=options.jobs)
    with opened_cache(not options.no_cache) as cache:
        at_work = Surveying(cache, advance, expect)
        like = _one_score(Surveying(cache), options.like) if options.like is not None else None
        wish = Wish(_kinds(options), like, options.share, options.effort, options.easiest, options.sort, options.reverse)
        found = at_work.survey(sources, engine)
    if options.levels is not None:
        wish = replace(wish, levels=levels_of(options.levels, found.scores))
    return Surveyed(found, wish, at_work.read, cache.place)


def chosen(found: Survey, wish: Wish, options: Options) -> Survey:
    """Return the survey with the scores wanted, or with those picked of them."""
    wanted = choose(found, wish)
    if options.pick is not None:
        day = _day(options)
        from_these = [score for score in wanted.scores if not wish.kinds or score.measures.really_drills(wish.kinds)]
        drawn = pick(from_these, options.pick, day, suggested_before(day, from_these), options.rising)
        wanted = replace(wanted, scores=tuple(drawn))
        if options.sort is not None:
            wanted = choose(wanted, wish)
    return replace(wanted, scores=wanted.scores[: options.limit])


def note_pick(wanted: Survey, options: Options) -> None:
    """Write the pieces picked into the practice log, where some were asked for."""
    if options.pick is not None:
        add(_day(options), wanted.scores)


class Surveying:
    """One survey at work. ``read`` counts the contents that were worked on, not found in the cache."""

    def __init__(
        self,
        cache: Cache,
        advance: Callable[[int], None] = lambda _count: None,
        expect: Callable[[int], None] = lambda _count: None,
    ) -> None:
        self.read = 0
        self._cache, self._advance, self._expect = cache, advance, expect
        self._records: dict[str, str] = {}  # by digest; empty while it is on its way
        self._found: dict[str, str | Failed] = {}  # by path: the digest, or why there is none

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
        told = [self._told(file) for file in files]
        told += [
            Failed(one.path, one.why, MissingError.exit_code) if one.failed else LeftOut(one.path, one.why)
            for one in there
            if not isinstance(one, Found)
        ]
        return Survey(
            tuple([one for one in told if isinstance(one, Measured)]),
            tuple(sorted([one for one in told if isinstance(one, Failed)], key=lambda one: one.path)),
            tuple(sorted([one for one in told if isinstance(one, LeftOut)], key=lambda one: one.path)),
        )

    def _unknown(self, files: Iterable[Found]) -> Iterator[Job]:
        """Yield the contents that have no record yet, each once; take note of the digest of every file."""
        for file in files:
            digest = self._cache.digest_of(file)
            if digest is None or not self._is_known(digest):
                try:
                    data = _bytes_of(file.path)
                except MissingError as error:
                    self._found[file.path] = Failed(shown(file.path), str(error), error.exit_code)
                    self._advance(1)
                    continue
                digest = blake2b(data, digest_size=16).hexdigest()
                self._cache.keep_file(file, digest)
                if not self._is_known(digest):
                    self._found[file.path], self._records[digest] = digest, ""
                    yield digest, data
                    continue
            self._found[file.path] = digest
            self._advance(1)

    def _is_known(self, digest: str) -> bool:
        """Return whether the record of a content is there, or on its way."""
        if digest not in self._records and (record := self._cache.record_of(digest)) is not None:
            self._records[digest] = record
        return digest in self._records

    def _told(self, file: Found) -> Measured | Failed | LeftOut:
        """Return what is known of a file in the end."""
        found = self._found[file.path]
        return found if isinstance(found, Failed) else read_record(shown(file.path), found, self._records[found])


def records(jobs: Iterable[Job], count: int | None = None) -> Iterator[Done]:
    """Yield the record of each job, from so many workers (None: as many as there are cores)."""
    from annotator.processes.side_by_side import as_done, can_fork, cores

    count = count or cores()
    if count < 2 and not can_fork():  # starting a worker takes long: no less than to read a score
        return map(_measured, jobs)
    return as_done(_measured, jobs, count, _lost, seconds=SECONDS_A_FILE, forked=True)


def _measured(job: Job) -> Done:
    """Return the record of one job."""
    from annotator.products.survey.measuring import measure_bytes

    return job[0], measure_bytes(job[1])


def _lost(job: Job, why: str) -> Done:
    """Return the record of a file over which a worker died; the next run tries again."""
    return job[0], fault_record(why)


def _one_score(at_work: Surveying, path: str) -> Measured:
    """Return the score that others are to be like. Raises the error that its file is, or a ``UsageError`` for one that is left out."""
    if Path(path).is_dir():
        raise UsageError(f"{path}: a score is wanted here, not a folder")
    found = at_work.survey([path], partial(records, count=1))
    for failed in found.failed:
        error = MissingError if failed.exit_code == MissingError.exit_code else ScoreError
        raise error(f"{failed.path}: {failed.message}")
    for left_out in found.left_out:
        raise UsageError(f"{left_out.path}: {left_out.reason}: give a score of its own")
    return found.scores[0]


def _bytes_of(path: str) -> bytes:
    """Return a file's bytes, at most one more than ``LARGEST``. Raises a ``MissingError``."""
    try:
        with Path(path).open("rb") as stream:
            return stream.read(LARGEST + 1)
    except (OSError, ValueError) as error:
        raise MissingError(f"cannot be read: {reason(error)}") from error


def _kinds(options: Options) -> tuple[str, ...]:
    """Return the kinds that are asked for; the figures are loaded only where some are."""
    if options.kind is None:
        return ()
    from annotator.words.labels import all_meant

    return all_meant(options.kind)


def _day(options: Options) -> date:
    return day_of(options.seed) if options.seed is not None else date.today()
