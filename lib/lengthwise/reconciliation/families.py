"""What each family of sources says of the foramen, for many canals at once.

A family is the sources that share a landmark: they are multiplied there, and their product is
carried to the foramen.
"""

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, replace

import numpy as np

from lengthwise.evidence import Evidence

from . import apex, paper, paper_pools, paper_trials, reading, stop
from .foramen import DIAMETERS_MM
from .offsets import Floats, Offsets, carry
from .sources import AVERAGE, Source, latest_stage

ON_APEX = frozenset({AVERAGE, "preoperative_film", "working_film"})
"""Kinds of source whose landmark is the end of the root."""


@dataclass(frozen=True)
class Canal:
    """One canal and the sources that speak about it.

    Attributes
    ----------
    tooth, canal : which one it is.
    sources : those that are asked.
    stage : of preparation, in which the canal is by now; None where none is written down. Every
        length is told as the canal is now, whichever of its sources are asked.
    """

    tooth: str
    canal: str
    sources: tuple[Source, ...]
    stage: str | None


def canal_of(evidence: Evidence, sources: tuple[Source, ...]) -> Canal:
    """A case's canal as it is now, and those of its sources that are asked."""
    return Canal(evidence.tooth, evidence.canal, sources, latest_stage(evidence.records))


@dataclass(frozen=True, eq=False)
class ByFamily:
    """Log-density over the foramen by the sources that share a landmark.

    Attributes
    ----------
    apex, stop : the end of the root with its average, and tactile stops; (canals, points).
    paper, reading : at each node of the foramen's width (nodes, canals, points); a single node of
        zeros where none has spoken.
    """

    apex: Floats
    stop: Floats
    paper: Floats
    reading: Floats


def log_density_by_family(
    canals: Sequence[Canal], start_mm: Floats, points: int, step_mm: float
) -> ByFamily:
    """What each family of sources says of the foramen; lengths as shifted by `shortened`."""
    grid = points, step_mm
    return ByFamily(
        apex=_once(_by_apex, ON_APEX, canals, start_mm, *grid),
        stop=_once(_by_stop, {"tactile_stop"}, canals, start_mm, *grid),
        paper=_once(_by_paper, {"point_trial"}, canals, start_mm, *grid),
        reading=_once(_by_reading, {"electronic_reading"}, canals, start_mm, *grid),
    )


def _once(
    say: Callable[[Sequence[Canal], Floats, int, float], Floats],
    kinds: Collection[str],
    canals: Sequence[Canal],
    start_mm: Floats,
    points: int,
    step_mm: float,
) -> Floats:
    """What the sources of these kinds say of every canal, worked out once for those that are alike.

    Many are where one case is weighed with each of its sources left out in turn.
    """
    alike: dict[tuple[Canal, float], int] = {}
    which = []
    for canal, start in zip(canals, start_mm.tolist(), strict=True):
        speaking = tuple(source for source in canal.sources if source.kind in kinds)
        own = (replace(canal, sources=speaking), start)
        which.append(alike.setdefault(own, len(alike)))
    starts = np.array([start for _, start in alike])
    said = say([canal for canal, _ in alike], starts, points, step_mm)
    return said if len(alike) == len(canals) else said[..., which, :]


def _grid(
    start_mm: Floats, points: int, step_mm: float, first_mm: float = 0.0, last_mm: float = 0.0
) -> Floats:
    """Lengths (canals, points): from so far before the foramen's grid to so far beyond it."""
    before, after = round(first_mm / step_mm), round(last_mm / step_mm)
    return np.asarray(start_mm[:, None] + step_mm * np.arange(before, points + after))


def _by_apex(canals: Sequence[Canal], start_mm: Floats, points: int, step_mm: float) -> Floats:
    teeth = [(canal.tooth, canal.canal) for canal in canals]
    sources = [canal.sources for canal in canals]
    offsets = apex.apex_offsets(teeth)
    apex_mm = _grid(start_mm, points, step_mm, offsets.first_mm, offsets.last_mm)
    on_apex = apex.average_log_likelihood(teeth, sources, apex_mm)
    films = apex.film_table(sources)
    if len(films.source):
        on_apex = on_apex + apex.film_log_likelihood(films, apex_mm)
    return carry(on_apex, offsets, step_mm)


def _by_stop(canals: Sequence[Canal], start_mm: Floats, points: int, step_mm: float) -> Floats:
    stops = stop.stop_table([canal.sources for canal in canals])
    if not len(stops.source_case):
        return np.zeros((len(canals), points))
    return stop.stop_log_likelihood(stops, _grid(start_mm, points, step_mm))


def _by_paper(canals: Sequence[Canal], start_mm: Floats, points: int, step_mm: float) -> Floats:
    trials = paper_trials.trial_table([canal.sources for canal in canals])
    if not len(trials.source):
        return np.zeros((1, len(canals), points))
    every = [paper.paper_offsets(node) for node in range(len(DIAMETERS_MM))]
    first = min(own.first_mm for own in every)
    last = max(own.last_mm for own in every)
    landmark = _grid(start_mm, points, step_mm, first - paper_pools.HIGHEST_POOL_MM, last)
    said = paper.paper_log_likelihood(trials, landmark, step_mm)
    return np.stack([carry(_cut(said, own, first, last, step_mm), own, step_mm) for own in every])


def _by_reading(canals: Sequence[Canal], start_mm: Floats, points: int, step_mm: float) -> Floats:
    signals = reading.signal_table([canal.sources for canal in canals])
    if not len(signals.source_case):
        return np.zeros((1, len(canals), points))
    every = [reading.reading_offsets(node) for node in range(len(DIAMETERS_MM))]
    grids = [_grid(start_mm, points, step_mm, own.first_mm, own.last_mm) for own in every]
    return np.stack(
        [
            carry(reading.reading_log_likelihood(signals, grid_mm), own, step_mm)
            for grid_mm, own in zip(grids, every, strict=True)
        ]
    )


def _cut(
    log_likelihood: Floats, own: Offsets, first_mm: float, last_mm: float, step_mm: float
) -> Floats:
    """The part of a landmark's grid, made from `first_mm` to `last_mm`, that `own` needs."""
    begin = round((own.first_mm - first_mm) / step_mm)
    end = log_likelihood.shape[1] - round((last_mm - own.last_mm) / step_mm)
    return log_likelihood[:, begin:end]
