"""Practice cases: a patient of a kind, drawn from a seed, with the radiograph before treatment."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from lengthwise.anatomy.canals import Canal, draw_canals
from lengthwise.bench.canal_space import NOWHERE_MM
from lengthwise.bench.canal_state import CanalState, draw_state
from lengthwise.bench.film import Film
from lengthwise.bench.meter import draw_meters
from lengthwise.bench.meter_conditions import ReadingConditions, draw_conditions
from lengthwise.bench.patient import Patient
from lengthwise.evidence import Context, PreoperativeFilm

from .a7_chair import Place, shorter
from .a7_kinds import BACK, FRONT
from .point_sittings import is_ordinary
from .practice_kinds import KINDS, Kind

Generator = np.random.Generator

LONGEST_TOOTH_MM = 27.0
"""Longer teeth do not fit on the receptor at every angle."""

MOST_TRIES, AT_ONCE = 200, 8


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
    bleeding : as it is seen when the case begins.
    """

    kind: str
    seed: int
    place: Place
    context: Context
    film: Film
    record: PreoperativeFilm
    bleeding: str = "none"


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
    >>> case.record.kind, patient.state.liquid_in_canal
    ('preoperative_film', 'irrigant')
    """
    if kind not in KINDS:
        raise ValueError(f"field kind: got {kind!r}; allowed are {', '.join(KINDS)}; choose one")
    rng, about = np.random.default_rng(seed), KINDS[kind]
    places = (*FRONT, *BACK)
    place = places[int(rng.integers(len(places)))]
    patient = _patient(place, about.lies, rng)
    film = patient.expose_film()
    patient.log.clear()
    patient.canal = _shaped(patient.canal)
    patient.state = _state(patient, about)
    patient.meter_and_conditions = draw_meters(1, rng), _conditions(about.disturbed, rng)
    record = film.record
    assert isinstance(record, PreoperativeFilm)  # no file was in the canal
    record = record.model_copy(update={"tooth_length_mm": round(record.tooth_length_mm, 1)})
    context = Context(
        pulp="vital" if rng.random() < 0.5 else "necrotic",
        apex="closed",
        crown="intact",
        near_nerve_or_sinus=place.near_nerve_or_sinus or None,
    )
    bleeding = patient.state.bleeding
    return PracticeCase(kind, seed, place, context, film, record, bleeding), patient


def _patient(place: Place, lies: Callable[[Canal], bool], rng: Generator) -> Patient:
    """A patient whose canal is of ordinary length, and lies like this once it is shaped."""
    patient = Patient(place.fdi, rng, place.canal)
    for _ in range(MOST_TRIES):
        canals = draw_canals(place.fdi, AT_ONCE, rng, canal=place.canal)
        for i in range(AT_ONCE):
            canal = canals.one(i)
            fits = is_ordinary(canal) and canal.apex_mm <= LONGEST_TOOTH_MM
            if fits and lies(_shaped(canal)):
                patient.canal = canal
                return patient
    raise RuntimeError(f"no canal of tooth {place.fdi} in {MOST_TRIES} tries")


def _shaped(canal: Canal) -> Canal:
    return shorter(canal, canal.shortening_flare_mm + canal.shortening_shaping_mm)


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
