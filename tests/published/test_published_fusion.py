"""The library's own likelihoods meet published and hand-made answers.

The figures and their sources are those of test_published_statistics.py; here they come out of the
code that weighs a patient's sources. One millimetre stands for the unit of the publication.
"""

import numpy as np
import pytest
from invented_cases import canal, film
from lengthwise.reconciliation import (
    apex,
    offsets,
    paper_trials,
    reconcile_sources,
    sources_of,
)
from lengthwise.reference import constants as c
from lengthwise.reference.quantity import Quantity
from lengthwise.reference.tables import apex_distance
from scipy.optimize import minimize
from scipy.special import ndtr
from scipy.stats import norm

# Kacker 2004, Metrologia 41:132 (seen)
LABORATORIES = np.array([61.00, 61.40, 62.21, 62.30, 62.34, 62.60, 62.70, 62.84, 65.90])
LABORATORIES_U = np.array([0.45, 1.10, 0.30, 0.45, 0.62, 0.75, 0.26, 0.15, 1.35])
# Toy of three lengths (computed on a grid)
TOY = np.array([20.0, 20.4, 22.1])
TOY_U = np.array([0.30, 0.25, 0.40])
STEP_MM = 0.01


def posterior_of_films(apexes_mm, sds_mm, trust):
    """Mean and SD (mm) by the film likelihood, one source a value, on a flat grid."""
    count = len(apexes_mm)
    table = apex.FilmTable(
        source=np.arange(count),
        apex_mm=apexes_mm,
        doubt_mm=np.zeros(count),
        reader_sd_mm=sds_mm,
        relative_sd=np.zeros(count),
        source_case=np.zeros(count, dtype=int),
        source_trust=np.full(count, trust),
    )
    grid_mm = np.arange(apexes_mm.min() - 8, apexes_mm.max() + 8, STEP_MM)
    return moments(grid_mm, apex.film_log_likelihood(table, grid_mm[None, :])[0])


def moments(grid_mm, log_density):
    weight = np.exp(log_density - log_density.max())
    weight /= weight.sum()
    mean = grid_mm @ weight
    return mean, np.sqrt((grid_mm - mean) ** 2 @ weight)


def test_sources_that_are_believed_fuse_to_the_weighted_mean():
    # 20.585 (computed), three decimals
    mean, _ = posterior_of_films(TOY, TOY_U, 1.0)
    assert mean == pytest.approx(20.585, abs=0.0005)


def test_sources_that_may_be_bad_fuse_to_the_robust_mean(monkeypatch):
    # 20.288 (computed) with one source in ten bad and five times as wide; the library's own
    # widening is another number, put back afterwards.
    five = Quantity(5.0, "1", "toy of three lengths", "computed")
    monkeypatch.setattr(c, "FILM_UNSOUND_WIDENING", five)
    mean, _ = posterior_of_films(TOY, TOY_U, 0.9)
    assert mean == pytest.approx(20.288, abs=0.0005)


def test_nine_laboratories_fuse_to_the_published_consensus():
    # DerSimonian-Laird: the published tau squared joins every variance; mean and standard error
    # are then those printed, to seven decimals.
    tau2 = 0.2880492
    mean, sd = posterior_of_films(LABORATORIES, np.sqrt(LABORATORIES_U**2 + tau2), 1.0)
    assert mean == pytest.approx(62.3901386, abs=5e-7)  # tau squared is printed to 5e-8
    assert sd == pytest.approx(0.2457497, abs=5e-7)


def test_without_tau_the_consensus_is_not_met():
    mean, sd = posterior_of_films(LABORATORIES, LABORATORIES_U, 1.0)
    assert abs(mean - 62.3901386) > 0.1
    assert abs(sd - 0.2457497) > 0.1


def chance_between(low, high, mean, sd):
    """A threshold between two lengths, by the library's dry points: dry at `low`, wet at `high`.

    Both share one placement error, so the chance is that of dry at `low` less dry at `high`.
    """
    table = paper_trials.TrialTable(
        source=np.zeros(2, dtype=int),
        length_mm=np.array([low, high]),
        wet_mm=np.zeros(2),
        contact_s=np.ones(2),
        false_dry=np.zeros(2),
        log_bound=np.zeros(2),
        wet_before=np.zeros(2, dtype=int),
        source_case=np.zeros(1, dtype=int),
        source_trust=np.ones(1),
    )
    dry_low, dry_high = np.exp(paper_trials.log_dry(np.full((2, 1), mean), table, sd)).ravel()
    return dry_low - dry_high


def test_dry_and_wet_points_are_censored_observations():
    # R package fitdistrplus, quoted in scipy's tests (seen): 0.5919990 and 0.2868042. A dry point
    # says "not yet", a wet one "already": intervals in which a normal threshold is hidden.
    intervals = [(0.10, 0.20), (0.50, 0.55), (0.75, 0.90), (0.80, 0.95)]

    def surprise(parameters):
        mean, sd = parameters
        return -sum(np.log(chance_between(*interval, mean, sd)) for interval in intervals)

    best = minimize(
        surprise, (0.5, 0.3), method="Nelder-Mead", options={"xatol": 1e-10, "fatol": 1e-14}
    )
    assert best.x == pytest.approx([0.5919990, 0.2868042], rel=0, abs=5e-8)


def test_what_is_carried_adds_like_an_uncertainty_budget():
    # JCGM 100:2008, H.1 (seen): 25, 9.7, 2.9 and 16.6 nm combine to 32 nm. One hundredth of a
    # millimetre stands for a nanometre. The source is on its own landmark; three independent
    # offsets carry it to the foramen.
    parts_mm = [0.097, 0.029, 0.166]
    taps = [
        offsets.binned(lambda mm, sd=sd: np.asarray(ndtr(mm / sd)), -1.5, 1.5, 0.01)
        for sd in parts_mm
    ]
    grid_mm = np.arange(-8.0, 8.0 + STEP_MM / 2, STEP_MM)
    log_density = norm.logpdf(grid_mm, 0, 0.25)[None, :]
    for each in taps:
        log_density = offsets.carry(log_density, each, STEP_MM)
        grid_mm = grid_mm[150:-150]
    mean, sd = moments(grid_mm, log_density[0])
    assert mean == pytest.approx(0, abs=0.0005)
    assert sd == pytest.approx(0.32, abs=0.005)
    assert sd == pytest.approx(np.sqrt(0.25**2 + sum(p**2 for p in parts_mm)), rel=0.002)


def test_two_films_alone_are_worked_out_by_hand():
    """Nothing but two films, not even the average: a mixture of two normals, moved by δ_a."""
    case = canal(
        "13",
        "single",
        film(25.0, 1.0, "paralleling"),
        film(25.0, 1.2, "paralleling"),
    )
    magnification, share = c.MAGNIFICATION_PARALLELING.value, c.FILM_BIAS_BELIEVED.value
    # There or not: a coin that falls on "there" with this share, in mean and spread.
    bias = share * c.FILM_BIAS_PARALLELING_MM.value
    doubt = c.FILM_BIAS_PARALLELING_MM.value * np.sqrt(share * (1 - share))
    reader = np.hypot(c.FILM_READER_SD_PARALLELING_MM.value, doubt)
    wide = c.FILM_UNSOUND_WIDENING.value
    apart, trust = 0.2 / magnification, c.FILM_TRUST.value
    sound = trust * norm.pdf(apart, 0, reader * np.sqrt(2))
    misread = (1 - trust) * norm.pdf(apart, 0, wide * reader * np.sqrt(2))
    believed = sound / (sound + misread)
    variance = reader**2 / 2 * (believed + (1 - believed) * wide**2)
    below = apex_distance("13")
    (result,) = reconcile_sources(case, [sources_of(case)[1:]])
    expected = 25.0 + 1.1 / magnification - bias - below.mean_mm
    # The library cuts δ_a off at 3 mm, and puts it on taps of 0.1 mm.
    assert result.foramen_mm == pytest.approx(expected, abs=0.003)
    assert result.foramen_sd_mm == pytest.approx(np.sqrt(variance + below.sd_mm**2), rel=0.01)
