"""What was written down about a canal, as sentences that a person would say."""

from __future__ import annotations

import html
from collections.abc import Callable
from dataclasses import dataclass
from itertools import groupby

from lengthwise.evidence import (
    ElectronicReading,
    Evidence,
    PointTrial,
    PreoperativeFilm,
    TactileStop,
    WorkingFilm,
)
from lengthwise.evidence.records import RecordBase
from lengthwise.reference.tables import tooth


@dataclass(frozen=True)
class Written:
    """The heading and the lines of a case; shown as a list, and as text."""

    heading: str
    lines: tuple[str, ...]

    def __repr__(self) -> str:
        return "\n".join([self.heading, *(f"- {line}" for line in self.lines)])

    def _repr_html_(self) -> str:
        items = "".join(f"<li>{html.escape(line)}</li>" for line in self.lines)
        return f"<p>{html.escape(self.heading)}</p>" + (f"<ul>{items}</ul>" if items else "")


def written(evidence: Evidence) -> Written:
    """Put a case into words, one line a record; records that read alike share a line.

    Examples
    --------
    >>> written(Evidence.from_json('''{"schema": "lengthwise/evidence/1", "tooth": "13",
    ...     "canal": "single", "reference_point": "incisal edge", "evidence": [
    ...     {"kind": "point_trial", "length_mm": 25.5, "contact_s": 1, "wet_mm": 0.5}]}'''))
    Tooth 13 (Universal 6), canal single, measured from the incisal edge.
    - A paper point at 25.5 mm for 1 s came out with its last 0.5 mm wet.
    """
    heading = (
        f"Tooth {evidence.tooth} (Universal {tooth(evidence.tooth).universal}), canal "
        f"{evidence.canal}, measured from the {evidence.reference_point}."
    )
    alike = [list(same) for _, same in groupby(evidence.records, key=_line)]
    return Written(heading, tuple(_line(same[0], len(same)) for same in alike))


def _line(record: RecordBase, times: int = 1) -> str:
    repeated = {1: "", 2: ", twice"}.get(times, f", {times} times")
    visit = "" if record.visit is None else f"Visit {record.visit}. "
    offset = record.reference_offset_mm
    place = record.reference_point or "other reference"
    counted = "" if offset is None else f" Counted from the {place}: {offset:g} mm to add."
    for kind, words in _WORDS.items():
        if isinstance(record, kind):
            return f"{visit}{words(record)}{repeated}.{counted}"
    raise ValueError(f"record: got {type(record).__name__}; no words are known for this kind.")


def _preoperative(record: PreoperativeFilm) -> str:
    return f"The radiograph before treatment shows a tooth of {record.tooth_length_mm:.1f} mm"


def _working(record: WorkingFilm) -> str:
    gap = record.tip_short_of_radiographic_apex_mm
    looks = f"{gap:.1f} mm short of" if gap >= 0 else f"{-gap:.1f} mm beyond"
    return (
        f"On a radiograph a file at {record.file_length_mm:.1f} mm looks {looks} the end of the "
        "root"
    )


def _reading(record: ElectronicReading) -> str:
    if record.foramen_signal_mm is None:
        return "An electronic reading was recorded as a trace"
    return f"The electronic reading gives its foramen signal at {record.foramen_signal_mm:.1f} mm"


def _point(record: PointTrial) -> str:
    start = f"A paper point at {record.length_mm:.1f} mm for {record.contact_s:g} s came out "
    if record.wet_mm == 0:
        return start + "dry"
    return start + f"with its last {record.wet_mm:.1f} mm wet"


def _stop(record: TactileStop) -> str:
    return f"A file was felt to stop at {record.length_mm:.1f} mm"


_WORDS: dict[type[RecordBase], Callable[..., str]] = {
    PreoperativeFilm: _preoperative,
    WorkingFilm: _working,
    ElectronicReading: _reading,
    PointTrial: _point,
    TactileStop: _stop,
}
