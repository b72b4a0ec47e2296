"""Patients of the bench, thousands at once: what was written down, the truth, what is visible.

Ten kinds of canal. Of the five kinds of source each patient has one to five, all sets of a size
equally often, taken in the order of a treatment and each beginning from the length that the
records before it suggest (without any, from the textbook's average): nothing that is tried knows
the truth.

- *radiographs*: landmarks by exact perspective (`bench.film_landmarks`), three marks of a reader;
  receptor 2 to 3 cm off the tooth (datasets/magnification.csv) or touching the crown; the beam is
  off by an error of the hand. The published looks-too-long of radiographs is not painted on.
- *readings*: traces in drawn conditions, meters and materials (`bench.meter.draw_traces`).
- *points*: `bench_sittings.sit`, whose liquids and plugs are hidden.
- *stops*: a file of size 25 to 35 goes in until the grown canal is as narrow as the file is.

Canals lose length when flared and shaped, crowns have been worn or prepared. The truth is the
foramen in the canal as it is at the last record.
"""

from dataclasses import dataclass, replace

import numpy as np
from bench_sittings import sit
from lengthwise.anatomy.canals import draw_canals
from lengthwise.anatomy.lengths import beta_of
from lengthwise.anatomy.teeth import outline
from lengthwise.bench.film_landmarks import project_landmarks, read_film
from lengthwise.bench.film_setup import longest_here_mm, set_up
from lengthwise.bench.meter import draw_meters, draw_traces
from lengthwise.bench.meter_conditions import as_written_down, draw_conditions
from lengthwise.bench.meter_line import line_shapes
from lengthwise.evidence import (
    Context,
    ElectronicReading,
    Evidence,
    PointTrial,
    PreoperativeFilm,
    TactileStop,
    WorkingFilm,
)
from lengthwise.physics.impedance import furthest_past_mm
from lengthwise.physics.line import File
from lengthwise.reconciliation.apex import film_scale
from lengthwise.reconciliation.trace_quality import assess_trace

TEETH = (
    ("11", "single"), ("12", "single"), ("13", "single"), ("23", "single"), ("24", "B"),
    ("34", "single"), ("44", "single"), ("41", "single"), ("16", "P"), ("36", "D"),
)  # fmt: skip
KINDS = ("preoperative_film", "tactile_stop", "electronic_reading", "working_film", "point_trial")
PREOP, STOP, READING, WORKING, POINTS = range(len(KINDS))
CROWNS = ("intact", "worn", "prepared", None)

# What nobody has measured; judgements, as those of the bench are.
CROWN_SHARES = (0.55, 0.2, 0.1, 0.15)
WEAR_MM = {"worn": (0.3, 1.5), "prepared": (1.0, 3.0)}
BEAM_OFF_DEG = {"paralleling": 3.0, "bisecting": 6.0}  # a holder; a hand
AWAY_MM = {"paralleling": (20.0, 30.0), "bisecting": (2.5, 6.0)}
STOP_READ_SD_MM = 0.2
NO_STOP_PAST_MM = 1.0  # a file that goes so far has not been stopped
WITHOUT_TRACE = 0.4  # of the readings whose display behaved: only the depth is written down
TWICE = 0.4  # of the readings are taken twice
NOT_STAGED = 0.3  # of the patients: stages are not written down
SHAPED_FIRST = 0.5  # of the rest: reading and radiograph are taken in the shaped canal


@dataclass(frozen=True)
class Patients:
    """n patients: their evidence, their foramen (mm), and by name what is visible or hidden."""

    evidence: list
    foramen_mm: np.ndarray
    visible: dict
    hidden: dict


def draw_patients(n, rng):
    """n patients, n / 10 of each kind of canal."""
    each = [_of_one_kind(tooth, canal, n // len(TEETH), rng) for tooth, canal in TEETH]
    return Patients(
        [case for group in each for case in group.evidence],
        np.concatenate([group.foramen_mm for group in each]),
        *(
            {k: np.concatenate([getattr(g, side)[k] for g in each]) for k in getattr(each[0], side)}
            for side in ("visible", "hidden")
        ),
    )


def shorter(canals, by_mm):
    """The canals with their reference point or their path this much (mm) closer to the end."""
    lengths = ("apex_mm", "foramen_mm", "constriction_mm", "cej_mm")
    return replace(canals, **{name: getattr(canals, name) - by_mm for name in lengths})


def subsets(n, rng):
    """Which of the five kinds each patient has, (n, 5): one to five, every set as likely."""
    count = rng.integers(1, len(KINDS) + 1, n)
    return rng.random((n, len(KINDS))).argsort(axis=1).argsort(axis=1) < count[:, None]


def _of_one_kind(tooth, name, n, rng):
    canals = draw_canals(tooth, n, rng, canal=name)
    crown = rng.choice(len(CROWNS), n, p=CROWN_SHARES)
    looks = [CROWNS[k] or rng.choice(["intact", "worn"], p=[0.75, 0.25]) for k in crown]
    wear = np.array([rng.uniform(*WEAR_MM[look]) if look in WEAR_MM else 0.0 for look in looks])
    grown = shorter(canals, wear)
    flared = shorter(grown, canals.shortening_flare_mm)
    shaped = shorter(flared, canals.shortening_shaping_mm)
    staged = rng.random(n) > NOT_STAGED
    late = ~staged | (rng.random(n) < SHAPED_FIRST)  # reading and radiograph after shaping
    has = subsets(n, rng)
    stop_mm = _stops(grown, rng)
    has[:, STOP] &= np.isfinite(stop_mm)
    has[~has.any(axis=1), PREOP] = True  # nothing was felt: a radiograph, then
    in_canal = has[:, READING] | has[:, WORKING]
    after_shaping = has[:, POINTS] | (in_canal & late)
    truth = np.where(after_shaping, shaped.foramen_mm, grown.foramen_mm)
    truth = np.where(in_canal & ~after_shaping, flared.foramen_mm, truth)

    low, high, a, b = beta_of(tooth, name)
    estimate = np.full(n, low + (high - low) * a / (a + b) - 1.0)
    records = [[] for _ in range(n)]
    technique = rng.choice(["paralleling", "bisecting"], (n, 2), p=[0.6, 0.4])
    written = rng.random((n, 2)) < 0.8

    def stage(i, when):
        return {"stage": when} if staged[i] else {}

    def film_record(i, which):
        return {"technique": str(technique[i, which])} if written[i, which] else {}

    for i in np.flatnonzero(has[:, PREOP]):
        read = _film(grown.one(i), technique[i, 0], None, rng)
        film = PreoperativeFilm(
            tooth_length_mm=read["tooth"], **film_record(i, 0), **stage(i, "before_flare")
        )
        records[i].append(film)
        estimate[i] = read["tooth"] / film_scale(film.technique)[1] - 1.0
    for i in np.flatnonzero(has[:, STOP]):
        records[i].append(TactileStop(length_mm=stop_mm[i], **stage(i, "before_flare")))

    traced = rng.random(n) >= WITHOUT_TRACE
    liquid = np.full(n, "none", dtype="U10")
    for when, mine, canal in (("after_flare", ~late, flared), ("after_shaping", late, shaped)):
        rows = np.flatnonzero(has[:, READING] & mine)
        seen = _readings(canal.some(rows), when == "after_shaping", rng) if rows.size else []
        for i, readings in zip(rows, seen, strict=True):
            liquid[i] = readings[0].liquid_in_canal
            marked = [r.model_copy(update=stage(i, when)) for r in readings]
            judged = [assess_trace(r) for r in marked]
            depths = [q.signal_mm for q in judged if q.signal_mm is not None]
            # only of a display that behaved is a depth noted that stands for itself
            traced[i] |= not all(sign.holds for q in judged for sign in q.signs)
            if not traced[i]:
                depths = [round(4 * d) / 4 for d in depths]
                marked = [_without_trace(r, d) for r, d in zip(marked, depths, strict=True)]
            records[i].extend(marked)
            if depths:
                estimate[i] = depths[0] - 0.5

    for when, mine, canal in (("after_flare", ~late, flared), ("after_shaping", late, shaped)):
        for i in np.flatnonzero(has[:, WORKING] & mine):
            one = canal.one(i)
            file_mm = min(round(estimate[i] * 2) / 2, longest_here_mm(one))
            read = _film(one, technique[i, 1], file_mm, rng)
            film = WorkingFilm(
                file_length_mm=file_mm,
                tip_short_of_radiographic_apex_mm=read["gap"],
                film_file_length_mm=read["file"],
                film_tooth_length_mm=read["tooth"],
                **film_record(i, 1),
                **stage(i, when),
            )
            records[i].append(film)
            estimate[i] = file_mm + read["gap"] - 1.0

    rows = np.flatnonzero(has[:, POINTS])
    sitting = sit(tooth, 0, rng, canals=shaped.some(rows), estimate_mm=estimate[rows])
    wetness, felt, state = (
        np.full(n, "none", "U8"),
        np.full(n, "none", "U8"),
        np.full(n, "none", "U8"),
    )
    for k, i in enumerate(rows):
        trials = [r for r in sitting.evidence(k).records if isinstance(r, PointTrial)]
        records[i].extend(r.model_copy(update=stage(i, "after_shaping")) for r in trials)
        wetness[i], state[i] = sitting.visible[k], sitting.state[k]
        felt[i] = "felt" if sitting.felt[k].any() else "free"

    near = rng.random(n) < (0.2 if tooth[0] in "34" or tooth[1] > "3" else 0.0)
    pulp = rng.integers(0, 3, n)
    cases = [
        Evidence(
            tooth=tooth,
            canal=name,
            reference_point="cusp tip",
            context=Context(
                crown=CROWNS[crown[i]],
                pulp=("vital", "necrotic", None)[pulp[i]],
                near_nerve_or_sinus=bool(near[i]),
            ),
            records=tuple(records[i]),
        )
        for i in range(n)
    ]
    named = np.where(written, technique, "none")
    visible = {
        "tooth": np.full(n, tooth),
        "sources": has.sum(axis=1),
        "kinds": np.array(["+".join(np.array(KINDS)[row]) for row in has]),
        "crown": np.array([str(CROWNS[k]) for k in crown]),
        "stages": np.where(~staged, "none", np.where(late, "shaped", "in turn")),
        "technique before": np.where(has[:, PREOP], named[:, 0], "no radiograph"),
        "technique with file": np.where(has[:, WORKING], named[:, 1], "no radiograph"),
        "liquid while reading": np.where(has[:, READING], liquid, "no reading"),
        "trace": np.where(~has[:, READING], "no reading", np.where(traced, "trace", "depth alone")),
        "liquid at points": wetness,
        "points felt": felt,
    } | {kind: has[:, k] for k, kind in enumerate(KINDS)}
    hidden = {
        "state of points": state,
        "width": canals.foramen_diameter_mm,
        "technique with file": np.where(has[:, WORKING], technique[:, 1], "no radiograph"),
        "crown": np.array(looks),
    }
    return Patients(cases, truth, visible, hidden)


def _film(canal, technique, file_mm, rng):
    """What a reader measures (mm) on a radiograph taken by a hand."""
    setup = set_up(
        canal,
        technique,
        vertical_deg=rng.normal(0, BEAM_OFF_DEG[technique]),
        away_mm=rng.uniform(*AWAY_MM[technique]),
    )
    return read_film(
        project_landmarks(canal, outline(canal.fdi, canal.canal), setup.view, file_mm), rng
    )


def _stops(canals, rng):
    """Where a file is stopped by a narrow place (mm), NaN where none stops it."""
    n = len(canals)
    size = rng.choice([25, 30, 35], n) / 100
    past = furthest_past_mm(line_shapes(canals, shaped=False), File(size))
    felt = canals.foramen_mm + past + rng.normal(0, STOP_READ_SD_MM, n)
    return np.where((past < NO_STOP_PAST_MM) & (felt > 5), felt, np.nan)


def _readings(canals, shaped, rng):
    """One or two traces of each canal, under the same conditions."""
    n = len(canals)
    conditions, meter = draw_conditions(n, rng), draw_meters(n, rng)
    liquids = as_written_down(conditions, canals.foramen_mm - canals.cej_mm)
    size = rng.choice([15, 20, 25] if shaped else [10, 15], n)
    rows = np.concatenate([np.arange(n), np.flatnonzero(rng.random(n) < TWICE)])
    traces = draw_traces(
        canals.some(rows), rng, conditions=conditions.some(rows), file_size=size[rows],
        shaped=shaped, meter=meter.some(rows),
    )  # fmt: skip
    readings = [[] for _ in range(n)]
    for k, i in enumerate(rows):
        about = {"file_size": int(size[i]), "liquid_in_canal": liquids[i]}
        readings[i].append(traces.record(k, **about))
    return readings


def _without_trace(reading, depth_mm):
    """The same reading when only the depth of its foramen signal is written down."""
    return ElectronicReading(
        foramen_signal_mm=depth_mm,
        stage=reading.stage,
        file_size=reading.file_size,
        liquid_in_canal=reading.liquid_in_canal,
    )
