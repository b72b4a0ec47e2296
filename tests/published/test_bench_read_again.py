"""A reading that is taken again after something was put right, on the bench: the good one counts.

Two readings of one canal by one meter, each in circumstances of its own (flooded, dry, short
circuit, low battery ...), as draws of the bench. Most people read again because of what they saw.
"""

import numpy as np
import pytest
from bench_patients import draw_canals, draw_conditions, draw_meters, draw_traces
from coverage_promised import held
from lengthwise.bench.meter_conditions import as_written_down
from lengthwise.evidence import Evidence
from lengthwise.reconciliation import sources_of
from lengthwise.reconciliation.families import canal_of
from lengthwise.reconciliation.posterior import foramen_posteriors
from lengthwise.reconciliation.trace_quality import assess_trace

pytestmark = pytest.mark.slow

TEETH, CANALS, SEED = (("13", "single"), ("44", "single"), ("36", "D"), ("11", "single")), 110, 12
BAD, GOOD = 0.5, 0.7


@pytest.fixture(scope="module")
def pairs():
    """Per canal: the tooth, two readings whose signal came, and the true foramen (mm)."""
    rng = np.random.default_rng(SEED)
    found = []
    for tooth, canal in TEETH:
        canals = draw_canals(tooth, CANALS, rng, canal=canal)
        meter, size = draw_meters(CANALS, rng), rng.choice([10, 15], CANALS)
        readings = []
        for _ in range(2):
            conditions = draw_conditions(CANALS, rng)
            liquid = as_written_down(conditions, canals.foramen_mm - canals.cej_mm)
            traces = draw_traces(canals, rng, conditions=conditions, file_size=size, meter=meter)
            readings.append([traces.record(i, liquid_in_canal=liquid[i]) for i in range(CANALS)])
        found += [
            (tooth, canal, two, canals.foramen_mm[i])
            for i, two in enumerate(zip(*readings, strict=True))
            if all(assess_trace(reading).signal_mm is not None for reading in two)
        ]
    return found


def judged(pairs, records):
    """Log-density (nats) at the truth, error (mm) and rank, by some of the two records."""
    cases = [
        Evidence(tooth=tooth, canal=canal, reference_point="cusp tip", evidence=two[records])
        for tooth, canal, two, _ in pairs
    ]
    posteriors = foramen_posteriors([canal_of(case, sources_of(case)) for case in cases])
    both = list(zip(posteriors, [truth for *_, truth in pairs], strict=True))
    density = [max(np.interp(f, p.grid_mm, p.density_per_mm), 1e-9) for p, f in both]
    error = np.array([p.mean_mm - f for p, f in both])
    return np.log(density), error, np.array([p.probability_past(f) for p, f in both])


def rms(values):
    return np.sqrt(np.mean(np.square(values)))


FIRST, SECOND, BOTH = slice(0, 1), slice(1, 2), slice(0, 2)


def test_two_readings_of_their_own_tell_more_than_either_and_hold_about_nine_in_ten(pairs):
    assert len(pairs) > 200
    first, second, both = (judged(pairs, records) for records in (FIRST, SECOND, BOTH))
    for single in (first, second):
        gain = both[0] - single[0]
        assert gain.mean() > 2 * gain.std() / len(gain) ** 0.5
        assert rms(both[1]) < 0.8 * rms(single[1])
    assert 0.86 <= held(both[2]) <= 0.97


@pytest.mark.parametrize("order", [1, -1], ids=["bad first", "good first"])
def test_a_good_trace_beside_a_bad_one_is_as_good_as_alone_and_its_interval_holds(pairs, order):
    mixed = []
    for tooth, canal, two, truth in pairs:
        bad, good = sorted(two, key=lambda reading: assess_trace(reading).usable)
        if assess_trace(bad).usable < BAD and assess_trace(good).usable > GOOD:
            mixed.append((tooth, canal, (bad, good)[::order], truth))
    assert len(mixed) > 30
    alone = judged(mixed, SECOND if order == 1 else FIRST)
    both, bad = judged(mixed, BOTH), judged(mixed, FIRST if order == 1 else SECOND)
    assert rms(both[1]) <= 1.1 * rms(alone[1]) < 0.7 * rms(bad[1])
    assert held(both[2]) >= 0.86
