"""The least expected loss of a posterior, worked out apart from what weighs the next action."""

import numpy as np
from lengthwise.reconciliation.decision import Loss
from lengthwise.reconciliation.next_worth import LENGTH_STEP_MM
from lengthwise.reconciliation.posterior import Posterior


def least_expected_loss(posterior: Posterior, loss: Loss) -> float:
    """The least expected loss among all lengths, whether or not they can be set."""
    step_mm = posterior.grid_mm[1] - posterior.grid_mm[0]
    every = max(round(2 * LENGTH_STEP_MM / step_mm), 1)
    foramen = posterior.grid_mm[::every]
    chance = posterior.density_per_mm[::every]
    lengths = np.arange(foramen[0] - loss.target_mm, foramen[-1], LENGTH_STEP_MM)
    expected = np.asarray(loss.cost(lengths[:, None], foramen)) @ (chance / chance.sum())
    return float(expected.min())
