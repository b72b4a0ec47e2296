"""What a student determines about one canal."""

import math
from dataclasses import dataclass

from lengthwise.reconciliation import NEXT_STEPS


@dataclass(frozen=True)
class Determination:
    """A student's answer. Lengths in mm from the reference point; None is not answered.

    Attributes
    ----------
    foramen_mm : where the student thinks the canal ends.
    working_length_mm : the length the student would set; None means "not yet".
    low_mm, high_mm : the student's 90 % interval for the foramen.
    next_step : a word of `NEXT_STEPS`; alone it means "not yet, first this".

    Examples
    --------
    >>> Determination(next_step="film").is_not_yet
    True
    >>> Determination(25.4, 25.0, 25.8, 25.2)
    Traceback (most recent call last):
        ...
    ValueError: field low_mm: got 25.8 with high_mm 25.2; allowed is low before high; swap them
    """

    foramen_mm: float | None = None
    working_length_mm: float | None = None
    low_mm: float | None = None
    high_mm: float | None = None
    next_step: str | None = None

    def __post_init__(self) -> None:
        for name in ("foramen_mm", "working_length_mm", "low_mm", "high_mm"):
            length_mm = getattr(self, name)
            if length_mm is not None and not math.isfinite(length_mm):
                raise ValueError(
                    f"field {name}: got {length_mm:g}; allowed is a finite length in mm, or None "
                    "where nothing was answered; write it like 24.5"
                )
        if self.low_mm is not None and self.high_mm is not None and self.low_mm > self.high_mm:
            raise ValueError(
                f"field low_mm: got {self.low_mm:g} with high_mm {self.high_mm:g}; allowed is low "
                "before high; swap them"
            )
        if self.next_step is not None and self.next_step not in NEXT_STEPS:
            raise ValueError(
                f"field next_step: got {self.next_step!r}; allowed are {', '.join(NEXT_STEPS)}; "
                "choose one of them"
            )

    @property
    def is_not_yet(self) -> bool:
        """Whether the student says that no length should be taken yet."""
        return self.working_length_mm is None and self.next_step not in (None, "confirm")

    @property
    def is_past_own_interval(self) -> bool:
        """Whether the working length lies beyond the whole interval of the same answer.

        >>> Determination(24.0, 23.5, 23.6, 24.4).is_past_own_interval
        False
        >>> Determination(working_length_mm=24.0, low_mm=21.9, high_mm=22.2).is_past_own_interval
        True
        """
        length_mm, high_mm = self.working_length_mm, self.high_mm
        return length_mm is not None and high_mm is not None and length_mm > high_mm

    @property
    def in_brief(self) -> str:
        """The length, or "not yet", in a few characters."""
        if self.is_not_yet:
            return f"not yet ({self.next_step})"
        return "no length" if self.working_length_mm is None else f"{self.working_length_mm:g} mm"

    @property
    def is_blank(self) -> bool:
        """Whether nothing was answered."""
        return self == Determination()
