"""What may be changed before a canal is read again, what speaks for it, and whether it helps."""

from collections.abc import Callable, Sequence
from dataclasses import fields, replace

import numpy as np

from lengthwise.bench.meter_conditions import ReadingConditions
from lengthwise.reconciliation.trace_quality import assess_trace
from lengthwise.reference import electrical as e

from .a3_readings import Generator, Reading, is_sound, shown_traces

REPEATED = 3
"""Readings after a change, all of which have to be sound."""


def _filled(c: ReadingConditions) -> ReadingConditions:
    full = np.full_like(c.level_mm, np.inf)
    saline = np.full_like(c.level_mm, e.SALINE_OHM_M.value)
    return replace(c, level_mm=full, irrigant_ohm_m=saline, blood_share=np.zeros_like(c.level_mm))


def _dry_crown(c: ReadingConditions) -> ReadingConditions:
    none = np.full_like(c.level_mm, np.inf)
    return replace(c, leak_ohm=none, flooded_ohm=none)


def _dry_canal(c: ReadingConditions) -> ReadingConditions:
    return replace(c, level_mm=np.zeros_like(c.level_mm))


def _off_metal(c: ReadingConditions) -> ReadingConditions:
    return replace(c, touches_per_s=np.zeros_like(c.touches_per_s))


def _as_it_is(c: ReadingConditions) -> ReadingConditions:
    return c


CHANGES: dict[str, Callable[[ReadingConditions], ReadingConditions]] = {
    "nothing": _as_it_is,
    "off_metal": _off_metal,
    "dry_crown": _dry_crown,
    "fill": _filled,
    "dry_canal": _dry_canal,
    "larger_file": _as_it_is,  # the file is no condition of the canal
}
"""What each word does to the conditions of a reading."""

_FOR_TROUBLE = {
    "metal": "off_metal", "leak": "dry_crown", "flooded": "dry_crown",
    "loose": "fill", "moist": "fill",
}  # fmt: skip


def spoken_for(reading: Reading) -> tuple[str, ...]:
    """The changes that what is recorded beside the trace speaks for, the weightiest first."""
    words = [_FOR_TROUBLE.get(reading.trouble, "" if reading.full else "fill")]
    words += ["larger_file"] if reading.thin else []
    return tuple(word for word in words if word)


def helpful(
    reading: Reading, changes: Sequence[str], rng: Generator, repeats: int = REPEATED
) -> dict[str, float]:
    """Those of some changes after which the canal reads soundly, each with its signal (mm).

    Every time the trace can be used, and its signal lies close to the foramen.
    """
    each = [word for word in changes for _ in range(repeats)]
    if not each:
        return {}
    rows = np.zeros(len(each), dtype=np.intp)
    one = [CHANGES[word](reading.conditions) for word in each]
    conditions = ReadingConditions(
        **{f.name: np.concatenate([getattr(c, f.name) for c in one]) for f in fields(one[0])}
    )
    records = shown_traces(
        reading.canals.some(rows),
        reading.meter.some(rows),
        conditions,
        np.array([_size_after(reading, word) for word in each]),
        rng,
    )
    found = {}
    for k, word in enumerate(changes):
        again = records[k * repeats : (k + 1) * repeats]
        if all(is_sound(record, reading.foramen_mm) for record in again):
            found[word] = float(np.mean([assess_trace(record).signal_mm for record in again]))
    return found


def _size_after(reading: Reading, word: str) -> int:
    return reading.thickest if word == "larger_file" else reading.size
