"""The line for the patient's chart."""

from collections.abc import Sequence

from lengthwise.evidence import ElectronicReading, Evidence, Record, TactileStop, WorkingFilm
from lengthwise.reference.tables import tooth

from .reference_now import reference_warning
from .result_view import DISBELIEVED
from .source_rows import SourceRow
from .sources import AVERAGE, Source


def chart_line(
    evidence: Evidence,
    used: Sequence[Source],
    rows: Sequence[SourceRow],
    foramen_mm: float,
    working_length_mm: float | None,
    settable_step_mm: float,
) -> str:
    """Tooth, canal, reference, estimate, working length, sources, file, confirmation, visit.

    Parameters
    ----------
    evidence : the case.
    used, rows : its sources, and what became of each, in the same order.
    foramen_mm : where the canal ends.
    working_length_mm : None while no length should be taken.
    settable_step_mm : a file as close to the length as this counts as being at it.
    """
    described = tooth(evidence.tooth)
    length, step = working_length_mm, settable_step_mm
    visits = [r.visit for r in evidence.records if r.visit is not None]
    visit = max(visits, default=None)
    kinds = dict.fromkeys(s.name.split(",")[0] for s in used if s.kind != AVERAGE)
    parts = [
        f"tooth {evidence.tooth} (Universal {described.universal})",
        f"canal {evidence.canal}",
        f"reference {evidence.reference_point}",
        f"foramen estimated {foramen_mm:.1f} mm",
        "working length " + (f"{length:.2f} mm" if length is not None else "not yet"),
        "sources " + (", ".join(kinds) or "none"),
    ]
    if length is not None:
        size = _size_at(evidence.records, length - step)
        pairs = zip(used, rows, strict=True)
        believed = [r for s, row in pairs if row.trust >= DISBELIEVED for r in s.records]
        shown = any(_confirms(r, visit, length, step) for r in believed)
        confirmed = "working radiograph" if shown else "radiograph still to come"
        parts.append(f"file size at length {size or 'not recorded'}")
        parts.append(f"confirmed by {confirmed}")
    parts.append(f"visit {visit if visit is not None else 'not recorded'}")
    if warning := reference_warning(evidence):
        parts.append(warning.rstrip("."))
    return " · ".join(parts)


def _confirms(record: Record, visit: int | None, length_mm: float, step_mm: float) -> bool:
    """A radiograph of this visit, with the file at the length and its tip inside the root."""
    return (
        isinstance(record, WorkingFilm)
        and record.visit == visit
        and abs(record.file_length_mm + record.offset_mm - length_mm) <= step_mm
        and record.tip_short_of_radiographic_apex_mm >= 0
    )


def _size_at(records: Sequence[Record], length_mm: float) -> int | None:
    """Size of the last file that is known to have gone as far as this length (mm)."""
    sizes = [r.file_size for r in records if _file_went_mm(r) >= length_mm]
    return next((size for size in reversed(sizes) if size is not None), None)


def _file_went_mm(record: Record) -> float:
    went_mm = 0.0
    if isinstance(record, WorkingFilm):
        went_mm = record.file_length_mm
    elif isinstance(record, TactileStop):
        went_mm = record.length_mm
    elif isinstance(record, ElectronicReading):
        went_mm = record.foramen_signal_mm or max(record.depth_mm or (0.0,))
    return went_mm + record.offset_mm
