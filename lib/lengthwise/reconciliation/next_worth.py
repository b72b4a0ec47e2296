"""What one more action is worth: by how much it is expected to reduce the expected loss.

Worth is preposterior analysis (Raiffa & Schlaifer 1961, Applied Statistical Decision Theory): the
least expected loss now, less the mean of the least expected loss after each thing that the action
could say, each weighted by its chance. "Least" is over all lengths, not over those that a stop
can be set to: a record that moves the answer within a quarter of a millimetre still counts.

The latents that records share are not drawn, they are integrated out on the posterior's own grids
(`landmark`): a repeat is worth little because it shares the landmark with what came before, and
that falls out of the joint distribution. A record that is one number is averaged over all its
values, without any drawing; a set of points, whose lengths depend on its own marks, over sets
drawn by the sampler. So the gain is never negative, the same each time, and takes milliseconds.

First comes a bound, from the posterior alone: no record of a kind can be worth more than knowing
its landmark. Where the bound is below the cost, nothing is averaged.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from lengthwise.evidence import Evidence

from .decision import Loss
from .landmark import Known, Landmark, landmark_of
from .offsets import Floats
from .plan import Kind
from .sampler import Generator
from .to_come import outcomes, speaking_source, step_for

LENGTH_STEP_MM = 0.1
"""Lengths among which the best is looked for: as far apart as the foramina of `landmark`. Where the
target is a multiple of it, the expected loss is a straight line between them; for another target,
such as 0.25 mm, a gain comes out up to 1 % off."""


@dataclass(frozen=True)
class Worth:
    """What an action is expected to bring, in the unit of the loss.

    Attributes
    ----------
    gain : expected reduction of the loss.
    most : what no record of this kind can exceed.
    """

    gain: float
    most: float


def worth_of(
    known: Known,
    kind: Kind,
    evidence: Evidence,
    loss: Loss,
    *,
    cost: float,
    rng: Callable[[], Generator],
) -> Worth:
    """What one more measurement of this kind is worth.

    Parameters
    ----------
    known : what all sources say (`known_of`).
    kind : "working_film", "electronic_reading" or "point_trial" (a set of points).
    evidence, loss : the case, as in `Reconciliation`.
    cost : where even `most` is below it, the gain is not worked out and `most` stands for it.
    rng : gives the generator for drawing sets of points.
    """
    step = step_for(kind, known.canal)
    speaking, planned = speaking_source(evidence, known.canal.sources, step)
    landmark = landmark_of(known, kind, speaking)
    lengths = _lengths_mm(landmark, loss)
    costs = np.asarray(loss.cost(lengths[:, None], landmark.foramen_mm))
    joint = landmark.joint
    now = joint.sum(axis=1)
    most = _gain(costs, now, joint, np.ones(joint.shape[1]))
    if most <= cost:
        return Worth(most, most)
    estimate_mm = float(np.interp(0.5, np.cumsum(now), landmark.foramen_mm))
    to_come = outcomes(known.canal, step, planned, landmark, estimate_mm, rng())
    top = to_come.log_likelihood.max(axis=1)
    after = landmark.weight @ np.exp(to_come.log_likelihood - top[:, None]).T
    size = to_come.size * np.exp(top - top.max())
    return Worth(min(_gain(costs, now, after, size), most), most)


def _lengths_mm(landmark: Landmark, loss: Loss) -> Floats:
    first, last = landmark.foramen_mm[0] - loss.target_mm, landmark.foramen_mm[-1]
    return np.asarray(np.arange(first, last + LENGTH_STEP_MM, LENGTH_STEP_MM))


def _gain(costs: Floats, now: Floats, after: Floats, size: Floats) -> float:
    """Mean reduction of the least expected loss.

    `now` is the chance of each foramen (foramina,), `after` that of each foramen together with each
    outcome, up to a factor (foramina, outcomes), `size` what each outcome stands for. Keeping to
    the length that is best now is expected to cost as much as now, averaged over all outcomes; what
    it costs more or less over a sample of them corrects the mean (a control variate).
    """
    expected_now = costs @ now
    best_now = int(expected_now.argmin())
    expected = costs @ after
    chance = np.maximum(after.sum(axis=0), 1e-300)  # what cannot come has no share either
    share = size * chance / (size @ chance)
    keeping = expected[best_now] / chance
    spared = keeping - expected.min(axis=0) / chance
    off = keeping - share @ keeping
    slope = (share @ (off * spared)) / max(share @ off**2, 1e-12)
    gain = share @ spared - slope * (share @ keeping - expected_now[best_now])
    return max(float(gain), 0.0)
