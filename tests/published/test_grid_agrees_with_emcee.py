"""The grid's posterior against samplers of the same model, written a second time.

`plain_model` holds every latent of the canal as a continuous number. `emcee` samples it until the
Monte Carlo error of the mean (from the integrated autocorrelation time) is small enough to tell;
evenly spread draws (Sobol), weighed by their likelihood, give a second and finer answer.
"""

from dataclasses import dataclass

import emcee
import numpy as np
import pytest
from invented_cases import CASES, TWENTY, canal, point
from lengthwise import reconcile
from lengthwise.reference import constants as c
from lengthwise.reference import readings
from lengthwise.reference.quantity import Quantity
from plain_model import Model, latents_at, log_delayed, one_trial, washburn
from scipy import integrate, stats

WALKERS = 512  # many and few steps: what the model costs hardly hangs on how many are asked
FORGOTTEN = 700
BLOCK = 250
MOST_BLOCKS = 6
LONG = 25  # autocorrelation times, below which a time so estimated is too short
ERROR_MM = 0.01
"""Monte Carlo error of the mean at which a sampler stops, where its SD is 0.5 mm or less; in
proportion where it is more."""

STANDARD_ERRORS = 3.5
GRID_MM = 0.01
"""The grid may be off by this, and the sampler by so many of its own standard errors."""


def jumps_along(latents):
    """Symmetric jumps of the foramen, near and far, that take single latents along.

    The posterior has islands (a source believed or not); the ensemble's own moves seldom cross
    between them, and a sampler that does not cross reports an error that is too small.
    """
    directions = [np.eye(1 + len(latents))[0]]
    for name, unit_mm in (
        ("apex", 1.0),
        ("between", c.PAPER_BETWEEN_CANALS_SD_MM.value),
        ("reading", readings.BETWEEN_CANALS_SD_MM.value),
    ):
        if name in latents:  # the foramen moves and this source's landmark stays
            directions.append(directions[0].copy())
            directions[-1][1 + latents.index(name)] = -1 / unit_mm
    directions = np.array(directions)

    def jump(coordinates, rng):
        count = len(coordinates)
        near = rng.random_sample(count) < 0.5
        scale_mm = np.where(near, 10 ** rng.uniform(-1, 0.5, count), 12.0)
        along = directions[rng.randint(0, len(directions), count)]
        step = (rng.standard_normal(count) * scale_mm)[:, None]
        return coordinates + step * along, np.zeros(count)

    return jump


@dataclass(frozen=True)
class Sampled:
    """Mean and SD (mm) of the foramen by a sampler, each with its own Monte Carlo error (mm)."""

    mean_mm: float
    sd_mm: float
    error_mm: float
    sd_error_mm: float


def monte_carlo_error(chain):
    """Standard error of the mean of a chain (steps, walkers), and its autocorrelation time."""
    steps = emcee.autocorr.integrated_time(chain[:, :, None], tol=0)[0]
    return chain.std() / np.sqrt(chain.size / steps), steps


def sampled(case, rng):
    """The foramen by emcee."""
    model = Model(case)
    start = rng.normal(0, 0.5, (WALKERS, 1 + len(model.latents)))
    # From wherever such teeth end, so that agreement is not brought along; from further away,
    # walkers stay for long where one case in thousands belongs.
    start[:, 0] = model.shortest + model.width * rng.beta(model.a, model.b, WALKERS)
    for name in ("apex", "slope", "pool"):  # in one order, so that a seed is a seed
        if name in model.latents:
            start[:, 1 + model.latents.index(name)] = rng.uniform(0.1, 1.0, WALKERS)
    if model.lost:
        start[:, 1 + model.latents.index("lost")] = rng.uniform(*model.lost, WALKERS)
    moves = [(emcee.moves.DEMove(), 0.5), (emcee.moves.MHMove(jumps_along(model.latents)), 0.5)]
    sampler = emcee.EnsembleSampler(WALKERS, start.shape[1], model, vectorize=True, moves=moves)
    sampler.random_state = np.random.RandomState(rng.integers(2**31)).get_state()
    state = sampler.run_mcmc(start, FORGOTTEN)  # the walkers find their way
    sampler.reset()
    for _ in range(MOST_BLOCKS):
        state = sampler.run_mcmc(state, BLOCK)
        chain = sampler.get_chain()[:, :, 0]
        error_mm, steps = monte_carlo_error(chain)
        if len(chain) > LONG * steps and error_mm < ERROR_MM * chain.std() / 0.5:
            break
    # The SD comes from squares, which wander for longer than the values where there are two peaks.
    squares_error, _ = monte_carlo_error((chain - chain.mean()) ** 2)
    return Sampled(chain.mean(), chain.std(), error_mm, squares_error / (2 * chain.std()))


def complaints(result, by_emcee):
    """What speaks against a result by the grid, in sentences; empty if nothing."""
    off = abs(result.foramen_mm - by_emcee.mean_mm)
    apart = abs(result.foramen_sd_mm / by_emcee.sd_mm - 1)
    apart_by_chance = STANDARD_ERRORS * by_emcee.sd_error_mm / by_emcee.sd_mm
    told = {
        f"mean off by {off:.3f} mm": off > GRID_MM + STANDARD_ERRORS * by_emcee.error_mm,
        f"SD off by {apart:.1%}": apart > 0.02 + apart_by_chance,
    }
    return [sentence for sentence, wrong in told.items() if wrong]


def weighed(case, log2_draws=16, repeats=4):
    """Mean, SD and the mean's standard error (mm), by evenly spread draws from the prior."""
    model, (low, high) = Model(case), reconcile(case).interval_mm(1 - 1e-7)
    low, high = low - 0.3, high + 0.3  # only the range is taken from the library
    found = []
    for seed in range(repeats):
        points = stats.qmc.Sobol(1 + len(model.latents), seed=seed).random_base2(log2_draws)
        points = np.clip(points, 1e-12, 1 - 1e-12)
        foramen = low + (high - low) * points[:, 0]
        at = latents_at(model, points[:, 1:])
        theta = np.column_stack([foramen, *(at[name] for name in model.latents)])
        with np.errstate(all="ignore"):
            log_weight = model(theta) - model.log_prior(at)
        weight = np.exp(log_weight - log_weight.max())
        weight /= weight.sum()
        mean = foramen @ weight
        found.append((mean, np.sqrt((foramen - mean) ** 2 @ weight)))
    means, sds = np.array(found).T
    return means.mean(), sds.mean(), means.std(ddof=1) / np.sqrt(repeats)


@pytest.mark.slow
@pytest.mark.parametrize("name", TWENTY)
def test_the_grid_agrees_with_emcee(name):
    by_emcee = sampled(TWENTY[name], np.random.default_rng(20))
    assert by_emcee.error_mm <= 2 * ERROR_MM * max(by_emcee.sd_mm, 0.5)
    assert complaints(reconcile(TWENTY[name]), by_emcee) == []


@pytest.mark.slow
@pytest.mark.parametrize(
    ("name", "changed"),
    [
        ("a reading alone", {"foramen_signal_mm": 22.3}),
        ("a dry point and a wet one", {"length_mm": 25.25}),
        ("a radiograph with a file", {"technique": "bisecting"}),
    ],
)
def test_emcee_notices_a_grid_that_was_given_another_record(name, changed):
    case = TWENTY[name]
    other = case.records[0].model_copy(update=changed)
    result = reconcile(case.model_copy(update={"records": (other, *case.records[1:])}))
    assert complaints(result, sampled(case, np.random.default_rng(20)))


@pytest.mark.parametrize("name", CASES)
def test_the_grid_agrees_with_weighed_draws(name):
    # Tighter than what emcee can tell: the grid's own error is a few thousandths of a millimetre.
    mean, sd, error = weighed(CASES[name])
    result = reconcile(CASES[name])
    assert error < 0.005
    assert result.foramen_mm == pytest.approx(mean, abs=0.015)
    assert result.foramen_sd_mm == pytest.approx(sd, rel=0.03)


@pytest.mark.parametrize(
    ("home", "forgotten", "value", "case"),
    [
        # Repeats in one canal share an offset; a model without it claims too much.
        (c, "PAPER_BETWEEN_CANALS_SD_MM", 0.01, "wet points again and again"),
        (readings, "BETWEEN_CANALS_SD_MM", 0.01, "wet points again and again"),
        # A model that believes every film without reserve is drawn to the odd one out.
        (c, "FILM_TRUST", 0.9999, "sources in conflict"),
        # All films have the bias or none has; a model that is sure of it claims too much.
        (c, "FILM_BIAS_BELIEVED", 0.0, "films again and again"),
        (c, "SHORTENING_SHAPING_MM", 0.0, "three stages"),
    ],
)
def test_a_model_that_differs_is_noticed(monkeypatch, home, forgotten, value, case):
    result = reconcile(CASES[case])
    expected = result.foramen_mm, result.foramen_sd_mm
    monkeypatch.setattr(home, forgotten, Quantity(value, "mm", "wrong on purpose", "computed"))
    mean, sd, _ = weighed(CASES[case])
    assert abs(mean - expected[0]) > 0.03 or abs(sd / expected[1] - 1) > 0.05


@pytest.mark.parametrize(("length_mm", "wet_mm"), [(25.0, 0.3), (25.0, 0.9), (25.6, 1.0)])
def test_the_joint_density_of_a_wet_trial_is_the_integral_it_stands_for(length_mm, wet_mm):
    """∫₀^∞ N(o; past, sd) N(mark - wicked; o, mark_sd) do, by adaptive quadrature."""
    record = canal("13", "single", point(length_mm, wet_mm, 2.0, ran_freely=True)).records[0]
    sd, meets, k = 0.2, 25.1, 0.3
    wicked, per_log_time = washburn(2.0, k)
    mark_sd = np.hypot(c.MARK_READING_SD_MM.value, per_log_time * c.CONTACT_TIME_RELATIVE_SD.value)
    integral, _ = integrate.quad(
        lambda o: (
            stats.norm.pdf(o, length_mm - meets, sd) * stats.norm.pdf(wet_mm - wicked, o, mark_sd)
        ),
        0,
        5,
        points=[0.1, 0.5, 1.0],
    )
    expected = np.log((1 - c.FALSE_DRY_RAN_FREELY.value) * integral)
    assert one_trial(record, meets, sd, 0.0, k, washburn) == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize("lateness", [-0.2, 0.1, 0.8, 3.0])
def test_a_delayed_signal_is_the_convolution_it_stands_for(lateness):
    integral, _ = integrate.quad(
        lambda early: stats.norm.pdf(lateness - early, 0, 0.2) * stats.expon.pdf(early, 0, 1.2),
        0,
        20,
        points=[max(lateness, 0.0)],
    )
    assert log_delayed(lateness, 0.2, 1.2) == pytest.approx(np.log(integral), abs=1e-6)
