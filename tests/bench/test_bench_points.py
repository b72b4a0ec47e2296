"""Ten thousand points at once, as a ratio to one after the other in the same run."""

import time

import numpy as np
import pytest
from lengthwise.anatomy.canals import draw_canals
from lengthwise.bench.canal_state import draw_state
from lengthwise.bench.point_actions import TryPoint
from lengthwise.bench.point_touch import draw_wetness, try_points
from lengthwise.bench.points import step


@pytest.mark.slow
def test_a_batch_of_ten_thousand_costs_less_than_a_hundred_single_steps():
    """Single steps take milliseconds, so that the batch stays well under a second."""
    rng = np.random.default_rng(1)
    canals = draw_canals("13", 10_000, rng)
    dry = draw_wetness(canals, rng)
    state = draw_state(canals.one(0), rng)

    def batch():
        try_points(
            dry, canals.foramen_mm, contact_s=1.0, size_mm=0.2, taper=0.02, placement_sd_mm=0.2,
            rng=rng,
        )  # fmt: skip

    def single():
        for _ in range(100):
            step(state, TryPoint(24.0), rng)

    assert _best(batch) < _best(single)


def _best(work):
    times = []
    for _ in range(3):
        begin = time.perf_counter()
        work()
        times.append(time.perf_counter() - begin)
    return min(times)
