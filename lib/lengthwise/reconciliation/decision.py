"""What an error costs, and the settable length that is expected to cost least."""

from dataclasses import dataclass
from decimal import Decimal

import numpy as np
import numpy.typing as npt

from lengthwise.evidence import Context
from lengthwise.reference import constants as c

from .posterior import Posterior

Floats = npt.NDArray[np.float64]

_LIMITS = {
    "target_mm": (0.0, 3.0, "schools usually teach 0.5 mm short of the foramen"),
    "settable_step_mm": (0.05, 1.0, "a stop is usually set to 0.25 mm"),
    "far_short_beyond_mm": (0.0, 10.0, "far short is usually said of 2 mm or more"),
}
_COST = (0.0, 1000.0, "a cost is counted in millimetres short, which cost 1 each")


@dataclass(frozen=True)
class Loss:
    """The cost of a working length that ends `gap` mm short of the foramen (negative: past).

        loss = short · (gap - target)⁺ + long · (target - gap)⁺ + past · (-gap)⁺
               + far_short · (gap - far_short_beyond)⁺

    The weights are judgements with a range (see `lengthwise.reference.constants`); the unit is
    the cost of ending one millimetre short of the target. The shape is what the outcome studies
    agree on: past the foramen costs most, near a nerve or the sinus more still; far short costs
    where an infected pulp is left behind.

    Examples
    --------
    >>> Loss().cost(25.5, foramen_mm=25.0), Loss().cost(24.5, foramen_mm=25.0)
    (3.5, 0.0)
    """

    target_mm: float = c.TARGET_SHORT_OF_FORAMEN_MM.value
    short_per_mm: float = c.LOSS_SHORT_PER_MM.value
    long_per_mm: float = c.LOSS_LONG_PER_MM.value
    past_per_mm: float = c.LOSS_PAST_PER_MM.value
    far_short_per_mm: float = c.LOSS_FAR_SHORT_OTHER_PER_MM.value
    far_short_beyond_mm: float = c.LOSS_FAR_SHORT_BEYOND_MM.value
    settable_step_mm: float = c.SETTABLE_STEP_MM.value

    def __post_init__(self) -> None:
        for name, value in vars(self).items():
            low, high, usual = _LIMITS.get(name, _COST)
            if not low <= value <= high:
                raise ValueError(
                    f"field {name}: got {value:g}; allowed is {low:g} to {high:g}; {usual}"
                )

    @classmethod
    def for_context(cls, context: Context, target_mm: float) -> "Loss":
        """The loss for a case: steep past the foramen near a nerve, and far short if necrotic.

        >>> Loss.for_context(Context(near_nerve_or_sinus=True), 0.5).past_per_mm
        8.0
        """
        near = context.near_nerve_or_sinus
        far = {
            "necrotic": c.LOSS_FAR_SHORT_NECROTIC_PER_MM.value,
            "previously_treated": c.LOSS_FAR_SHORT_NECROTIC_PER_MM.value,
            "vital": 0.0,
            None: c.LOSS_FAR_SHORT_OTHER_PER_MM.value,
        }
        return cls(
            target_mm=target_mm,
            past_per_mm=(c.LOSS_PAST_NEAR_NERVE_PER_MM if near else c.LOSS_PAST_PER_MM).value,
            far_short_per_mm=far[context.pulp],
        )

    def cost(self, length_mm: npt.ArrayLike, foramen_mm: npt.ArrayLike) -> Floats | float:
        """The loss of working lengths against foramina (mm), broadcast."""
        gap = np.asarray(foramen_mm, dtype=np.float64) - np.asarray(length_mm, dtype=np.float64)
        total = (
            self.short_per_mm * np.maximum(gap - self.target_mm, 0)
            + self.long_per_mm * np.maximum(self.target_mm - gap, 0)
            + self.past_per_mm * np.maximum(-gap, 0)
            + self.far_short_per_mm * np.maximum(gap - self.far_short_beyond_mm, 0)
        )
        return total if total.ndim else float(total)


def settable_lengths_mm(posterior: Posterior, loss: Loss) -> Floats:
    """Every length (mm) that a stop can be set to and that could be the best one."""
    step = loss.settable_step_mm
    first = np.floor((posterior.grid_mm[0] - loss.target_mm) / step)
    last = np.ceil(posterior.grid_mm[-1] / step)
    # Three steps of 0.1 mm are 0.3 mm, not 0.30000000000000004 and the like.
    decimals = -int(Decimal(str(step)).as_tuple().exponent)
    return np.round(np.arange(first, last + 1) * step, decimals)


def expected_loss(posterior: Posterior, loss: Loss, length_mm: npt.ArrayLike) -> Floats:
    """Expected loss of each length (mm)."""
    lengths = np.atleast_1d(np.asarray(length_mm, dtype=np.float64))
    return np.asarray(loss.cost(lengths[:, None], posterior.grid_mm) @ posterior.weights)


def best_length_mm(posterior: Posterior, loss: Loss) -> float:
    """The settable length (mm) of least expected loss; the shorter one of two that tie."""
    lengths = settable_lengths_mm(posterior, loss)
    return float(lengths[np.argmin(expected_loss(posterior, loss, lengths))])
