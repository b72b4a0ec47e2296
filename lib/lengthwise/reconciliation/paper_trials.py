"""The trials of many cases as arrays, and what a single trial says of where liquid begins."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
from scipy.special import log_ndtr, ndtr

from lengthwise.evidence import PointTrial
from lengthwise.reference import constants as c
from lengthwise.reference import points as p

from .densities import log_normal
from .offsets import Floats
from .sources import Source


@dataclass(frozen=True, eq=False)
class TrialTable:
    """The trials of many cases as arrays; `source` counts paper sources over all cases.

    `log_bound` is how much likelier a bound canal makes what was felt (log of the ratio);
    `wet_before` counts the points of the same source that had come out wet before.
    """

    source: npt.NDArray[np.intp]
    length_mm: Floats
    wet_mm: Floats
    contact_s: Floats
    false_dry: Floats
    log_bound: Floats
    wet_before: npt.NDArray[np.intp]
    source_case: npt.NDArray[np.intp]
    source_trust: Floats


def trial_table(cases: Sequence[Sequence[Source]]) -> TrialTable:
    """Collect the point trials of many cases."""
    owner: list[int] = []
    trust: list[float] = []
    of_source: list[int] = []
    columns: list[tuple[float, float, float, float, float, int]] = []
    for case, sources in enumerate(cases):
        for source in sources:
            if source.kind != "point_trial":
                continue
            wet_before = 0
            for record in source.records:
                assert isinstance(record, PointTrial)
                of_source.append(len(owner))
                length = record.length_mm + record.offset_mm - source.shift_mm
                chance = false_dry_chance(record.ran_freely)
                felt = _log_bound(record.ran_freely)
                columns.append((length, record.wet_mm, record.contact_s, chance, felt, wet_before))
                wet_before += record.wet_mm > 0
            owner.append(case)
            trust.append(source.trust)
    arrays = np.array(columns, dtype=np.float64).reshape(-1, 6).T
    length_mm, wet_mm, contact_s, dry_chance, log_bound, before = arrays
    return TrialTable(
        np.array(of_source, dtype=np.intp),
        length_mm,
        wet_mm,
        contact_s,
        dry_chance,
        log_bound,
        before.astype(np.intp),
        np.array(owner, dtype=np.intp),
        np.array(trust, dtype=np.float64),
    )


def false_dry_chance(ran_freely: bool | None) -> float:
    """Probability that a point stays dry although its tip is past the landmark.

    >>> false_dry_chance(True) < false_dry_chance(None) < false_dry_chance(False)
    True
    """
    if ran_freely is None:
        return c.FALSE_DRY_NOT_RECORDED.value
    return (c.FALSE_DRY_RAN_FREELY if ran_freely else c.FALSE_DRY_BINDING).value


def felt_chance(bound: bool) -> float:
    """Probability that a point is felt not to run freely, in a bound canal or in any other."""
    return (p.FELT_WHERE_BOUND if bound else p.FELT_ELSEWHERE).value


def _log_bound(ran_freely: bool | None) -> float:
    if ran_freely is None:
        return 0.0
    there, elsewhere = felt_chance(True), felt_chance(False)
    return float(np.log((1 - there) / (1 - elsewhere) if ran_freely else there / elsewhere))


def rows_where(table: TrialTable, wanted: npt.NDArray[np.bool_]) -> TrialTable:
    """The table with only the wanted trials; its sources stay as they are."""
    return replace(
        table,
        source=table.source[wanted],
        length_mm=table.length_mm[wanted],
        wet_mm=table.wet_mm[wanted],
        contact_s=table.contact_s[wanted],
        false_dry=table.false_dry[wanted],
        log_bound=table.log_bound[wanted],
        wet_before=table.wet_before[wanted],
    )


def log_dry(x: Floats, table: TrialTable, sd_mm: float) -> Floats:
    """Dry at this length where liquid begins at x (mm), (trials, points)."""
    f, d = table.false_dry[:, None], table.length_mm[:, None]
    return np.asarray(np.log(f + (1 - f) * ndtr((x - d) / sd_mm)))


def log_mark(
    x: Floats, table: TrialTable, sd_mm: float, wicked: npt.ArrayLike, mark_sd: npt.ArrayLike
) -> Floats:
    """Wet, with this mark: `wicked` (mm) above the surface, known to within `mark_sd` (mm)."""
    mark_sd = np.asarray(mark_sd)
    total = sd_mm**2 + mark_sd**2
    past = table.length_mm[:, None] - x
    overshoot = table.wet_mm[:, None] - np.asarray(wicked)
    centre = (past * mark_sd**2 + overshoot * sd_mm**2) / total
    spread = sd_mm * mark_sd / np.sqrt(total)
    joint = log_normal(overshoot - past, np.sqrt(total)) + log_ndtr(centre / spread)
    return np.asarray(joint + np.log1p(-table.false_dry[:, None]))
