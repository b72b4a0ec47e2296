"""A look-up in many rows at once is what each row gives by itself."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from lengthwise.physics.rows import interp_rows


@given(st.integers(0, 2**32 - 1))
def test_rows_looked_up_at_once_are_those_looked_up_alone(seed: int) -> None:
    rng = np.random.default_rng(seed)
    xs = np.sort(rng.uniform(-5.0, 20.0, (4, 6)), axis=1)
    ys, row, x = rng.normal(size=(4, 6)), rng.integers(0, 4, 50), rng.uniform(-9.0, 25.0, 50)
    (found,) = interp_rows(x, row, xs, ys)
    alone = [np.interp(at, xs[i], ys[i]) for at, i in zip(x, row, strict=True)]
    assert found == pytest.approx(alone, abs=1e-6 / np.diff(xs, axis=1).min())
