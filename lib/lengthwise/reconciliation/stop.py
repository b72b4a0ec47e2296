"""Tactile stops: weak, one-sided, and no better for being repeated.

A sound stop is at the constriction; an unsound one was caught somewhere coronal of it
(exponential). Repeats feel the same thing again: their mean counts once.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from lengthwise.evidence import TactileStop
from lengthwise.reference import constants as c

from .densities import log_early, log_normal
from .offsets import Floats, mix, sum_by
from .sources import Source

STOP_SHORT_MM = c.STOP_SHORT_OF_FORAMEN_MM.value
"""A sound stop is this far coronal of the foramen (mm)."""


@dataclass(frozen=True, eq=False)
class StopTable:
    """The tactile sources of many cases: mean length (mm) and trust of each."""

    mean_mm: Floats
    source_case: npt.NDArray[np.intp]
    source_trust: Floats


def stop_table(cases: Sequence[Sequence[Source]]) -> StopTable:
    """Collect the tactile stops of many cases."""
    owner, mean, trust = [], [], []
    for case, sources in enumerate(cases):
        for source in sources:
            if source.kind == "tactile_stop":
                stops = [r for r in source.records if isinstance(r, TactileStop)]
                lengths = [r.length_mm + r.offset_mm - source.shift_mm for r in stops]
                owner.append(case)
                mean.append(float(np.mean(lengths)))
                trust.append(source.trust)
    return StopTable(
        np.array(mean, dtype=np.float64),
        np.array(owner, dtype=np.intp),
        np.array(trust, dtype=np.float64),
    )


def stop_log_likelihood(table: StopTable, foramen_mm: Floats) -> Floats:
    """Log-likelihood of all tactile stops of each case over the foramen (cases, points)."""
    at_stop = foramen_mm[table.source_case] - STOP_SHORT_MM
    late = at_stop - table.mean_mm[:, None]
    sd = c.STOP_SD_MM.value
    mixed = mix(
        table.source_trust[:, None],
        log_normal(late, sd),
        log_early(late, sd, c.STOP_EARLY_MEAN_MM.value),
    )
    return sum_by(table.source_case, mixed, len(foramen_mm))
