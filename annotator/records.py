"""Frozen records made quickly: a dataclass that is frozen sets each of its fields through a call, which makes it five times slower to make.

Convention: only what is made once a note goes through here; the record is the same as its class makes, and as frozen.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import field, fields, make_dataclass
from typing import Any, ParamSpec, TypeVar

Given = ParamSpec("Given")
Made = TypeVar("Made")


def maker(kind: Callable[Given, Made]) -> Callable[Given, Made]:
    """Return a function that makes records of a frozen dataclass with slots, from what the class itself takes.

    A twin of the class that is not frozen is filled in, and then becomes one of the class: their slots are the same.

    >>> from annotator.score import Sign
    >>> maker(Sign)(0, 1, "F", 4, alter=1) == Sign(0, 1, "F", 4, 1)
    True
    """
    own: Any = kind
    twin: Any = make_dataclass(
        own.__name__,
        [(each.name, Any, _as_declared(each)) for each in fields(own)],
        namespace={"__post_init__": own.__post_init__} if hasattr(own, "__post_init__") else {},
        slots=True,
        eq=False,
    )

    def make(*given: Any, **named: Any) -> Any:
        """Make one record."""
        record = twin(*given, **named)
        record.__class__ = own
        return record

    return make


def _as_declared(declared: Any) -> Any:
    """Return a field with the default of another."""
    return field(default=declared.default, default_factory=declared.default_factory, init=declared.init)
