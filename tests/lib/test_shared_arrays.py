"""What holds arrays is compared as itself; what a cache keeps cannot be written to."""

import importlib
import pkgutil
import re
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from typing import Any

import lengthwise.anatomy
import lengthwise.bench
import lengthwise.physics
import numpy as np
import pytest
from lengthwise.anatomy.canals import Canals, draw_canals
from lengthwise.bench.canal_state import draw_state, wetness_of
from lengthwise.bench.meter import all_meters
from lengthwise.panels.landmarks_panel import population
from lengthwise.panels.reading_case import reading_of, world
from lengthwise.panels.reading_setting import Setting
from lengthwise.panels.reading_tables import signals_mm
from lengthwise.panels.trial_tables import errors_mm

ARRAY = re.compile(r"Floats|Flags|Complexes|ArrayLike|ndarray|SupportsArray")


def has_array(kind: type) -> bool:
    # By name, for an annotation may be a string that nobody ever looked up.
    return any(ARRAY.search(str(field.type)) for field in fields(kind))


def array_holders() -> Iterator[type]:
    for floor in (lengthwise.anatomy, lengthwise.bench, lengthwise.physics):
        for found in pkgutil.iter_modules(floor.__path__, floor.__name__ + "."):
            for value in vars(importlib.import_module(found.name)).values():
                if isinstance(value, type) and is_dataclass(value) and has_array(value):
                    yield value


def arrays_in(value: object) -> Iterator[np.ndarray[Any, Any]]:
    if isinstance(value, np.ndarray):
        yield value
    elif is_dataclass(value) and not isinstance(value, type):
        for field in fields(value):
            yield from arrays_in(getattr(value, field.name))


def test_what_holds_arrays_is_compared_as_itself_and_can_be_a_key() -> None:
    holders = set(array_holders())
    assert Canals in holders
    assert len(holders) > 15
    assert [each for each in holders if each.__eq__ is not object.__eq__] == []


def test_what_is_kept_for_everybody_cannot_be_written_to() -> None:
    rng = np.random.default_rng(1)
    state = draw_state(draw_canals("13", 1, rng).one(0), rng)
    kept = (
        all_meters(), world()[1], population("13"), reading_of(Setting()), signals_mm(Setting()),
        errors_mm(1.0, 0.2), wetness_of(state).space,
    )  # fmt: skip
    for value in kept:
        arrays = list(arrays_in(value))
        assert arrays
        assert not any(array.flags.writeable for array in arrays)
    with pytest.raises(ValueError, match="read-only"):
        all_meters().curve.quotient[:] = 0.0
