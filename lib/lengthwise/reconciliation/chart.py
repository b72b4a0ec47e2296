"""The line for the patient's chart."""

from collections.abc import Sequence

from lengthwise.evidence import ElectronicReading, Evidence, Record, TactileStop, WorkingFilm
from lengthwise.reference.constants import CONFIRMED_FROM_MM
from lengthwise.reference.tables import tooth

from .decision import Loss
from .posterior import Posterior
from .reference_now import reference_warning
from .result_view import DISBELIEVED
from .scope import ask_reasons
from .source_rows import SourceRow
from .sources import AVERAGE, Source, latest_stage


def chart_line(
    evidence: Evidence,
    used: Sequence[Source],
    rows: Sequence[SourceRow],
    posterior: Posterior,
    working_length_mm: float | None,
    loss: Loss,
) -> str:
    """Tooth, canal, reference, estimate, working length, sources, file, confirmation, visit.

    Parameters
    ----------
    evidence : the case.
    used, rows : its sources, and what became of each, in the same order.
    posterior : where the canal ends: one place is told with a length only.
    working_length_mm : None while no length should be taken.
    loss : a file within one of its steps of the length counts as being at it.
    """
    described = tooth(evidence.tooth)
    length = working_length_mm
    visits = [r.visit for r in evidence.records if r.visit is not None]
    visit = max(visits, default=None)
    kinds = dict.fromkeys(s.name.split(",")[0] for s in used if s.kind != AVERAGE)
    parts = [
        f"tooth {evidence.tooth} (Universal {described.universal})",
        f"canal {evidence.canal}",
        f"reference {evidence.reference_point}",
        _foramen(evidence, posterior, length),
        "working length " + (f"{length:.2f} mm" if length is not None else "not yet"),
        "sources " + (", ".join(kinds) or "none"),
    ]
    if length is not None:
        size = _size_at(evidence.records, length - loss.settable_step_mm)
        pairs = zip(used, rows, strict=True)
        believed = [r for s, row in pairs if row.trust >= DISBELIEVED for r in s.records]
        films = [r for r in believed if isinstance(r, WorkingFilm)]
        stage = latest_stage(evidence.records)
        shown = any(
            r.visit == visit and r.stage in (None, stage) and _shows(r, length, loss) for r in films
        )
        parts.append(f"file size at length {size or 'not recorded'}")
        parts.append(f"radiograph with a file at length: {'taken' if shown else 'still to come'}")
    parts.append(f"visit {visit if visit is not None else 'not recorded'}")
    if warning := reference_warning(evidence):
        parts.append(warning.rstrip("."))
    return " · ".join(parts)


def _foramen(evidence: Evidence, posterior: Posterior, length_mm: float | None) -> str:
    if ask_reasons(evidence):
        return "foramen not to be told from these sources"
    if length_mm is None:
        low, high = posterior.quantile_mm([0.05, 0.95])
        return f"foramen between {low:.1f} and {high:.1f} mm, nine times in ten"
    return f"foramen estimated {posterior.mean_mm:.1f} mm"


def _shows(film: WorkingFilm, length_mm: float, loss: Loss) -> bool:
    """Whether a file at the length ends inside the root, and not at its very end.

    The foramen is no further than the end of the root, so that is at least the target away.
    """
    beyond_mm = film.file_length_mm + film.offset_mm - length_mm
    short_mm = film.tip_short_of_radiographic_apex_mm + beyond_mm
    least_mm = min(loss.target_mm, CONFIRMED_FROM_MM.value)
    return abs(beyond_mm) <= loss.settable_step_mm and short_mm >= least_mm


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
