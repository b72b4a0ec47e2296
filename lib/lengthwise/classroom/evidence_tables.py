"""A case as tables: what a student reads, as accessible HTML and as plain text.

The records are shown as they were written down, long traces as strip charts. Nothing is corrected
or weighed: reading them is the student's work.
"""

from __future__ import annotations

import html
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from lengthwise.classroom.trace_view import TraceView
from lengthwise.evidence import (
    ElectronicReading,
    Evidence,
    PointTrial,
    PreoperativeFilm,
    Record,
    TactileStop,
    WorkingFilm,
)
from lengthwise.marking.sheet import Sheet
from lengthwise.reference.tables import tooth

FULL_TRACE_ROWS = 40
"""A trace with more samples is shown as a strip chart, and in steps."""


Columns = dict[str, list[str]]
"""Cells by the head of their column; an empty cell is something that was not recorded."""

NO_LIQUID = "–"
"""A dry point carries no liquid; that none was written down is no gap."""


@dataclass(frozen=True)
class CaseView:
    """A case on show in a notebook: tables in a browser, the same as text elsewhere."""

    title: str
    opening: str
    tables: tuple[Sheet | TraceView, ...]

    def _repr_html_(self) -> str:
        parts = [f"<p><strong>{html.escape(self.title)}</strong> {html.escape(self.opening)}</p>"]
        return "\n".join(parts + [table._repr_html_() for table in self.tables])

    def __repr__(self) -> str:
        return "\n\n".join([f"{self.title} {self.opening}", *map(repr, self.tables)])


def case_view(name: str, evidence: Evidence) -> CaseView:
    """The case called ``name`` as tables, one kind of record after the other as recorded."""
    canal = "" if evidence.canal == "single" else f", canal {evidence.canal}"
    opening = (
        f"Tooth {evidence.tooth} (Universal {tooth(evidence.tooth).universal}){canal}. All lengths "
        f"are in millimetres from the {evidence.reference_point}."
    )
    tables: list[Sheet | TraceView] = []
    known = _known(evidence)
    if known:
        tables.append(Sheet("What else is known", ("about", "recorded"), tuple(known)))
    for kind, records in groupby(evidence.records, key=_kind):
        tables.extend(_TABLES[kind](list(records)))
    return CaseView(f"Case {name}.", opening, tuple(tables))


def _kind(record: Record) -> type:
    return type(record)


def _known(evidence: Evidence) -> list[tuple[str, str]]:
    named = {
        "pulp": "pulp",
        "apex": "apex",
        "lesion": "lesion on the radiograph",
        "near_nerve_or_sinus": "close to a nerve or the sinus",
        "obstruction": "obstruction in the canal",
        "crown": "crown",
        "communication": "communication",
    }
    values = evidence.context.model_dump(exclude_none=True)
    return [(named[key], _word(value)) for key, value in values.items()]


def _word(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(value).replace("_", " ")


def _mm(value: float | None) -> str:
    return "" if value is None else f"{value:.2f}".rstrip("0").rstrip(".")


def _numbered(caption: str, first: str, records: Sequence[Any], columns: Columns) -> Sheet:
    """One row a record, numbered; a column in which nothing was recorded is left out.

    Remarks that hold for all of several records stand in the caption.
    """
    remarks = [_remarks(record) for record in records]
    if len(records) > 1 and len(set(remarks)) == 1 and remarks[0]:
        caption = f"{caption} ({remarks[0]})"
    else:
        columns = {**columns, "remarks": remarks}
    recorded = {head: cells for head, cells in columns.items() if any(set(cells) - {NO_LIQUID})}
    rows = [
        (str(number), *(cell or "not recorded" for cell in cells))
        for number, cells in enumerate(zip(*recorded.values(), strict=True), 1)
    ]
    return Sheet(caption, (first, *recorded), tuple(rows))


_LIQUIDS = {
    "dry": "canal dry",
    "moist": "canal moist",
    "irrigant": "irrigant in the canal",
    "blood": "blood in the canal",
    "flooded": "canal and chamber flooded",
}


def _remarks(record: Record) -> str:
    said = []
    if record.reference_point is not None:
        said.append(f"measured from the {record.reference_point}")
    if record.reference_offset_mm is not None:
        said.append(f"add {_mm(record.reference_offset_mm)} mm to come to the case's reference")
    if record.visit is not None:
        said.append(f"visit {record.visit}")
    if record.stage is not None:
        said.append(_word(record.stage).replace("flare", "flaring"))
    if record.file_size is not None:
        said.append(f"file size {record.file_size}")
    if record.liquid_in_canal is not None:
        said.append(_LIQUIDS[record.liquid_in_canal])
    return ", ".join(said)


def _preoperative(records: Sequence[PreoperativeFilm]) -> Iterable[Sheet]:
    yield _numbered(
        "Radiograph before treatment, as measured on the image",
        "radiograph",
        records,
        {
            "tooth length on the image (mm)": [_mm(r.tooth_length_mm) for r in records],
            "technique": [_word(r.technique) for r in records],
        },
    )


def _working(records: Sequence[WorkingFilm]) -> Iterable[Sheet]:
    yield _numbered(
        "Working radiograph with a file in the canal",
        "radiograph",
        records,
        {
            "file set to (mm)": [_mm(r.file_length_mm) for r in records],
            "tip short of the radiographic apex (mm)": [
                _short_of(r.tip_short_of_radiographic_apex_mm) for r in records
            ],
            "technique": [_word(r.technique) for r in records],
            "file on the image (mm)": [_mm(r.film_file_length_mm) for r in records],
            "tooth on the image (mm)": [_mm(r.film_tooth_length_mm) for r in records],
            "turned to the side (degrees)": [_mm(r.horizontal_deg) for r in records],
        },
    )


def _short_of(value: float) -> str:
    return _mm(value) if value >= 0 else f"{_mm(value)} (looks long)"


def _readings(records: Sequence[ElectronicReading]) -> Iterable[Sheet | TraceView]:
    signals = [r for r in records if r.foramen_signal_mm is not None]
    if signals:
        yield _numbered(
            "Electronic reading: depth at which the foramen signal came",
            "reading",
            signals,
            {"depth (mm)": [_mm(r.foramen_signal_mm) for r in signals]},
        )
    traces = [r for r in records if r.foramen_signal_mm is None]
    for number, record in enumerate(traces, 1):
        remarks = f" ({_remarks(record)})" if _remarks(record) else ""
        caption = (
            f"Electronic reading, trace {number}{remarks}: the file goes in, back, and in again. "
            "The depth at which it shows 0 is the foramen signal; other numbers are no distances"
        )
        if len(record.time_s or ()) > FULL_TRACE_ROWS:
            yield TraceView(caption, record)
        else:
            yield Sheet(
                caption,
                ("time (s)", "file depth (mm)", "indicated (0: foramen signal; no millimetres)"),
                tuple(_samples(record)),
            )


def _samples(record: ElectronicReading) -> Iterable[tuple[str, str, str]]:
    for time, depth, indicated in zip(
        record.time_s or (), record.depth_mm or (), record.indicated or (), strict=True
    ):
        shown = "no reading" if indicated is None else f"{indicated:.1f}"
        yield f"{time:.2f}", f"{depth:.2f}", shown


def _points(records: Sequence[PointTrial]) -> Iterable[Sheet]:
    yield _numbered(
        "Paper point trials, in order",
        "trial",
        records,
        {
            "set to (mm)": [_mm(r.length_mm) for r in records],
            "contact (s)": [_mm(r.contact_s) for r in records],
            "mark from the tip (mm)": ["dry" if r.wet_mm == 0 else _mm(r.wet_mm) for r in records],
            "where the mark is": [_word(r.mark_site) for r in records],
            "slope of the edge (mm)": [_mm(r.oblique_edge_mm) for r in records],
            "liquid": [_liquid(r) for r in records],
            "point size": [_word(r.size) for r in records],
            "taper": [_word(r.taper) for r in records],
            "ran freely": [_word(r.ran_freely) for r in records],
        },
    )


def _liquid(record: PointTrial) -> str:
    return NO_LIQUID if record.wet_mm == 0 and record.liquid is None else _word(record.liquid)


def _stops(records: Sequence[TactileStop]) -> Iterable[Sheet]:
    yield _numbered(
        "Length at which a file was felt to stop",
        "file",
        records,
        {"length (mm)": [_mm(r.length_mm) for r in records]},
    )


_TABLES: dict[type, Callable[[Any], Iterable[Sheet | TraceView]]] = {
    PreoperativeFilm: _preoperative,
    WorkingFilm: _working,
    ElectronicReading: _readings,
    PointTrial: _points,
    TactileStop: _stops,
}
