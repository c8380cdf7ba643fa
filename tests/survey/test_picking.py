"""The pieces for today: the same when asked again, others tomorrow, varied; and the log they are written in."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise

import pytest
from survey.invented_measures import library, piece

from annotator.errors import OutputError, UsageError
from annotator.products.survey.choosing import add, day_of, log_path, pick, read_log, suggested_before

TODAY = date(2026, 11, 25)
TOMORROW = TODAY + timedelta(days=1)
SCORES = library().scores


def paths(scores):
    return [score.path for score in scores]


def test_asked_again_on_one_day_the_same_come():
    first = pick(SCORES, 5, TODAY, suggested_before(TODAY, SCORES))
    add(TODAY, first)
    again = pick(tuple(reversed(SCORES)), 5, TODAY, suggested_before(TODAY, SCORES))
    assert paths(again) == paths(first)
    add(TODAY, again)
    assert log_path().read_text(encoding="utf-8").count("2026-11-25") == 5, "and they stand in the log once"


def test_no_day_brings_those_of_the_day_before():
    seen: list[set[str]] = []
    for number in range(30):
        day = TODAY + timedelta(days=number)
        chosen = pick(SCORES, 5, day, suggested_before(day, SCORES))
        add(day, chosen)
        seen.append(set(paths(chosen)))
        assert len(seen[-1]) == 5
    assert all(not one & other for one, other in pairwise(seen))
    assert len(set().union(*seen[:7])) >= 22, "over a week not much comes twice"
    assert len({frozenset(one) for one in seen}) > 20


def test_varied_and_from_easy_to_hard():
    for number in range(20):
        chosen = pick(SCORES, 5, TODAY + timedelta(days=number), {})
        efforts = [score.effort for score in chosen]
        assert efforts == sorted(efforts) and efforts[0] < 25 and efforts[-1] > 75
        assert len({score.measures.drills for score in chosen}) == 5
        assert len({score.measures.composer for score in chosen}) >= 4


def test_a_step_harder_from_day_to_day():
    middles = []
    for number in range(5):
        day = TODAY + timedelta(days=number)
        chosen = pick(SCORES, 5, day, suggested_before(day, SCORES), rising=True)
        assert chosen == pick(SCORES, 5, day, suggested_before(day, SCORES), rising=True)
        add(day, chosen)
        middles.append(sum(score.effort for score in chosen) / 5)
    assert all(one < other for one, other in pairwise(middles))
    assert middles[0] < 20
    log = {score.path: TODAY for score in SCORES if score.effort > 90}
    assert len(pick(SCORES, 5, TOMORROW, log, rising=True)) == 5, "at the top there is still something to play"


def test_a_small_library_gives_what_it_has():
    few = SCORES[:6]
    first = pick(few, 5, TODAY, {})
    log = dict.fromkeys(paths(first), TODAY)
    second = pick(few, 5, TOMORROW, log)
    assert len(second) == 5 and set(paths(few)) - set(paths(first)) <= set(paths(second))
    assert len(pick(few, 20, TODAY, {})) == 6
    assert pick((), 5, TODAY, {}) == []


def test_fragments_and_copies():
    scraps = [piece(f"scrap-{number}", bars=1, effort=number) for number in range(20)]
    whole = [piece(f"whole-{number}", effort=number) for number in range(5)]
    assert {path[:5] for path in paths(pick([*scraps, *whole], 5, TODAY, {}))} == {"whole"}
    twins = [piece("a"), piece("b")]
    object.__setattr__(twins[1], "digest", twins[0].digest)
    assert paths(pick(twins, 2, TODAY, {})) == ["a"]


def test_the_log_is_its_owners():
    path = log_path()
    path.parent.mkdir(parents=True)
    path.write_text("my own words\n2026-11-24\t/music/001.xml\tA\n2026-11-2x\tno day\n2026-11-23 not a tab\nlast line", encoding="utf-8")
    assert suggested_before(TODAY, SCORES) == {"/music/001.xml": date(2026, 11, 24)}
    assert suggested_before(date(2026, 11, 24), SCORES) == {}, "only the days before count"
    add(TODAY, SCORES[:1])
    lines = path.read_text(encoding="utf-8").splitlines()
    assert lines[:5] == ["my own words", "2026-11-24\t/music/001.xml\tA", "2026-11-2x\tno day", "2026-11-23 not a tab", "last line"]
    assert lines[5:] == ["2026-11-25\t/music/000.xml\t/music/000.xml"]
    path.unlink()
    assert suggested_before(TOMORROW, SCORES) == {}


def test_a_log_that_cannot_be_written(monkeypatch, tmp_path):
    (tmp_path / "taken").write_text("a file")
    monkeypatch.setenv("ANNOTATOR_DATA", str(tmp_path / "taken"))
    with pytest.raises(OutputError, match="tomorrow may bring the same"):
        add(TODAY, SCORES[:1])


def test_days():
    assert day_of(" 2026-11-25 ") == TODAY
    with pytest.raises(UsageError, match="a seed is a day"):
        day_of("soon")
    assert read_log("2026-11-25\ta b.xml\n") == [(TODAY, "a b.xml")]
