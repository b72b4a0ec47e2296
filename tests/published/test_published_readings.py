"""Readings of the simulated patient: how well a trace is judged, and how often it is right.

Published share of readings within 0.5 mm of the foramen: 67 to 97 % before flaring, 87 to 97 %
after (de Camargo et al. 2009, J Endod 35:1300; 40 teeth). All other figures are the library's own,
held so that a change shows.
"""

from itertools import pairwise

import numpy as np
import pytest
from bench_traces import auc, judged
from lengthwise.anatomy.canals import draw_canals
from lengthwise.bench.meter import all_meters
from lengthwise.bench.meter_conditions import ReadingConditions
from lengthwise.bench.meter_grid import quotient_grid
from lengthwise.bench.meter_line import line_shapes
from lengthwise.physics.impedance import furthest_past_mm
from lengthwise.physics.line import File

PUBLISHED = (0.67, 0.97)
EDGES = (0.0, 0.1, 0.3, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0)


def bins():
    """Traces with a signal, by trust."""
    of = judged()
    for low, high in pairwise(EDGES):
        yield low, of.reached & (of.trust >= low) & (of.trust < high)


# --- how well a trace is judged -------------------------------------------------------------------


@pytest.mark.slow
def test_four_thousand_traces_of_other_canals_are_told_apart():
    """Goal 0.95 without those that are steady but short; measured 0.96, and 0.90 with them."""
    of = judged()
    seen = ~of.steady_short
    assert of.trust.size == 4000
    assert auc(of.trust, of.usable) > 0.88
    assert auc(of.trust[seen], of.usable[seen]) > 0.95
    # What is steady but past is as invisible: without both kinds hardly any are confused.
    assert auc(of.trust[~of.steady_wrong], of.usable[~of.steady_wrong]) > 0.985


@pytest.mark.slow
def test_no_simple_rule_tells_traces_apart_as_well():
    """Measured: reached at all 0.73, no jumps 0.73, last value 0.74, against 0.90."""
    of = judged()
    whole = auc(of.trust, of.usable)
    for rule in of.rules.values():
        assert 0.5 < auc(rule, of.usable) < whole - 0.1


@pytest.mark.slow
def test_a_steady_short_reading_looks_as_good_as_a_sound_one():
    """The limit of every judgement by trace: told apart hardly better than by a coin."""
    of = judged()
    both = of.usable | of.steady_short
    assert 0.04 < of.steady_short.mean() < 0.1
    assert 0.4 < auc(of.trust[both], of.usable[both]) < 0.75


@pytest.mark.slow
def test_the_probability_is_calibrated():
    """Brier 0.105 where the share alone has 0.244; every bin within three standard errors."""
    of = judged()
    share = of.usable.mean()
    assert np.mean((of.trust - of.usable) ** 2) < 0.115 < 0.5 * share * (1 - share)
    for low, some in bins():
        expected, happened = of.trust[some].mean(), of.usable[some].mean()
        sd = np.sqrt(expected * (1 - expected) / some.sum())
        assert some.sum() > 80, low
        assert abs(happened - expected) < 3 * sd + 0.02, low


@pytest.mark.slow
def test_a_probability_that_boasts_would_be_found_out():
    of = judged()
    some = of.reached & (of.trust > 0.5)
    boasting = of.trust[some] ** 0.25
    sd = np.sqrt(np.mean(boasting * (1 - boasting)) / some.sum())
    assert abs(of.usable[some].mean() - boasting.mean()) > 3 * sd + 0.02


@pytest.mark.slow
def test_the_implied_depth_covers_the_foramen_in_every_bin_of_trust():
    """Nine in ten asked; 0.89 to 0.96 found. Below a trust of 0.1: 0.71, far off and skewed."""
    of = judged()
    sd = np.array([np.nan if q.foramen_sd_mm is None else q.foramen_sd_mm for q in of.quality])
    for low, some in bins():
        covered = np.mean(np.abs(of.off_mm[some]) <= 1.645 * sd[some])
        spread = np.sqrt(np.mean((of.off_mm[some] / sd[some]) ** 2))
        if low < 0.1:
            assert 0.6 < covered < 0.85  # the miss
            continue
        assert 0.85 < covered < 0.985, low
        assert 0.75 < spread < 1.2, low


# --- how often a reading is right ----------------------------------------------------------------

EACH = 24
ANTERIOR = ("11", "12", "13")


def anterior():
    rng = np.random.default_rng(31)
    return [draw_canals(tooth, 4000, rng) for tooth in ANTERIOR]


def pick(want):
    """EACH canals of every anterior tooth for which `want` holds, as one batch a tooth."""
    picked = []
    for canals in anterior():
        which = np.flatnonzero(want(canals))[: EACH // len(ANTERIOR)]
        assert len(which) == EACH // len(ANTERIOR)
        picked.append(canals.some(which))
    return picked


def middling(canals, *, wide=0.15):
    """Foramen and constriction within 15 % of their medians, length and body below the 80th."""
    near = np.ones(len(canals), dtype=bool)
    for value in (canals.foramen_diameter_mm, canals.constriction_diameter_mm):
        near &= np.abs(np.log(value / np.median(value))) < wide
    return near & (canals.apex_mm < np.quantile(canals.apex_mm, 0.8)) & ~wide_body(canals, 0.8)


def wide_body(canals, share=0.9):
    body = canals.diameter_bl_mm[:, 2] * canals.diameter_md_mm[:, 2]
    return body > np.quantile(body, share)


QUIET = ReadingConditions()
DRY = ReadingConditions(level_mm=0.3)
BLEEDING = ReadingConditions(blood_share=1.0)
GROUPS = {
    "median": (middling, QUIET),
    "any": (lambda canals: np.ones(len(canals), dtype=bool), QUIET),
    "long": (lambda canals: canals.apex_mm > np.quantile(canals.apex_mm, 0.95), QUIET),
    "wide body": (wide_body, QUIET),
    "long and wide": (lambda c: wide_body(c) & (c.apex_mm > np.quantile(c.apex_mm, 0.9)), QUIET),
    "wide foramen": (lambda canals: canals.foramen_diameter_mm > 0.85, QUIET),
    "dry": (middling, DRY),
    "bleeding": (middling, BLEEDING),
}


def signals(group) -> np.ndarray:
    """Where the signal comes (mm past the foramen), NaN where it never does: (draws, canals)."""
    want, conditions = GROUPS[group]
    draws = len(all_meters().curve)
    found = []
    for canals in pick(want):
        n = len(canals)
        every = canals.some(np.tile(np.arange(n), draws))
        meter = all_meters().some(np.repeat(np.arange(draws), n))
        shape, file = line_shapes(every, shaped=False), File(0.10)
        reach = np.tile([-4.0, 1.5], (n * draws, 1))
        reach = np.minimum(reach, furthest_past_mm(shape, file)[:, None])
        still = np.zeros((n * draws, 1), dtype=bool)
        grid = quotient_grid(
            shape, file, conditions.every(n * draws), meter.materials, reach, still
        )
        shown = np.nan_to_num(grid.thin, nan=1.0)
        found.append(meter.curve.foramen_signal_mm(grid.past_mm, shown).reshape(draws, n))
    return np.concatenate(found, axis=1)


def table():
    """A row a group: share right of those that came with its spread, never, short, past, middle."""
    lines = {}
    for group in GROUPS:
        at = signals(group)
        came = np.isfinite(at)
        with np.errstate(invalid="ignore"):
            right = np.abs(at) <= 0.5
        share = right.sum(axis=1) / np.maximum(came.sum(axis=1), 1)
        lines[group] = (
            right.sum() / came.sum(),
            *np.quantile(share, [0.1, 0.9]),
            1 - came.mean(),
            np.mean(at[came] < -0.5),
            np.mean(at[came] > 0.5),
            float(np.median(at[came])),
        )
    return lines


@pytest.mark.slow
def test_how_often_readings_are_right_and_where_they_fail(capsys):
    lines = table()
    with capsys.disabled():
        print("\n  group          right  10-90 % of draws  never  short  past  median (mm)")  # noqa: T201
        for group, (right, low, high, never, short, past, middle) in lines.items():
            print(  # noqa: T201
                f"  {group:14s} {right:5.2f}  {low:5.2f} to {high:4.2f}     {never:5.2f}  "
                f"{short:5.2f} {past:5.2f}  {middle:+.2f}"
            )
    right, _, _, never, short, past, _ = (
        dict(zip(GROUPS, column, strict=True)) for column in zip(*lines.values(), strict=True)
    )
    # Median anterior canals that nothing disturbs are right as often as published lengths are.
    assert PUBLISHED[0] <= right["median"] <= PUBLISHED[1]
    assert lines["median"][1] > 0.6  # in nine of ten draws
    assert 0.75 < right["any"] < right["median"]
    # Length: mostly because a long canal of the population need not be a median one; signals that
    # never come, or come past. The width of body and constriction, which go together in the
    # population, is what ruins a reading, and always to the far side: the dangerous one.
    assert 0.5 < right["long"] < 0.8 < right["median"]
    assert right["wide body"] < 0.4
    assert right["long and wide"] <= right["wide body"]
    assert never["long and wide"] > never["wide body"] > 0.2 > never["any"]
    assert past["wide body"] > 0.6 > 0.02 > short["wide body"]
    # A wide foramen errs to the short side, and a dry canal too.
    assert 0.5 < right["wide foramen"] < 0.75
    assert short["wide foramen"] > 2 * past["wide foramen"]
    assert right["dry"] < right["median"]
    assert short["dry"] > 0.05 > past["dry"]
    # Blood by itself, in a canal not yet widened, does no harm.
    assert right["bleeding"] > 0.95
