"""Materials of a reading, made from a draw of the calibration."""

from dataclasses import asdict, fields

import numpy as np

from lengthwise.physics.line import Materials
from lengthwise.reference.electrical_draws import ElectricalDraw, electrical_draws

_OF_MATERIALS = {field.name for field in fields(Materials)}


def materials_of(draw: ElectricalDraw) -> Materials:
    """Materials of one draw, as numbers.

    Examples
    --------
    >>> draw = electrical_draws()[0]
    >>> materials_of(draw).body_ohm == draw.body_ohm
    True
    """
    return Materials(**{k: v for k, v in asdict(draw).items() if k in _OF_MATERIALS})


def all_materials() -> Materials:
    """Materials of all draws, as arrays (draws,).

    Examples
    --------
    >>> np.shape(all_materials().dentine_ohm_m)
    (64,)
    """
    draws = electrical_draws()
    return Materials(
        **{name: np.array([getattr(draw, name) for draw in draws]) for name in _OF_MATERIALS}
    )
