"""What can be done to a canal that is measured with points, and what each needs to be possible."""

from dataclasses import dataclass
from typing import Literal, get_args

from lengthwise.evidence import PointTrial
from lengthwise.evidence.records import LONGEST_MM, SHORTEST_MM
from lengthwise.reference import points as p

from .asked import check_within, whole
from .canal_state import Bleeding

SIZES = (*range(15, 65, 5), *range(70, 150, 10))
"""Sizes of absorbent points (ISO 7551): hundredths of a millimetre at the tip."""

LONGEST_POINT_MM = p.LONGEST_POINT_MM.value


@dataclass(frozen=True)
class TryPoint:
    """A point set to a length, held for a contact time, taken out and looked at.

    `point_length_mm` is the whole length of the point in hand: measure it.
    """

    length_mm: float
    contact_s: float = 1.0
    size: int = 20
    taper: float = 0.02
    point_length_mm: float = p.USUAL_POINT_MM.value


@dataclass(frozen=True)
class Dry:
    """Fresh points one after the other down to a length that is known to be inside."""

    length_mm: float
    points: int = 3
    size: int = 25


Irrigant = Literal["saline", "hypochlorite"]


@dataclass(frozen=True)
class Rinse:
    """A passive rinse; the canal is full afterwards."""

    liquid: Irrigant = "saline"


@dataclass(frozen=True)
class Wait:
    """Wait, with nothing in the canal."""

    seconds: float = p.WAITED_S.value


@dataclass(frozen=True)
class CheckPatency:
    """A small file, gently, to see whether the canal is open to its end."""


@dataclass(frozen=True)
class PeroxidePoint:
    """A point dampened with 3 % hydrogen peroxide, changed and repeated."""

    length_mm: float


@dataclass(frozen=True)
class PeroxideSyringe:
    """Peroxide from a syringe. Always refused: gas in the tissues."""


@dataclass(frozen=True)
class DressAndRebook:
    """Dress, seal, another visit; no length is taken today."""


@dataclass(frozen=True)
class CallSupervisor:
    """Stop and ask."""


@dataclass(frozen=True)
class AngledRadiograph:
    """A radiograph from another angle, to look for the cause."""


Action = (
    TryPoint
    | Dry
    | Rinse
    | Wait
    | CheckPatency
    | PeroxidePoint
    | PeroxideSyringe
    | DressAndRebook
    | CallSupervisor
    | AngledRadiograph
)


@dataclass(frozen=True)
class Outcome:
    """What came of an action.

    Attributes
    ----------
    action : what was done or asked for.
    sentence : what was seen, or why it was refused.
    trial : the record of a point trial, None otherwise.
    bleeding : how much blood showed besides a mark in the trial; a bloody drying point tells no
        more than that it oozes.
    obstruction : ``none`` or ``block`` once a file went to see, None otherwise.
    refused : nothing was done.
    safety_failure : it would have hurt somebody.
    """

    action: Action
    sentence: str
    trial: PointTrial | None = None
    bleeding: Bleeding = "none"
    obstruction: Literal["none", "block"] | None = None
    refused: bool = False
    safety_failure: bool = False


def check_action(action: Action) -> None:
    """Refuse what cannot be.

    Raises
    ------
    ValueError
        A length, time, size or number outside of what is allowed; no action of this list.

    Examples
    --------
    >>> check_action(TryPoint(length_mm=29.0))
    Traceback (most recent call last):
        ...
    ValueError: field point_length_mm: got 28; allowed is 29 (the trial length) to 35; take a \
longer point, or measure the one in hand
    """
    if not isinstance(action, Action):
        raise ValueError(
            f"field action: got {action!r}; allowed are "
            f"{', '.join(kind.__name__ for kind in get_args(Action))}; make one of them, such as "
            "Wait()"
        )
    if isinstance(action, Dry | PeroxidePoint):
        check_within(
            "length_mm",
            action.length_mm,
            SHORTEST_MM,
            LONGEST_MM,
            "measure from the reference point",
        )
    if isinstance(action, TryPoint | Dry) and not (whole(action.size) and action.size in SIZES):
        raise ValueError(
            f"field size: got {action.size!r}; allowed are {', '.join(map(str, SIZES))}; read the "
            "size off the box"
        )
    if isinstance(action, TryPoint):
        usual = f"most points are about {p.USUAL_POINT_MM.value:g} mm long; check the number"
        check_within("length_mm", action.length_mm, SHORTEST_MM, LONGEST_POINT_MM, usual)
        check_within("contact_s", action.contact_s, 0.05, 3600.0, "a brief touch is about a second")
        check_within("taper", action.taper, 0.0, 0.2, "write 0.02 for a taper of two hundredths")
        if not action.length_mm <= action.point_length_mm <= LONGEST_POINT_MM:
            raise ValueError(
                f"field point_length_mm: got {action.point_length_mm:g}; allowed is "
                f"{action.length_mm:g} (the trial length) to {LONGEST_POINT_MM:g}; take a longer "
                "point, or measure the one in hand"
            )
    if isinstance(action, Dry):
        check_within("points", action.points, 1, 20, "two or three are usual", only_whole=True)
    if isinstance(action, Rinse) and action.liquid not in get_args(Irrigant):
        raise ValueError(
            f"field liquid: got {action.liquid!r}; allowed are {', '.join(get_args(Irrigant))}; "
            "choose one of them"
        )
    if isinstance(action, Wait):
        check_within("seconds", action.seconds, 1.0, 3600.0, "a few minutes are usual")
