"""Which points and readings of one visit and stage were taken under the same circumstances."""

from collections.abc import Sequence

from lengthwise.evidence import ElectronicReading, PointTrial, Record

from .trace_quality import assess_trace

MISBEHAVED = 0.5
"""A trace less likely to be usable than this did not behave."""

_WETNESS = {"dry": 0, "moist": 1, "blood": 1, "irrigant": 2, "flooded": 2}
_HIDES_THE_SIGNAL = frozenset({"blood", "flooded"})


def attempts_of(records: Sequence[Record]) -> list[int]:
    """For each record the attempt that it belongs to; 1 for what is no point and no reading.

    Points: another attempt begins where a canal is written down as drier than before at the same
    visit and stage; a canal that bleeds meanwhile has not been dried. Readings: those of a canal
    that is flooded or bleeds are one attempt and the others another, and so are those whose traces
    behave and those whose do not: what is wrong with one is not wrong with the other.

    >>> wet = PointTrial(length_mm=24.0, contact_s=1.0, wet_mm=2.0, liquid_in_canal="moist")
    >>> attempts_of([wet, wet, wet.model_copy(update={"liquid_in_canal": "dry"})])
    [1, 1, 2]
    >>> flooded = ElectronicReading(foramen_signal_mm=22.5, liquid_in_canal="flooded")
    >>> moist = flooded.model_copy(update={"liquid_in_canal": "moist"})
    >>> attempts_of([moist, flooded, moist])
    [1, 2, 1]
    """
    attempts = [1] * len(records)
    together: dict[tuple[str, int | None, str | None], list[int]] = {}
    for i, record in enumerate(records):
        together.setdefault((record.kind, record.visit, record.stage), []).append(i)
    for rows in together.values():
        for i, attempt in zip(rows, _attempts([records[i] for i in rows]), strict=True):
            attempts[i] = attempt
    return attempts


def _attempts(records: Sequence[Record]) -> list[int]:
    """The same for records of one kind, visit and stage."""
    points = [record for record in records if isinstance(record, PointTrial)]
    readings = [record for record in records if isinstance(record, ElectronicReading)]
    return _of_points(points) or _of_readings(readings) or [1] * len(records)


def _of_points(points: Sequence[PointTrial]) -> list[int]:
    attempts, attempt, before = [], 1, 0
    for point in points:
        wetness = before if point.liquid_in_canal is None else _WETNESS[point.liquid_in_canal]
        attempt += wetness < before
        before = wetness
        attempts.append(attempt)
    return attempts


def _of_readings(readings: Sequence[ElectronicReading]) -> list[int]:
    attempts = []
    circumstances: list[tuple[bool, bool]] = []
    hidden = misbehaved = False  # what is not written down is as it was before
    for reading in readings:
        if reading.liquid_in_canal is not None:
            hidden = reading.liquid_in_canal in _HIDES_THE_SIGNAL
        if reading.time_s is not None:
            misbehaved = assess_trace(reading).usable < MISBEHAVED
        if (hidden, misbehaved) not in circumstances:
            circumstances.append((hidden, misbehaved))
        attempts.append(circumstances.index((hidden, misbehaved)) + 1)
    return attempts
