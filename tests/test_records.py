"""Records made quickly are what their class makes, field by field, and as frozen."""

from __future__ import annotations

import copy
import pickle
from dataclasses import MISSING, FrozenInstanceError, dataclass, field, fields
from typing import Any

import pytest

from annotator.figures.figure import Figure, Slot
from annotator.lines import Event
from annotator.records import maker
from annotator.score import Bar, Note, Pitch, Sign


def taken(kind: type[Any]) -> dict[str, Any]:
    """Return a value of its own for each field that a class takes; what a figure or a pitch works out from them needs real ones."""
    values = {each.name: f"the {each.name}" for each in fields(kind) if each.init}
    return values | {Figure: {"moments": (), "anchors": ()}, Pitch: {"step": "E", "alter": 1, "octave": 4}}.get(kind, {})  # type: ignore[operator,no-any-return]


@pytest.mark.parametrize("kind", [Note, Event, Figure, Slot, Bar, Sign, Pitch])
def test_a_record_is_what_its_class_makes(kind: type[Any]) -> None:
    make, values = maker(kind), taken(kind)
    needed = {each.name: values[each.name] for each in fields(kind) if each.init and each.default is MISSING}
    for given, named in ((values.values(), {}), ((), values), ((), needed)):
        made, own = make(*given, **named), kind(*given, **named)
        assert type(made) is kind
        assert made == own
        assert hash(made) == hash(own)
        assert repr(made) == repr(own)
        assert [getattr(made, each.name) for each in fields(kind)] == [getattr(own, each.name) for each in fields(kind)]


def test_a_record_is_frozen_and_has_room_for_nothing_else() -> None:
    made = maker(Sign)(0, 1, "F", 4, 1)
    with pytest.raises(FrozenInstanceError):
        made.step = "G"  # type: ignore[misc]
    with pytest.raises((FrozenInstanceError, TypeError, AttributeError)):
        made.colour = "red"  # type: ignore[attr-defined]
    assert not hasattr(made, "__dict__")
    assert pickle.loads(pickle.dumps(made)) == copy.copy(made) == made


def test_what_the_class_does_not_take_is_refused() -> None:
    make: Any = maker(Sign)
    for given in ((), (0, 1, "F", 4), (0, 1, "F", 4, 1, 2)):
        with pytest.raises(TypeError):
            make(*given)
    with pytest.raises(TypeError):
        make(0, 1, "F", 4, alter=1, colour="red")


def test_a_class_with_a_default_made_anew_each_time_is_refused() -> None:
    @dataclass(frozen=True, slots=True)
    class Box:
        things: list[str] = field(default_factory=list)

    with pytest.raises(TypeError, match="Box"):
        maker(Box)
