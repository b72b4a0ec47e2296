"""A case made to order: somebody says what it should show, and the bench is asked until it does.

Nothing is painted: canals are drawn, read and tried as for the assignments, and one is taken that
shows what was asked for. The number that it was drawn from makes the same case again.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from lengthwise.bench.canal_state import CanalState
from lengthwise.evidence import Evidence, Record
from lengthwise.reference.tables import canal_length

from . import a7_kinds as kinds
from . import a7_takes as takes
from .a7_chair import Chair, Generator, Place, draw_chairs, points, shorter
from .beliefs import implied_lengths_mm
from .graded_case import GradedCase

MOST_ROUNDS, AT_ONCE = 120, 12
"""So often so many canals are drawn before it is said that there is none."""

LONG_MM = kinds.OFF_AVERAGE_MM
"""A long canal is at least this much longer than the average of its tooth; an ordinary one is
within this of it."""

AT_END_MM, SHORT_MM = 0.5, 1.0
"""A signal at the end comes within the first of it; one that is short, at least the second before
it, whatever the trace looks like."""

PLACES = {f"{one.fdi} {one.canal}".removesuffix(" single"): one for one in kinds.FRONT + kinds.BACK}
"""The canals that can be asked for, by tooth and canal."""

NO, YES = "no", "yes"
LENGTHS = ("ordinary", "long")
SAME, REDUCED = "the same throughout", "ground down before a second visit"
NOT_TAKEN, AT_END, SHORT, UNSTABLE, FLAT = (
    "not taken", "steady, at the end", "steady, but short", "unstable",
    "flat: its signal never comes",
)  # fmt: skip
NOT_TRIED, DRY, WET, BLOCKED, ASIDE = (
    "not tried", "in a dry canal", "in a wet canal", "in a blocked canal",
    "in a canal opened aside",
)  # fmt: skip


@dataclass(frozen=True)
class _Reading:
    trouble: str
    shows: Callable[[Chair], bool]


def _off_mm(chair: Chair) -> float:
    signal = chair.quality.signal_mm
    return np.inf if signal is None else signal - chair.flared.foramen_mm


def _steady(chair: Chair) -> bool:
    return chair.quality.signal_mm is not None and kinds.stable(chair.quality)


_READINGS = {
    NOT_TAKEN: _Reading("none", lambda chair: True),
    AT_END: _Reading("none", lambda one: _steady(one) and abs(_off_mm(one)) <= AT_END_MM),
    SHORT: _Reading("moist", lambda one: _steady(one) and _off_mm(one) <= -SHORT_MM),
    UNSTABLE: _Reading(
        "loose", lambda one: one.quality.signal_mm is not None and kinds.unstable(one.quality)
    ),
    FLAT: _Reading("loose", lambda one: one.quality.signal_mm is None),
}


@dataclass(frozen=True)
class _Points:
    state: Callable[[Chair, Generator], CanalState]
    shows: Callable[[Evidence, kinds.Implied], bool]
    number: int = takes.POINTS


_POINTS = {
    DRY: _Points(Chair.dried, lambda case, implied: kinds.turned(case)),
    WET: _Points(takes.bleeding, kinds.drifts, takes.WET_POINTS),
    BLOCKED: _Points(takes.plugged, kinds.all_dry),
    ASIDE: _Points(takes.opened, kinds.wet_aside),
}
READINGS, POINTS = tuple(_READINGS), (NOT_TRIED, *_POINTS)


class NoSuchCaseError(ValueError):
    """None of the canals that were drawn showed what was asked for."""


@dataclass(frozen=True)
class Wish:
    """What a case should show; each is one of the words of this module.

    Attributes
    ----------
    place : of `PLACES`.
    length : of `LENGTHS`.
    reading : of `READINGS`, in the flared canal.
    file_film : `YES` or `NO`, a radiograph with a file at the estimated length.
    points : of `POINTS`, in the shaped canal.
    reference : `SAME` or `REDUCED`; lengths taken before count from what is gone.
    """

    place: str = "13"
    length: str = "ordinary"
    reading: str = AT_END
    file_film: str = YES
    points: str = DRY
    reference: str = SAME

    def __post_init__(self) -> None:
        for name, allowed in CHOICES.items():
            if (came := getattr(self, name)) not in allowed:
                raise ValueError(
                    f"field {name}: got {came!r}; allowed are {'; '.join(map(repr, allowed))}; "
                    "choose one of them"
                )

    @property
    def words(self) -> str:
        """The wish in a line, for the instructor.

        >>> Wish("23", "long", UNSTABLE, NO, WET).words
        '23, long; reading unstable; points in a wet canal'
        """
        parts = [f"{self.place}, {self.length}"]
        parts += [] if self.reading == NOT_TAKEN else [f"reading {self.reading}"]
        parts += [] if self.file_film == NO else ["radiograph with a file"]
        parts += [] if self.points == NOT_TRIED else [f"points {self.points}"]
        parts += [] if self.reference == SAME else [f"reference {self.reference}"]
        return "; ".join(parts)


CHOICES: dict[str, tuple[str, ...]] = {
    "place": tuple(PLACES),
    "length": LENGTHS,
    "reading": READINGS,
    "file_film": (YES, NO),
    "points": POINTS,
    "reference": (SAME, REDUCED),
}
"""What can be asked for, by field of `Wish`."""


def author_case(wish: Wish, number: int, target_mm: float) -> GradedCase:
    """The case of this wish and number; the same two give the same case.

    Parameters
    ----------
    wish : what it should show.
    number : 0 or more; another one gives another canal.
    target_mm : the school's distance of the working length from the foramen.

    Raises
    ------
    NoSuchCaseError
        None of the canals drawn showed it.

    Examples
    --------
    >>> case = author_case(Wish("13", "long"), 1, 0.5)
    >>> case.evidence.tooth, case.trap
    ('13', '13, long; reading steady, at the end; radiograph with a file; points in a dry canal')
    """
    rng, reading = np.random.default_rng(number), _READINGS[wish.reading]
    for _ in range(MOST_ROUNDS):
        for chair in draw_chairs(PLACES[wish.place], AT_ONCE, reading.trouble, rng):
            if is_of_length(chair.shaped.foramen_mm, PLACES[wish.place], wish.length) and (
                reading.shows(chair)
            ):
                case, truth_mm = _taken(chair, wish, rng)
                if _points_show(wish.points, case):
                    return GradedCase(case, target_mm, truth_mm, wish.words)
    raise NoSuchCaseError(
        f"None of {MOST_ROUNDS * AT_ONCE} canals drawn from number {number} showed this: "
        f"{wish.words}. Draw again, or ask for less."
    )


def is_of_length(foramen_mm: float, place: Place, length: str) -> bool:
    """Whether a canal is long, or ordinary, for its tooth."""
    more_mm = foramen_mm - canal_length(place.fdi, place.canal).mean_mm
    return more_mm >= LONG_MM if length == "long" else abs(more_mm) < LONG_MM


def _points_show(asked: str, case: Evidence) -> bool:
    return asked == NOT_TRIED or _POINTS[asked].shows(case, implied_lengths_mm(case))


def _taken(chair: Chair, wish: Wish, rng: Generator) -> tuple[Evidence, float]:
    """What is written down at the chair, and where the canal ends (mm) from the last reference."""
    first = chair.before(rng)
    before: list[Record] = [first]
    before += [] if wish.reading == NOT_TAKEN else [chair.reading]
    before += [] if wish.file_film == NO else [chair.with_file(first, rng)]
    lost_mm = 0.0 if wish.reference == SAME else round(rng.uniform(*takes.REDUCED_MM), 1)
    old, visit = chair.place.reference, None
    known: dict[str, object] = {"obstruction": None} if wish.points == BLOCKED else {}
    if wish.reference == REDUCED:
        then = {"reference_point": old, "reference_offset_mm": -lost_mm, "visit": 1}
        before, visit = [one.model_copy(update=then) for one in before], 2
        known["crown"] = "prepared"
        first = first.model_copy(update=then)
    tried: tuple[Record, ...] = ()
    if wish.points != NOT_TRIED:
        asked = _POINTS[wish.points]
        state = asked.state(chair, rng)
        state = replace(state, canal=shorter(state.canal, lost_mm), visit=visit or state.visit)
        tried = points(state, first, asked.number, rng)
    tried = tuple(one.model_copy(update={"visit": visit}) for one in tried)
    case = takes.case_of(chair, (*before, *tried), rng, **known)
    if wish.reference == REDUCED:
        case = case.model_copy(update={"reference_point": f"{old}, reduced"})
    return case, chair.shaped.foramen_mm - lost_mm
