"""The record of a file: what came of it, as one line of JSON. It follows from the bytes alone, so it can be kept and sent about.

Conventions
-----------
* A record holds measures and effort, or a message and its exit code, or the reason why the file is left out.
* A fault of the program and a worker that broke down are told but not kept (``worth_keeping``): the next run tries again.
* This module loads nothing of the program that reads scores until ``measure_bytes`` is called, so that a run from the cache is quick.
"""

from __future__ import annotations

import json
from dataclasses import asdict
from typing import Any

from annotator.products.survey.measures import (
    Drilled,
    Failed,
    HandMeasures,
    KeyUsed,
    LeftOut,
    Measured,
    Measures,
    Rhythm,
    Texture,
)

FAULT = 70
UNNAMED = "the score: "  # how the reader calls a score that came as bytes


def measure_bytes(data: bytes) -> str:
    """Return the record of a file's bytes. Whatever happens becomes a record; only an interrupt gets through."""
    from annotator.errors import AnnotatorError
    from annotator.products.survey.effort import effort
    from annotator.products.survey.measuring import measure

    try:
        found = measure(data)
        if isinstance(found, str):
            return _line({"left_out": found})
        return _line({"effort": round(effort(found), 3), "measures": asdict(found)})
    except AnnotatorError as error:
        return _line({"failed": str(error).removeprefix(UNNAMED), "code": error.exit_code})
    except Exception as fault:
        return fault_record(f"{type(fault).__name__}: {fault}")


def fault_record(what: str) -> str:
    """Return the record of a file over which the program failed."""
    return _line({"failed": f"a fault of the program ({' '.join(what.split())}); figures --debug shows where", "code": FAULT})


def worth_keeping(record: str) -> bool:
    """Return whether a record follows from the file alone."""
    return not record.startswith('{"code":70,')


def read_record(path: str, digest: str, record: str) -> Measured | Failed | LeftOut:
    """Return what a record says of the file at a path."""
    held = json.loads(record)
    if "left_out" in held:
        return LeftOut(path, held["left_out"])
    if "failed" in held:
        return Failed(path, held["failed"], held["code"])
    return Measured(path, digest, _measures(held["measures"]), held["effort"])


def _line(content: dict[str, Any]) -> str:
    return json.dumps(content, ensure_ascii=False, separators=(",", ":"), sort_keys=True)


def _measures(held: dict[str, Any]) -> Measures:
    """Return measures from the plain data of a record."""
    held["signatures"] = tuple(held["signatures"])
    held["keys"] = tuple([KeyUsed(**key) for key in held["keys"]])
    held["kinds"] = tuple([Drilled(**kind) for kind in held["kinds"]])
    held["right"], held["left"] = HandMeasures(**held["right"]), HandMeasures(**held["left"])
    held["rhythm"], held["texture"] = Rhythm(**held["rhythm"]), Texture(**held["texture"])
    return Measures(**held)
