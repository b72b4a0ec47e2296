"""Which instruments and points reach a working length, and what is done when none does.

A file is measured from its handle or shank to its tip. Between the reference point and the hand
lies what has to be there: the stop, and what fingers, a handpiece or tweezers need.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from lengthwise.reference import constants as c
from lengthwise.reference import supplies as s
from lengthwise.reference.supplies import Hold, Kind, Supply, supplies

Verdict = Literal["reaches", "measure it", "too short to hold", "does not reach"]
VERDICTS: tuple[Verdict, ...] = ("reaches", "measure it", "too short to hold", "does not reach")

_SUM_MM = 1e-9  # lengths are sums of decimals; what is equal on paper must be equal here


@dataclass(frozen=True)
class Reach:
    """One supply laid against the canal.

    Attributes
    ----------
    supply : the instrument or point.
    left_mm : what stays outside the reference point with the tip at the working length; negative
        when its end lies below the reference.
    needed_mm : what has to stay outside.
    held_by : fingers, handpiece or tweezers.
    verdict : one of `VERDICTS`, from good to bad.
    """

    supply: Supply
    left_mm: float
    needed_mm: float
    held_by: Hold
    verdict: Verdict

    @property
    def sentence(self) -> str:
        """What that means, in numbers."""
        about = "about " if self.supply.spread_mm else ""
        name, left = f"The {self.supply.name}", f"{about}{abs(self.left_mm):.1f} mm"
        need = f"{_BETWEEN[self.held_by]} {self.needed_mm:.1f} mm"
        end = "below" if self.left_mm < 0 else "above"
        return {
            "reaches": f"{name} reaches: {left} stays outside; {need}.",
            "measure it": f"{name} may reach: {left} would stay outside; {need}. Measure the one "
            "in your hand.",
            "too short to hold": f"{name} is too short to hold: its end would lie {left} {end} the "
            f"reference point; {need}.",
            "does not reach": f"{name} does not reach: its end would lie {left} below the "
            "reference point.",
        }[self.verdict]


_BETWEEN: dict[Hold, str] = {
    "fingers": "stop and fingers need",
    "handpiece": "stop and handpiece need",
    "tweezers": "tweezers need",
}


@dataclass(frozen=True)
class Step:
    """Something to do, and why."""

    what: str
    why: str

    @property
    def sentence(self) -> str:
        """Both in one sentence."""
        return f"{self.what}: {self.why}."


@dataclass(frozen=True)
class SuppliesPlan:
    """Everything at hand laid against one working length (mm from the reference point in use)."""

    working_length_mm: float
    reaches: tuple[Reach, ...]

    def of(self, kind: Kind) -> tuple[Reach, ...]:
        """What there is of a kind, shortest first."""
        mine = (reach for reach in self.reaches if reach.supply.kind == kind)
        return tuple(sorted(mine, key=lambda reach: reach.supply.length_mm))

    def chosen(self, kind: Kind) -> Reach | None:
        """The shortest of a kind that reaches and can be held; None if there is none."""
        good = (reach for reach in self.of(kind) if reach.verdict == "reaches")
        return next(good, None)

    def best(self, kind: Kind) -> Verdict:
        """How well the best one of a kind does.

        >>> lay_out(25.0).best("gutta-percha point"), lay_out(30.0).best("file")
        ('reaches', 'too short to hold')
        """
        verdicts = [reach.verdict for reach in self.of(kind)]
        return min(verdicts, key=VERDICTS.index, default="does not reach")

    @property
    def _something_short(self) -> bool:
        return any(VERDICTS.index(self.best(kind)) > 1 for kind in self._kinds)

    @property
    def _kinds(self) -> tuple[Kind, ...]:
        return tuple(dict.fromkeys(reach.supply.kind for reach in self.reaches))

    @property
    def _longer_file(self) -> bool:
        """Whether a file that is sold, yet not at hand, would serve."""
        if self.chosen("file"):
            return False
        held_by: Hold = next((reach.held_by for reach in self.of("file")), "fingers")
        sold = (longest_reached_mm(one, held_by) for one in supplies() if one.kind == "file")
        return max(sold) + _SUM_MM >= self.working_length_mm

    @property
    def steps(self) -> tuple[Step, ...]:
        """What is done when something does not reach; empty when everything does."""
        found: list[Step] = []
        for kind in self._kinds:
            best = self.best(kind)
            if kind == "file" and self._longer_file:
                found.append(_LONGER_FILE)
            if best != "reaches":
                found += WHEN_UNSURE if best == "measure it" else WHEN_SHORT[kind]
        asked = (_ASK,) if self._something_short else ()
        return (*dict.fromkeys(found), *asked)


_MEASURE = Step(
    "Measure the point in your hand on a ruler",
    "points said to be equally long are not, and their tolerance is not printed on the box",
)
_ASK = Step("Ask your supervisor before going on", "a length that cannot be set cannot be kept")
_LONGER_FILE = Step(
    "Take a longer file", "a file without room for its stop and its hold carries no length"
)
WHEN_UNSURE = (_MEASURE,)
WHEN_SHORT: dict[Kind, tuple[Step, ...]] = {
    "file": (
        Step(
            "Choose a lower reference point that stays, and write it down with its offset",
            "the same canal is shorter from there; a cusp is not cut just to gain length",
        ),
    ),
    "gutta-percha point": (
        _MEASURE,
        Step(
            "Choose a longer kind of point",
            "some kinds are made longer than most, some shorter",
        ),
        Step(
            "Or nip a mark into it for a lower place on the tooth, written down with its offset",
            "a mark that lies below the reference cannot be seen from it",
        ),
        Step(
            "Or use what your clinic has for such canals: a master point only for the end of the "
            "canal and softened gutta-percha above it, a carrier, or a point made up by hand",
            "each wants training and its own way to keep the length; a radiograph shows the fit",
        ),
    ),
    "absorbent point": (
        _MEASURE,
        Step(
            "Hold a paper point with long tweezers at a mark made before it goes in",
            "its length is read from that mark, and it must never be let go inside",
        ),
    ),
}


def lay_out(
    working_length_mm: float,
    *,
    reference_reduced_mm: float = 0.0,
    held_by: Hold = "fingers",
    at_hand: Iterable[Supply] | None = None,
) -> SuppliesPlan:
    """Lay every instrument and point at hand against a working length.

    Parameters
    ----------
    working_length_mm : float
        From the reference point as it was recorded.
    reference_reduced_mm : float
        What was taken off the reference point since; the length from the new one is shorter.
    held_by : "fingers" or "handpiece"
        How files are held. Points are held with tweezers.
    at_hand : Supply, optional
        What there is; by default every length commonly sold.

    Raises
    ------
    ValueError
        A length outside what teeth have, more reduced than a crown has, an unknown hold, or
        nothing at hand.

    Examples
    --------
    >>> plan = lay_out(28.5)
    >>> plan.chosen("file").supply.name, plan.best("gutta-percha point")
    ('31 mm file', 'too short to hold')
    >>> print(plan.of("file")[1].sentence)
    The 25 mm file does not reach: its end would lie 3.5 mm below the reference point.
    >>> lay_out(28.5, reference_reduced_mm=3.0).steps
    (Step(what='Measure the point in your hand on a ruler', why='points said to be equally long \
are not, and their tolerance is not printed on the box'),)
    """
    _inside("reference_reduced_mm", reference_reduced_mm, 0.0, s.REFERENCE_REDUCED_MOST_MM.value,
            "give what was taken off, not what is left")  # fmt: skip
    length = working_length_mm - reference_reduced_mm
    _inside("working_length_mm", working_length_mm, c.LENGTH_LOW_MM.value, c.LENGTH_HIGH_MM.value,
            "give millimetres from the reference point")  # fmt: skip
    if held_by not in ("fingers", "handpiece"):
        raise ValueError(
            f"field held_by: got {held_by!r}; allowed is 'fingers' or 'handpiece'; say what holds "
            "the files"
        )
    found = supplies() if at_hand is None else tuple(at_hand)
    if not found:
        raise ValueError(
            "field at_hand: got nothing; allowed is at least one instrument or point; leave it "
            "out for every length commonly sold"
        )
    return SuppliesPlan(length, tuple(_laid(one, length, held_by) for one in found))


def longest_reached_mm(supply: Supply, held_by: Hold = "fingers") -> float:
    """The longest working length (mm) that a supply of exactly its length serves, held as it is.

    >>> longest_reached_mm(supplies()[3]), longest_reached_mm(supplies()[3], "handpiece")
    (28.5, 27.5)
    """
    return supply.length_mm - _needed_mm(_hold(supply, held_by))


def _laid(supply: Supply, length_mm: float, held_by: Hold) -> Reach:
    hold = _hold(supply, held_by)
    left, needed = supply.length_mm - length_mm, _needed_mm(hold)
    return Reach(supply, left, needed, hold, _verdict(left, supply.spread_mm, needed))


def _verdict(left_mm: float, spread_mm: float, needed_mm: float) -> Verdict:
    least, most = left_mm - spread_mm + _SUM_MM, left_mm + spread_mm + _SUM_MM
    if least >= needed_mm:
        return "reaches"
    if most >= needed_mm:
        return "measure it"
    return "too short to hold" if most >= 0 else "does not reach"


def _hold(supply: Supply, held_by: Hold) -> Hold:
    return held_by if supply.kind == "file" else "tweezers"


def _needed_mm(hold: Hold) -> float:
    return sum(quantity.value for quantity in s.NEEDED[hold])


def _inside(name: str, value: float, low: float, high: float, mend: str) -> None:
    if not (math.isfinite(value) and low <= value <= high):
        raise ValueError(f"field {name}: got {value:g}; allowed is {low:g} to {high:g} mm; {mend}")
