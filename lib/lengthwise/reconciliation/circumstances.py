"""Which points and readings of one visit and stage were taken under the same circumstances."""

from collections.abc import Sequence

from lengthwise.evidence import ElectronicReading, PointTrial, Record
from lengthwise.reference.readings import TRACE_BEHAVES_FROM

from .trace_quality import assess_trace

_WETNESS = {"dry": 0, "moist": 1, "blood": 1, "irrigant": 2, "flooded": 2}
_HIDES_THE_SIGNAL = frozenset({"blood", "flooded"})


def circumstances_of(records: Sequence[Record]) -> list[str]:
    """For each record what was special when it was taken, in words; empty where nothing was.

    Points: how often the canal had been dried again by then, which is whenever it is written down
    as drier than before at the same visit and stage; a canal that bleeds meanwhile has not been
    dried. Readings: whether the canal was flooded or bled, and whether the trace behaved: what is
    wrong with those readings is not wrong with the others. A reading without a trace is taken to
    have behaved, unless the two before it at this visit and stage had not.

    >>> wet = PointTrial(length_mm=24.0, contact_s=1.0, wet_mm=2.0, liquid_in_canal="moist")
    >>> circumstances_of([wet, wet, wet.model_copy(update={"liquid_in_canal": "dry"})])
    ['', '', 'dried again (2)']
    >>> flooded = ElectronicReading(foramen_signal_mm=22.5, liquid_in_canal="flooded")
    >>> moist = flooded.model_copy(update={"liquid_in_canal": "moist"})
    >>> circumstances_of([moist, flooded, moist])
    ['', 'flooded or bleeding', '']
    """
    said = [""] * len(records)
    together: dict[tuple[str, int | None, str | None], list[int]] = {}
    for i, record in enumerate(records):
        together.setdefault((record.kind, record.visit, record.stage), []).append(i)
    for rows in together.values():
        alike = [records[i] for i in rows]
        points = [record for record in alike if isinstance(record, PointTrial)]
        readings = [record for record in alike if isinstance(record, ElectronicReading)]
        for i, words in zip(rows, _of_points(points) or _of_readings(readings), strict=False):
            said[i] = words
    return said


def _of_points(points: Sequence[PointTrial]) -> list[str]:
    said, times, before = [], 1, 0
    for point in points:
        wetness = before if point.liquid_in_canal is None else _WETNESS[point.liquid_in_canal]
        times += wetness < before
        before = wetness
        said.append(f"dried again ({times})" if times > 1 else "")
    return said


def _of_readings(readings: Sequence[ElectronicReading]) -> list[str]:
    said, hidden, in_vain = [], False, 0
    for reading in readings:
        if reading.liquid_in_canal is not None:  # else it is as it was before
            hidden = reading.liquid_in_canal in _HIDES_THE_SIGNAL
        misbehaved = in_vain > 1
        if reading.time_s is not None:
            misbehaved = assess_trace(reading).usable < TRACE_BEHAVES_FROM.value
            in_vain = in_vain + 1 if misbehaved else 0
        words = ["flooded or bleeding"] * hidden + ["trace not usable"] * misbehaved
        said.append(", ".join(words))
    return said
