"""What one more record, or one more set of paper points, could say."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import cast

import numpy as np

from lengthwise.evidence import Evidence, Record
from lengthwise.evidence.case import CanalName
from lengthwise.evidence.records import Stage

from .apex import film_bias_mm, film_scale
from .families import Canal
from .landmark import Landmark, log_likelihoods
from .offsets import Floats
from .plan import Kind, Plan, Step, blank
from .sampler import Generator, draw_flaw, draw_state, draw_truth
from .sitting import Sitting, points, possible, settable
from .sources import Source, sources_of

POINT_REPEATS = 2
"""Points at the last length, once the staircase has found it."""

POINT_DRAWS = 32
"""Sets of points that are drawn."""

_CLOSE_MM, _FAR_MM, _BEYOND_MM = 0.15, 0.5, 5.0
"""Values that one record could give: this close together where the landmark may be, this far apart
beyond it, up to this far away."""


@dataclass(frozen=True, eq=False)
class ToCome:
    """Everything that a source could say.

    Attributes
    ----------
    log_likelihood : of all that it has said then, on its landmark (outcomes, places).
    size : how much of everything each outcome stands for, up to a factor (outcomes,).
    """

    log_likelihood: Floats
    size: Floats


def step_for(kind: Kind, canal: Canal) -> Step:
    """The measurement as it would be taken now: at the latest visit, in the canal as it is."""
    visits = [source.visit for source in canal.sources if source.visit is not None]
    return Step(
        kind,
        repeats=POINT_REPEATS if kind == "point_trial" else 1,
        visit=max(visits, default=None),
        stage=cast(Stage | None, canal.stage),
        technique="paralleling" if kind == "working_film" else None,
        run_recorded=True,
        liquid_in_canal="moist" if kind == "electronic_reading" else "dry",
    )


def speaking_source(
    evidence: Evidence, used: Sequence[Source], step: Step
) -> tuple[Source | None, Source]:
    """The source that a new record would join (None: none), and that source as it would be then.

    The second one's last record is a placeholder. A source that was left out, or whose trust was
    set by hand, stays left out and keeps its trust.
    """
    somewhere = blank(step, 20.0)
    at_hand = [record for source in used for record in source.records]
    joined = [record for record in evidence.records if record in at_hand]
    planned = next(
        source
        for source in sources_of(evidence.model_copy(update={"records": (*joined, somewhere)}))
        if source.records and source.records[-1] is somewhere
    )
    for source in used:
        if source.records and source.records == planned.records[:-1]:
            return source, planned
    return None, planned


def outcomes(
    canal: Canal,
    step: Step,
    planned: Source,
    landmark: Landmark,
    estimate_mm: float,
    rng: Generator,
) -> ToCome:
    """What the source could say: `planned` with its placeholder replaced.

    Parameters
    ----------
    canal, step : the canal, and the measurement to be taken in it.
    planned : as `speaking_source` gives it.
    landmark : where the landmark is by all that is known.
    estimate_mm : the length that a file or the first point is set to.
    rng : draws sets of points; a record that is one number needs no drawing.
    """
    if step.kind == "point_trial":
        return _points(canal, step, planned, landmark, estimate_mm, rng)
    values, size = _values_mm(landmark)
    if step.kind == "working_film":
        magnification = film_scale(step.technique)[1]
        bias, _ = film_bias_mm(step.technique)
        file_mm = settable(estimate_mm)
        gaps = np.clip(magnification * (values - file_mm + bias), -15.0, 25.0)
        records = [blank(step, file_mm, float(gap)) for gap in gaps]
    else:
        records = [blank(step, possible(float(value))) for value in values]
    cases = [(_saying(planned, [record]),) for record in records]
    return ToCome(log_likelihoods(canal, step.kind, cases, landmark.landmark_mm), size)


def _values_mm(landmark: Landmark) -> tuple[Floats, Floats]:
    """Values (mm) on the landmark that one record could give, and what each stands for."""
    cumulative = np.cumsum(landmark.joint.sum(axis=0))
    low, high = np.interp([0.01, 0.99], cumulative, landmark.landmark_mm)
    middle = np.arange(low - _FAR_MM, high + _FAR_MM, _CLOSE_MM)
    away = np.arange(_FAR_MM, _BEYOND_MM, _FAR_MM)
    values = np.concatenate([middle[0] - away[::-1], middle, middle[-1] + away])
    return values, np.gradient(values)


def _points(
    canal: Canal,
    step: Step,
    planned: Source,
    landmark: Landmark,
    estimate_mm: float,
    rng: Generator,
) -> ToCome:
    """Sets of points from the sampler, where paper may meet tissue by what is known so far.

    Each set stands for the inverse of the chance with which it is drawn here: the points that were
    taken before it do not enter its drawing, but they do enter its weight.
    """
    plan = Plan(canal.tooth, cast(CanalName, canal.canal), (step,))
    places = landmark.joint.sum(axis=0)
    even = (np.arange(POINT_DRAWS) + rng.random(POINT_DRAWS)) / POINT_DRAWS
    tissue_mm = np.interp(even, np.cumsum(places), landmark.landmark_mm)
    alone = replace(planned, records=planned.records[-1:])
    sets = []
    for paper_mm in tissue_mm:
        truth = replace(draw_truth(plan, rng), paper_mm=float(paper_mm))
        state = draw_state(alone, rng)
        sitting = Sitting(step, truth, state, draw_flaw(state, rng), 0.0, estimate_mm, 0)
        sets.append(points(sitting, rng))
    said = drawn = log_likelihoods(
        canal, step.kind, [(_saying(alone, records),) for records in sets], landmark.landmark_mm
    )
    if len(planned.records) > 1:
        joined = [(_saying(planned, records),) for records in sets]
        said = log_likelihoods(canal, step.kind, joined, landmark.landmark_mm)
    top = drawn.max(axis=1)
    chance = np.log(np.exp(drawn - top[:, None]) @ places) + top
    return ToCome(said, np.exp(chance.min() - chance))


def _saying(planned: Source, records: Sequence[Record]) -> Source:
    said = (*planned.records[:-1], *records)
    traces = (*planned.traces[:-1], *[None] * len(records)) if planned.traces else ()
    return replace(planned, records=said, traces=traces)
