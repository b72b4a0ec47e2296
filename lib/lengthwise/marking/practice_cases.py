"""Practice cases: a patient of a kind, drawn from a seed, with the radiograph before treatment.

A kind says what is the matter with the canal, whether its foramen lies far from the end of the
root, and whether something disturbs an electronic reading. Nothing is sorted out afterwards: the
bench shows what comes of it.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np

from lengthwise.anatomy.canals import draw_canals
from lengthwise.bench.canal_space import NOWHERE_MM
from lengthwise.bench.canal_state import CanalState, draw_state
from lengthwise.bench.film import Film
from lengthwise.bench.meter import draw_meters
from lengthwise.bench.meter_conditions import ReadingConditions, draw_conditions
from lengthwise.bench.patient import Patient
from lengthwise.evidence import Context, PreoperativeFilm
from lengthwise.reference import points as p

from .a7_chair import Place, shorter
from .a7_kinds import BACK, FRONT
from .point_sittings import is_ordinary

Generator = np.random.Generator

LONGEST_TOOTH_MM = 27.0
"""Longer teeth do not fit on the receptor at every angle."""

FAR_MM = 1.1
"""From the end of the root to a foramen that the image hides plainly. Other canals are as they
come: whoever is careful there is right as often as the interval promises."""

MOST_TRIES, AT_ONCE = 200, 8


@dataclass(frozen=True)
class Kind:
    """A kind of practice case.

    Attributes
    ----------
    told : what was the matter, for the student, afterwards.
    trouble : gives what is changed in a prepared canal that is otherwise in order.
    far : whether the foramen lies far from the end of the root.
    disturbed : whether something disturbs an electronic reading until it is put right.
    given : what somebody has done before the student comes: read, taken a radiograph and dried
        (``measured``), and tried points as well (``tried``); empty for nothing.
    """

    told: str
    trouble: Callable[[Generator], dict[str, Any]]
    far: bool = False
    disturbed: bool = False
    given: Literal["", "measured", "tried"] = ""


def _nothing(rng: Generator) -> dict[str, Any]:
    return {}


def _over_length(rng: Generator) -> dict[str, Any]:
    return {"cause": "over_length", "bleeding": "oozing"}


def _brisk(rng: Generator) -> dict[str, Any]:
    return {"cause": "over_length", "bleeding": "brisk"}


def _tissue(rng: Generator) -> dict[str, Any]:
    high = float(rng.uniform(1.0, p.REMNANT_HIGHEST_MM.value))
    return {"cause": "tissue_remnant", "remnant_mm": high, "bleeding": "oozing"}


def _opening(rng: Generator) -> dict[str, Any]:
    return {"cause": "perforation", "lateral_mm": float(rng.uniform(2.5, 4.0)),
            "bleeding": "oozing"}  # fmt: skip


def _resorbed(rng: Generator) -> dict[str, Any]:
    return {"cause": "resorption", "bleeding": "oozing"}


def _blocked(rng: Generator) -> dict[str, Any]:
    return {"block_mm": float(rng.uniform(1.0, p.BLOCK_HIGHEST_MM.value))}


def _seeps(rng: Generator) -> dict[str, Any]:
    return {"cause": "seeping", "seep_ul_per_s": 2 * p.OOZE_UL_PER_S.value}


_HIDDEN = "its foramen lay well short of the end of the root, which no radiograph shows"
_METAL = "crown and chamber were wet and metal touched the file"
KINDS: dict[str, Kind] = {
    "tried": Kind("nothing was the matter with this canal", _nothing, given="tried"),
    "tried, hidden": Kind(_HIDDEN, _nothing, far=True, given="tried"),
    "given": Kind("nothing was the matter with this canal", _nothing, given="measured"),
    "given, hidden": Kind(_HIDDEN, _nothing, far=True, given="measured"),
    "given, oozes": Kind(
        "an instrument had gone past the foramen, and it oozed blood",
        _over_length,
        given="measured",
    ),
    "plain": Kind("nothing but the rinse was left in this canal", _nothing),
    "plain, disturbed": Kind(_METAL, _nothing, disturbed=True),
    "hidden": Kind(_HIDDEN, _nothing, far=True),
    "hidden, disturbed": Kind(f"{_HIDDEN}; and {_METAL}", _nothing, far=True, disturbed=True),
    "oozes": Kind("an instrument had gone past the foramen, and it oozed blood", _over_length),
    "bleeds": Kind("an instrument had gone past the foramen, and it bled", _brisk),
    "bleeds, hidden, disturbed": Kind(
        f"it bled from beyond the foramen; {_HIDDEN}; and {_METAL}", _brisk, True, True
    ),
    "oozes, hidden, disturbed": Kind(
        f"it oozed blood from beyond the foramen; {_HIDDEN}; and {_METAL}", _over_length, True, True
    ),
    "tissue": Kind("living tissue was left inside, and paper met it there", _tissue),
    "tissue, hidden": Kind(f"living tissue was left inside; and {_HIDDEN}", _tissue, far=True),
    "tissue, hidden, disturbed": Kind(
        f"living tissue was left inside; {_HIDDEN}; and {_METAL}", _tissue, True, True
    ),
    "opening": Kind("the root was open at its side", _opening),
    "resorbed": Kind("the end of the root was being resorbed", _resorbed),
    "blocked": Kind("a plug of debris lay above the foramen, and points ended on it", _blocked),
    "blocked, disturbed": Kind(
        f"a plug of debris lay above the foramen; and {_METAL}", _blocked, disturbed=True
    ),
    "seeps": Kind("clear liquid kept coming in through the foramen", _seeps),
    "seeps, hidden": Kind(f"clear liquid kept coming in; and {_HIDDEN}", _seeps, far=True),
}


@dataclass(frozen=True)
class PracticeCase:
    """What a student is given.

    Attributes
    ----------
    kind, seed : which case it is; the same two give the same case.
    place : the canal, and what it is measured from.
    context : what is known besides lengths.
    film : the radiograph before treatment.
    record : what was read on it, as it is written down.
    """

    kind: str
    seed: int
    place: Place
    context: Context
    film: Film
    record: PreoperativeFilm


def compose(kind: str, seed: int) -> tuple[PracticeCase, Patient]:
    """Draw a case: what the student is given, and the patient with the canal as it is now.

    The canal has been shaped, rinsed with hypochlorite and then with saline, and not been dried.

    Raises
    ------
    ValueError
        There is no such kind.

    Examples
    --------
    >>> case, patient = compose("plain", 1)
    >>> case.record.kind, patient.state["points"].liquid_in_canal
    ('preoperative_film', 'irrigant')
    """
    if kind not in KINDS:
        raise ValueError(f"field kind: got {kind!r}; allowed are {', '.join(KINDS)}; choose one")
    rng, about = np.random.default_rng(seed), KINDS[kind]
    places = (*FRONT, *BACK)
    place = places[int(rng.integers(len(places)))]
    patient = _patient(place, about.far, rng)
    film = patient.expose_film()
    patient.log.clear()
    grown = patient.canal
    patient.canal = shorter(grown, grown.shortening_flare_mm + grown.shortening_shaping_mm)
    patient.state["points"] = _state(patient, about)
    patient.state["meter"] = draw_meters(1, rng), _conditions(about.disturbed, rng)
    record = film.record
    assert isinstance(record, PreoperativeFilm)  # no file was in the canal
    record = record.model_copy(update={"tooth_length_mm": round(record.tooth_length_mm, 1)})
    context = Context(
        pulp="vital" if rng.random() < 0.5 else "necrotic",
        apex="closed",
        crown="intact",
        near_nerve_or_sinus=place.near_nerve_or_sinus or None,
    )
    return PracticeCase(kind, seed, place, context, film, record), patient


def _patient(place: Place, far: bool, rng: Generator) -> Patient:
    """A patient whose canal is of ordinary length; with `far`, its foramen off the root's end."""
    patient = Patient(place.fdi, rng, place.canal)
    for _ in range(MOST_TRIES):
        canals = draw_canals(place.fdi, AT_ONCE, rng, canal=place.canal)
        for i in range(AT_ONCE):
            canal = canals.one(i)
            off = canal.apex_mm - canal.foramen_mm
            if (
                (off >= FAR_MM or not far)
                and is_ordinary(canal)
                and canal.apex_mm <= LONGEST_TOOTH_MM
            ):
                patient.canal = canal
                return patient
    raise RuntimeError(f"no canal of tooth {place.fdi} in {MOST_TRIES} tries")


def _state(patient: Patient, about: Kind) -> CanalState:
    """Prepared and rinsed, with this kind's trouble and no other."""
    in_order: dict[str, Any] = {
        "cause": "none", "bleeding": "none", "remnant_mm": 0.0, "block_mm": NOWHERE_MM,
        "lateral_mm": None, "seep_ul_per_s": 0.0, "irrigant": "saline",
    }  # fmt: skip
    drawn = draw_state(patient.canal, patient.rng)
    return replace(drawn, **{**in_order, **about.trouble(patient.rng)})


def _conditions(disturbed: bool, rng: Generator) -> ReadingConditions:
    drawn = draw_conditions(1, rng)
    if not disturbed:
        return put_right(drawn)
    return replace(
        drawn,
        touches_per_s=np.array([0.5]),
        swing=np.array([1.5]),
        flooded_ohm=np.exp(rng.uniform(np.log(3e2), np.log(3e3), 1)),
    )


def put_right(conditions: ReadingConditions) -> ReadingConditions:
    """Crown and chamber dry, no metal contact, the clip on, a file that is not loose."""
    return replace(
        conditions,
        touches_per_s=np.zeros(1),
        loses_per_s=np.zeros(1),
        leak_ohm=np.full(1, np.inf),
        flooded_ohm=np.full(1, np.inf),
        swing=np.minimum(np.asarray(conditions.swing), 0.3),
    )
