"""Frozen records made quickly: a dataclass that is frozen sets each of its fields through a call, which makes it five times slower to make.

Convention: only what is made once a note goes through here; the record is the same as its class makes, and as frozen.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import MISSING, fields
from typing import Any, ParamSpec, TypeVar

Given = ParamSpec("Given")
Made = TypeVar("Made")


def maker(kind: Callable[Given, Made]) -> Callable[Given, Made]:
    """Return a function that makes records of a frozen dataclass with slots, from what the class itself takes.

    A twin of the class that is not frozen is filled in, and then becomes one of the class: their slots are the same. As the class has its
    own ``__init__`` written for its fields, so has the function: what it is given is not packed and passed on.

    >>> from annotator.score import Sign
    >>> maker(Sign)(0, 1, "F", 4, alter=1) == Sign(0, 1, "F", 4, 1)
    True
    """
    own: Any = kind
    if any(each.default_factory is not MISSING for each in fields(own)):
        raise TypeError(f"{own.__name__} has a default that is made anew for each record")
    twin = type(own.__name__, (), {"__slots__": own.__slots__})
    names = [each.name for each in fields(own) if each.init]
    written = [
        f"def make({', '.join(names)}):",
        "record = twin()",
        *(f"record.{name} = {name}" for name in names),
        "record.__class__ = own",
        *(["record.__post_init__()"] if hasattr(own, "__post_init__") else []),
        "return record",
    ]
    made: dict[str, Any] = {"own": own, "twin": twin}
    exec("\n    ".join(written), made)  # of nothing but the names of fields
    make = made["make"]
    make.__defaults__ = own.__init__.__defaults__
    make.__doc__ = f"Make one {own.__name__}."
    return make  # type: ignore[no-any-return]
