"""Lengths that a stop can be set to are the numbers that are read off, digit for digit."""

import numpy as np
import pytest
from lengthwise.reconciliation.decision import Loss, settable_lengths_mm
from lengthwise.reconciliation.posterior import Posterior


@pytest.mark.parametrize(("step_mm", "decimals"), [(0.1, 1), (0.25, 2), (0.05, 2), (1.0, 1)])
def test_a_settable_length_has_the_decimals_of_its_step(step_mm, decimals):
    grid_mm = np.arange(24.0, 26.0, 0.02)
    flat = Posterior(grid_mm, np.full(grid_mm.size, 0.5), 0.0)
    lengths = settable_lengths_mm(flat, Loss(settable_step_mm=step_mm))
    assert np.diff(lengths) == pytest.approx(step_mm)
    assert max(len(str(length).partition(".")[2]) for length in lengths.tolist()) == decimals
