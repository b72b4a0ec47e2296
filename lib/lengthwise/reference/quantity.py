"""A figure that says where it comes from."""

from dataclasses import dataclass
from typing import Literal, get_args

Status = Literal[
    "seen",
    "second-hand",
    "from memory",
    "derived",
    "computed",
    "assumption",
    "common practice",
]
STATUSES: tuple[str, ...] = get_args(Status)


@dataclass(frozen=True, slots=True)
class Quantity:
    """A value with unit, source and status; an assumption also has the range it may lie in.

    Examples
    --------
    >>> Quantity(0.1, "mm", "a reader's ruler", "assumption", low=0.05, high=0.2).value
    0.1
    >>> Quantity(0.1, "mm", "", "seen")
    Traceback (most recent call last):
        ...
    ValueError: field source: empty; allowed is a citation or a reason; say where 0.1 mm is from
    """

    value: float
    unit: str
    source: str
    status: Status
    low: float | None = None
    high: float | None = None

    def __post_init__(self) -> None:
        if not self.source.strip():
            raise ValueError(
                "field source: empty; allowed is a citation or a reason; say where "
                f"{self.value:g} {self.unit} is from"
            )
        if self.status not in STATUSES:
            raise ValueError(
                f"field status: got {self.status!r}; allowed are {', '.join(STATUSES)}; choose one"
            )
        if self.status == "assumption" and (self.low is None or self.high is None):
            raise ValueError(
                f"field low/high: missing for an assumption ({self.source}); give the range that "
                "is thought possible"
            )
        if (
            self.low is not None
            and self.high is not None
            and not (self.low <= self.value <= self.high)
        ):
            raise ValueError(
                f"field value: got {self.value:g}; allowed is {self.low:g} to {self.high:g}, the "
                "range given with it; correct one of them"
            )
