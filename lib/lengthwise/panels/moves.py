"""What a panel lets a hand move: one number of the evidence at a time.

A move names the kind of record, what the slider says, and how the records follow it. The other
records stay as they were written down.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from lengthwise.evidence import Evidence


@dataclass(frozen=True)
class Move:
    """One thing worth moving.

    Attributes
    ----------
    label, unit
        What the slider says.
    start, low, high, step
        Where it begins and how far it goes, in `unit`.
    applied
        The case with the number moved.
    """

    label: str
    unit: str
    start: float
    low: float
    high: float
    step: float
    applied: Callable[[float], Evidence]


@dataclass(frozen=True)
class _Field:
    kind: str
    field: str
    label: str
    reach_mm: float


_FIELDS = {
    "preoperative film": _Field(
        "preoperative_film", "tooth_length_mm", "The radiograph shows a tooth of", 2.0
    ),
    "working film": _Field(
        "working_film",
        "tip_short_of_radiographic_apex_mm",
        "On the radiograph the file looks short by",
        2.0,
    ),
    "reading": _Field("electronic_reading", "foramen_signal_mm", "The foramen signal came at", 3.0),
    "stop": _Field("tactile_stop", "length_mm", "The file was felt to stop at", 2.0),
}
MOVABLE = (*_FIELDS, "contact time", "repeats")
MOST_REPEATS = 8


def move(evidence: Evidence, what: str) -> Move:
    """Choose what the slider of a panel moves.

    Parameters
    ----------
    evidence
        The case.
    what
        One of `MOVABLE`: a value of all records of one kind, which move together; the
        ``"contact time"`` of all wet points; the number of ``"repeats"`` of the last wet point.

    Returns
    -------
    Move
        The slider's words and ends, and how the case follows.

    Raises
    ------
    ValueError
        If the word is not known, or the case holds no such record.

    Examples
    --------
    >>> case = Evidence.from_json('''{"schema": "lengthwise/evidence/1", "tooth": "13",
    ...     "canal": "single", "reference_point": "incisal edge", "evidence": [
    ...     {"kind": "electronic_reading", "foramen_signal_mm": 24.0}]}''')
    >>> reading = move(case, "reading")
    >>> reading.applied(25.0).records[0].foramen_signal_mm
    25.0
    """
    if what in _FIELDS:
        return _move_field(evidence, what)
    if what == "contact time":
        return _move_contact(evidence)
    if what == "repeats":
        return _move_repeats(evidence)
    raise ValueError(f"what: got {what!r}; allowed are {', '.join(MOVABLE)}.")


def _move_field(evidence: Evidence, what: str) -> Move:
    found = _FIELDS[what]
    places = [
        place
        for place, record in enumerate(evidence.records)
        if record.kind == found.kind and getattr(record, found.field) is not None
    ]
    if not places:
        raise ValueError(
            f"what: got {what!r}, but the case has no {found.kind} with {found.field}; "
            "choose something that was measured."
        )
    start = float(getattr(evidence.records[places[0]], found.field))

    def applied(value: float) -> Evidence:
        # Repeats move together: one that stayed behind would be another source altogether.
        changes = {
            place: {found.field: getattr(evidence.records[place], found.field) + value - start}
            for place in places
        }
        return _with(evidence, changes)

    return Move(
        found.label, "mm", start, start - found.reach_mm, start + found.reach_mm, 0.1, applied
    )


def _move_contact(evidence: Evidence) -> Move:
    wet = _wet_places(evidence, "contact time")
    start = float(getattr(evidence.records[wet[0]], "contact_s"))  # noqa: B009

    def applied(value: float) -> Evidence:
        return _with(evidence, {place: {"contact_s": value} for place in wet})

    return Move("Each wet point was left for", "s", start, 0.5, max(8.0, start), 0.5, applied)


def _move_repeats(evidence: Evidence) -> Move:
    last = _wet_places(evidence, "repeats")[-1]

    def applied(value: float) -> Evidence:
        again = (evidence.records[last],) * round(value)
        records = (*evidence.records[:last], *again, *evidence.records[last + 1 :])
        return evidence.model_copy(update={"records": records})

    return Move("Wet points with the same result", "in all", 1.0, 1.0, MOST_REPEATS, 1.0, applied)


def _wet_places(evidence: Evidence, what: str) -> list[int]:
    wet = [
        place
        for place, record in enumerate(evidence.records)
        if record.kind == "point_trial" and record.wet_mm > 0
    ]
    if not wet:
        raise ValueError(
            f"what: got {what!r}, but the case has no wet point; choose something that was "
            "measured."
        )
    return wet


def _with(evidence: Evidence, changes: dict[int, dict[str, Any]]) -> Evidence:
    """The case with some fields of some records changed; the sliders keep them in bounds."""
    records = tuple(
        record.model_copy(update=changes.get(place, {}))
        for place, record in enumerate(evidence.records)
    )
    return evidence.model_copy(update={"records": records})
