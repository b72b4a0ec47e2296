"""The tables of lesson 04, each worked out by the library when it is asked for."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import numpy.typing as npt

from lengthwise.anatomy.canals import draw_canals
from lengthwise.bench.point_actions import TryPoint
from lengthwise.bench.point_touch import draw_wetness, free_k_mm_per_sqrt_s, try_points
from lengthwise.bench.points import replay
from lengthwise.evidence import Evidence, PointTrial
from lengthwise.marking.sheet import Sheet
from lengthwise.panels.trial_case import ESTIMATED_MM, allowance_mm, lesson_state
from lengthwise.panels.trial_words import give_or_take, log_sheet
from lengthwise.physics.wicking import entrance_limited_mm_and_slope, wicked_length_mm
from lengthwise.reconciliation import reconcile_many
from lengthwise.reference import constants as c
from lengthwise.reference import points as p
from lengthwise.reference.shared import read_only

Floats = npt.NDArray[np.float64]

TIMES_S = (0.5, 1.0, 2.0, 5.0, 10.0)
SIZE_MM, TAPER = 0.20, 0.02
WORKED_SEED, MANY_SEED, MANY = 1, 4, 2000
REPEATS = (1, 3, 10)
PAST_MM = 0.5
"""Points of the many canals are set this far past the foramen, so that nearly all come out wet."""

MOST = max(REPEATS)


def wicking_table() -> Sheet:
    """How far liquid creeps up a point of size 20.

    >>> wicking_table().rows[1]
    ('1 s', '0.3', '0.3', '1.2', '2.8')
    """
    cone = {"entrance_radius_mm": SIZE_MM / 2, "radius_slope": TAPER / 2}
    k = c.PAPER_K_MM_PER_SQRT_S.value
    rows = []
    for seconds in TIMES_S:
        free = [
            wicked_length_mm(seconds, k_mm_per_sqrt_s=each, **cone)
            for each in (k, free_k_mm_per_sqrt_s("blood"), free_k_mm_per_sqrt_s("water"))
        ]
        slow, _ = entrance_limited_mm_and_slope(
            seconds, k_mm_per_sqrt_s=k, entrance_length_mm=c.ENTRANCE_LENGTH_MM.value
        )
        lengths = (free[0], slow, free[1], free[2])
        rows.append((f"{seconds:g} s", *(f"{float(mm):.1f}" for mm in lengths)))
    heads = ("Contact", "Tissue, square-root law", "Tissue, entrance resists",
             "Free blood", "Free water")  # fmt: skip
    return Sheet("How far liquid creeps up a point of size 20 (mm)", heads, tuple(rows))


@cache
def worked_trials(contact_s: float = 1.0, repeats: int = 3) -> tuple[PointTrial, ...]:
    """The lesson's canal, dry, tried by hand: half a millimetre short, on until wet, repeats.

    Only the wet length is left for `contact_s` (s); the way there is made of brief touches.

    >>> [trial.wet_mm > 0 for trial in worked_trials()]
    [False, False, True, True, True]
    """
    first, last = ESTIMATED_MM - 0.5, ESTIMATED_MM + 0.5
    way = [TryPoint(length, 1.0) for length in (first, ESTIMATED_MM)]
    there = [TryPoint(last, contact_s)] * repeats
    _, outcomes = replay(lesson_state(), [*way, *there], np.random.default_rng(WORKED_SEED))
    return tuple(outcome.trial for outcome in outcomes if outcome.trial is not None)


def worked_table() -> Sheet:
    """One canal from the first trial to three repeats."""
    return log_sheet(worked_trials(), "One canal, estimated working length 24 mm, tried by hand")


def weighed_table() -> Sheet:
    """The worked canal, weighed by `reconcile` with brief and long contact, few and many repeats.

    >>> len(weighed_table().rows)
    5
    """
    told = {
        "3 points, 1 s": worked_trials(),
        f"{MOST} points, 1 s": worked_trials(1.0, MOST),
        "3 points, 5 s": worked_trials(5.0),
        f"{MOST} points, 5 s": worked_trials(5.0, MOST),
        "3 points, 5 s, written down as 1 s": tuple(
            trial.model_copy(update={"contact_s": 1.0}) for trial in worked_trials(5.0)
        ),
    }
    weighed = reconcile_many([_case(trials) for trials in told.values()])
    rows = []
    for (name, trials), result in zip(told.items(), weighed, strict=True):
        wet = [trial for trial in trials if trial.wet_mm > 0]
        as_it_is = np.mean([trial.length_mm - trial.wet_mm for trial in wet])
        allowed, half = allowance_mm(wet[0].contact_s)
        low, high = result.interval_mm()
        rows.append((
            name,
            f"{as_it_is:.1f}",
            give_or_take(float(as_it_is) + allowed, half).replace(" mm", ""),
            f"{result.foramen_mm:.1f} ({low:.1f} to {high:.1f})",
        ))  # fmt: skip
    foramen = lesson_state().canal.foramen_mm
    heads = ("Wet points", "As they are", "Less what wicks", "Weighed (nine times in ten)")
    caption = f"Where the foramen is by each (mm); it is at {foramen:.1f}"
    return Sheet(caption, heads, tuple(rows))


def _case(trials: tuple[PointTrial, ...]) -> Evidence:
    return Evidence(tooth="13", canal="single", reference_point="cusp tip", records=trials)


@cache
def errors_mm(contact_s: float, placement_sd_mm: float) -> Floats:
    """Where marks end against the foramen in many dry canals, uncorrected.

    Parameters
    ----------
    contact_s
        Contact time (s), counted by hand.
    placement_sd_mm
        Of tweezers, ruler and stop (mm).

    Returns
    -------
    array
        (set length - mark - foramen) in mm, shape (canals, `MOST`): canals whose points, set
        `PAST_MM` past the foramen, ran freely and all came out wet.

    Examples
    --------
    >>> bool(errors_mm(5.0, 0.2).mean() < errors_mm(1.0, 0.2).mean() < 0)
    True
    """
    rng = np.random.default_rng(MANY_SEED)
    canals = draw_canals("13", MANY, rng)
    dry = replace(draw_wetness(canals, rng), fold_chance=np.zeros(MANY))
    length = canals.foramen_mm + PAST_MM
    marks = []
    for _ in range(MOST):
        _, touch = try_points(
            dry, length, contact_s=contact_s, size_mm=SIZE_MM, taper=TAPER,
            placement_sd_mm=placement_sd_mm, rng=rng,
        )  # fmt: skip
        marks.append(np.where(touch.stuck, 0.0, touch.mark_mm))
    mark = np.stack(marks, axis=1)
    wet = np.all(mark > 0, axis=1)
    return read_only(np.asarray((length[:, None] - mark - canals.foramen_mm[:, None])[wet]))


def repeats_table() -> Sheet:
    """What contact time and repeats do to the mean of the marks, over many canals."""
    everyday, study = c.PLACEMENT_SD_MM.value, p.STUDY_PLACEMENT_SD_MM.value
    rows = []
    for contact in (1.0, 5.0):
        allowed, _ = allowance_mm(contact)
        for repeats in REPEATS:
            means = errors_mm(contact, everyday)[:, :repeats].mean(axis=1)
            careful = errors_mm(contact, study)[:, :repeats].mean(axis=1)
            rows.append((
                f"{repeats}\u00a0×\u00a0{contact:g}\u00a0s",
                f"{-means.mean():.1f}",
                f"{-(means + allowed).mean():.1f}",
                f"± {means.std():.2f}",
                f"± {careful.std():.2f}",
            ))  # fmt: skip
    heads = (
        "Points, contact", "As they are", "Less what wicks",
        f"Spread, hand ± {everyday:.2f}", f"Spread, hand ± {study:.2f}",
    )  # fmt: skip
    return Sheet("How far short of the foramen marks end, many canals (mm)", heads, tuple(rows))
