"""Materials of a reading, made from the draws of the calibration."""

from dataclasses import fields

import numpy as np

from lengthwise.physics.line import Materials
from lengthwise.reference.electrical_draws import electrical_draws


def all_materials() -> Materials:
    """Materials of all draws, as arrays (draws,).

    Examples
    --------
    >>> np.shape(all_materials().dentine_ohm_m)
    (64,)
    """
    draws = electrical_draws()
    return Materials(
        **{f.name: np.array([getattr(draw, f.name) for draw in draws]) for f in fields(Materials)}
    )
