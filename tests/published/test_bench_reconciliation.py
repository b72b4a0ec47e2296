"""Reconciling many cases, and the grid against a sampler: ratios in one run, never seconds.

All in processor time, so that these run beside other tests.
"""

import sys
import time

import emcee
import numpy as np
import pytest
from invented_cases import CASES
from lengthwise import reconcile, reconcile_many
from lengthwise.evidence import Context
from lengthwise.reconciliation.plan import Plan, Step
from lengthwise.reconciliation.sampler import draw_case
from plain_model import Model
from test_grid_agrees_with_emcee import jumps_along, weighed

BATCH = 10_000
ALONE = 200
EMCEE_GOAL = 1_000.0
EMCEE_FLOOR = 500.0
"""Half of the goal leaves room for noise. Seen: 840 twice, then 1 250 once offsets were carried by
one sum over a view, a trace was judged once, and what a source says worked out once."""
BATCH_GOAL = 1.2
"""A single case works on whole arrays already; a batch saves what a case costs around them. Seen:
1.4 to 1.8. emcee, seen: 1 400 to 12 000 a case, so that the sum of both has room for noise."""

WALKERS, STEPS = 96, 2_000

PLANS = (
    Plan("13", "single", (Step("preoperative_film"), Step("electronic_reading", repeats=2))),
    Plan(
        "21",
        "single",
        (Step("working_film", technique="paralleling"), Step("point_trial", repeats=2)),
        Context(crown="intact"),
    ),
    Plan("35", "single", (Step("preoperative_film"), Step("tactile_stop"))),
    Plan(
        "16",
        "P",
        (
            Step("working_film", technique="bisecting"),
            Step("electronic_reading"),
            Step("point_trial", repeats=1, run_recorded=True),
        ),
        Context(crown="intact"),
    ),
)


def table(title, rows):
    """A table that `pytest -s` shows, and that a failure shows."""
    width = max(len(name) for name, _ in rows)
    lines = [title, *(f"  {name:<{width}}  {value}" for name, value in rows)]
    sys.stdout.write("\n" + "\n".join(lines) + "\n")


def seconds(work):
    """Processor time, all threads together: what else the machine does is left out."""
    begin = time.process_time()
    result = work()
    return time.process_time() - begin, result


@pytest.mark.slow
def test_a_batch_costs_less_than_its_cases_one_by_one():
    rng = np.random.default_rng(20)
    cases = [draw_case(PLANS[i % len(PLANS)], rng)[0] for i in range(BATCH)]
    reconcile_many(cases[:8])  # tables are read and offsets made once, before the clock runs
    together, results = seconds(lambda: reconcile_many(cases))
    alone, _ = seconds(lambda: [reconcile(case) for case in cases[:ALONE]])
    ratio = (alone / ALONE) / (together / BATCH)
    table(
        "A batch against one by one",
        [
            ("cases in the batch", BATCH),
            ("cases one by one", ALONE),
            ("times as fast", f"{ratio:.1f} (goal {BATCH_GOAL:g})"),
        ],
    )
    assert len(results) == BATCH
    assert all(result.foramen_sd_mm > 0 for result in results)
    assert ratio >= BATCH_GOAL


def emcee_seconds(case, error_mm):
    """Time in which emcee gets the mean to `error_mm`, from a shorter run of it.

    The Monte Carlo error falls with the root of the number of steps; finding its way first is
    not counted, which favours emcee.
    """
    model = Model(case)
    rng = np.random.default_rng(20)
    start = rng.uniform(0.1, 1.0, (WALKERS, 1 + len(model.latents)))
    start[:, 0] = rng.normal(reconcile(case).foramen_mm, 0.3, WALKERS)
    moves = [(emcee.moves.DEMove(), 0.5), (emcee.moves.MHMove(jumps_along(model.latents)), 0.5)]
    sampler = emcee.EnsembleSampler(WALKERS, start.shape[1], model, vectorize=True, moves=moves)
    sampler.random_state = np.random.RandomState(20).get_state()
    state = sampler.run_mcmc(start, STEPS // 2)
    sampler.reset()
    taken, _ = seconds(lambda: sampler.run_mcmc(state, STEPS))
    chain = sampler.get_chain()[:, :, 0]
    steps = emcee.autocorr.integrated_time(chain[:, :, None], quiet=True)[0]
    reached_mm = chain.std() * np.sqrt(steps / chain.size)
    return taken * (reached_mm / error_mm) ** 2


@pytest.mark.slow
def test_the_grid_is_hundreds_of_times_faster_than_emcee_at_equal_error():
    """The grid's error is its distance from a much finer answer, plus twice that one's error."""
    rows, emcee_s, grid_s = [], [], []
    for name in ("all five kinds", "wet points again and again"):
        case = CASES[name]
        exact_mm, _, uncertainty_mm = weighed(case, log2_draws=18, repeats=8)
        reconcile(case)
        taken, results = seconds(lambda case=case: [reconcile(case) for _ in range(20)])
        error_mm = abs(results[0].foramen_mm - exact_mm) + 2 * uncertainty_mm
        grid_s.append(taken / len(results))
        emcee_s.append(emcee_seconds(case, error_mm))
        ratio = emcee_s[-1] / grid_s[-1]
        rows.append((f"{name} (error {error_mm:.4f} mm)", f"{ratio:.0f}"))
    ratio = sum(emcee_s) / sum(grid_s)
    rows.append(("both", f"{ratio:.0f} (goal {EMCEE_GOAL:g})"))
    table("The grid against emcee: times as fast", rows)
    assert ratio >= EMCEE_FLOOR
