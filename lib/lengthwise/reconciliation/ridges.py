"""Each source alone, as a curve: where it was measured, and carried to the foramen."""

from dataclasses import dataclass, replace

import numpy as np

from . import apex, paper, paper_pools, paper_trials, reading, stop
from .families import Canal
from .offsets import Floats
from .posterior import Posterior, foramen_posteriors
from .sources import AVERAGE, Source


@dataclass(frozen=True, eq=False)
class Ridge:
    """What one source alone says, as two densities (1/mm) on one grid (mm).

    Attributes
    ----------
    source : the source.
    grid_mm : lengths, (points,).
    landmark_per_mm : density of its own landmark.
    foramen_per_mm : density of the foramen, once the landmark is carried there.
    """

    source: Source
    grid_mm: Floats
    landmark_per_mm: Floats
    foramen_per_mm: Floats


def ridges_of(canal: Canal) -> tuple[Ridge, ...]:
    """The ridge of every source of a canal, in order.

    Examples
    --------
    >>> from lengthwise.evidence import Evidence
    >>> from lengthwise.reconciliation import sources_of
    >>> from lengthwise.reconciliation.families import canal_of
    >>> case = Evidence.from_json('''{"schema": "lengthwise/evidence/1", "tooth": "13",
    ...     "canal": "single", "reference_point": "incisal edge", "evidence": [
    ...     {"kind": "electronic_reading", "foramen_signal_mm": 25.0}]}''')
    >>> average, reading = ridges_of(canal_of(case, sources_of(case)))
    >>> float(reading.grid_mm[reading.landmark_per_mm.argmax()].round(2))
    25.0
    >>> bool(reading.grid_mm[reading.foramen_per_mm.argmax()] < 25.0)  # a signal comes late
    True
    """
    alone = foramen_posteriors([replace(canal, sources=(source,)) for source in canal.sources])
    return tuple(
        Ridge(
            source,
            posterior.grid_mm,
            _on_landmark(canal, source, posterior),
            posterior.density_per_mm,
        )
        for source, posterior in zip(canal.sources, alone, strict=True)
    )


def _on_landmark(canal: Canal, source: Source, alone: Posterior) -> Floats:
    grid, cases = alone.grid_mm[None, :], [(source,)]
    step = float(alone.grid_mm[1] - alone.grid_mm[0])
    if source.kind == AVERAGE:
        log_density = apex.average_log_likelihood([(canal.tooth, canal.canal)], cases, grid)
    elif source.kind == "electronic_reading":
        log_density = reading.reading_log_likelihood(reading.signal_table(cases), grid)
    elif source.kind == "point_trial":
        extra = np.arange(-round(paper_pools.HIGHEST_POOL_MM / step), 0) * step
        longer = np.concatenate([alone.grid_mm[0] + extra, alone.grid_mm])[None, :]
        log_density = paper.paper_log_likelihood(paper_trials.trial_table(cases), longer, step)
    elif source.kind == "tactile_stop":
        # a stop is coronal of the foramen; on its own landmark it stands where it was felt
        table = stop.stop_table(cases)
        log_density = stop.stop_log_likelihood(table, grid + stop.STOP_SHORT_MM)
    else:
        log_density = apex.film_log_likelihood(apex.film_table(cases), grid)
    density = np.exp(log_density[0] - log_density[0].max())
    return np.asarray(density / (density.sum() * step))
