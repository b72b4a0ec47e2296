"""Points tried in a simulated canal as the procedure says, and written down as in a chart.

The estimated working length comes from a radiograph; points begin half a millimetre short of it
and go on by half a millimetre until fluid is picked up, never more than a millimetre beyond; then
the same length is repeated.
"""

import numpy as np

from lengthwise.anatomy.canals import Canal
from lengthwise.anatomy.teeth import outline
from lengthwise.bench.canal_state import CanalState
from lengthwise.bench.film_landmarks import project_landmarks, read_film
from lengthwise.bench.film_setup import set_up
from lengthwise.bench.point_actions import LONGEST_POINT_MM, TryPoint
from lengthwise.bench.points import step
from lengthwise.evidence import PointTrial, PreoperativeFilm, WorkingFilm
from lengthwise.reconciliation.apex import film_apex_mm

Generator = np.random.Generator

STEP_MM = 0.5
BEYOND_MM = 1.0
"""No point goes further than this beyond the estimated working length."""


ORDINARY_MM = (16.0, 30.0)
"""Canals as students meet them; points reach to the end of these, with room to hold."""


def is_ordinary(canal: Canal) -> bool:
    """Whether a canal is neither shorter nor longer than students meet them."""
    return ORDINARY_MM[0] <= canal.foramen_mm <= ORDINARY_MM[1]


def film_of(canal: Canal, rng: Generator) -> PreoperativeFilm:
    """The radiograph before treatment, read to a tenth of a millimetre.

    >>> from lengthwise.anatomy.canals import draw_canals
    >>> rng = np.random.default_rng(1)
    >>> canal = draw_canals("13", 1, rng).one(0)
    >>> film = film_of(canal, rng)
    >>> abs(estimated_mm(film) - (canal.apex_mm - 1.0)) < 1.5
    True
    """
    setup = set_up(canal, "paralleling")
    seen = read_film(project_landmarks(canal, outline(canal.fdi), setup.view, None), rng)
    return PreoperativeFilm(tooth_length_mm=round(float(seen["tooth"]), 1), technique="paralleling")


def estimated_mm(film: PreoperativeFilm | WorkingFilm) -> float:
    """The estimated working length (mm) by a radiograph, to the half millimetre of a stop."""
    return round((film_apex_mm(film)[0] - 1.0) / STEP_MM) * STEP_MM


def try_point(
    state: CanalState, length_mm: float, rng: Generator, *, contact_s: float = 1.0, size: int = 20
) -> tuple[CanalState, PointTrial]:
    """Try one point, and write it down as in a chart."""
    action = TryPoint(length_mm, contact_s, size, point_length_mm=LONGEST_POINT_MM)
    state, outcome = step(state, action, rng)
    assert outcome.trial is not None  # a trial always gives a record, or an error
    return state, as_written(outcome.trial)


def try_points(
    state: CanalState,
    first_mm: float,
    last_mm: float,
    points: int,
    rng: Generator,
    *,
    contact_s: float = 1.0,
) -> tuple[CanalState, tuple[PointTrial, ...]]:
    """Some points by the procedure, beginning at one length (mm), never beyond another (mm).

    A point that is wet on its side ends it: that is a reason to stop.
    """
    length, tried = min(first_mm, last_mm), list[PointTrial]()
    while len(tried) < points and not (tried and tried[-1].mark_site == "side"):
        state, trial = try_point(state, length, rng, contact_s=contact_s)
        tried.append(trial)
        if trial.wet_mm == 0:
            length = min(length + STEP_MM, last_mm)
    return state, tuple(tried)


def as_written(trial: PointTrial) -> PointTrial:
    """A trial with its mark to a tenth of a millimetre; a mark that is seen is never written 0."""
    mark = max(round(trial.wet_mm, 1), 0.1) if trial.wet_mm > 0 else 0.0
    site = "tip_straight" if trial.mark_site == "tip_oblique" else trial.mark_site
    return trial.model_copy(
        update={"wet_mm": mark, "mark_site": site, "oblique_edge_mm": None, "visit": None}
    )
