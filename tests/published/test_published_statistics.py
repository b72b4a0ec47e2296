"""Published answers, from general-purpose packages.

Each row holds what was published, its source, how far that was confirmed, and the unit of its last
printed digit. The tolerance is half of that unit; a row with another tolerance says why. The
library's own posterior meets these figures in test_published_fusion.py.
"""

from dataclasses import dataclass

import numpy as np
import pytest
from scipy import stats
from scipy.optimize import fmin
from statsmodels.stats.meta_analysis import combine_effects

KACKER = "Kacker 2004, Metrologia 41:132"
GUM = "JCGM 100:2008, example H.1"
FITDISTRPLUS = "R package fitdistrplus, quoted in scipy's tests of interval censoring"
TOY = "toy of three lengths, computed on a grid"


@dataclass(frozen=True)
class Published:
    """One printed figure; tolerance half a unit of its last digit, else there is a reason."""

    name: str
    printed: str
    source: str
    status: str
    tolerance: float | None = None
    reason: str = ""

    @property
    def value(self):
        return float(self.printed)

    @property
    def half_unit(self):
        decimals = len(self.printed.partition(".")[2])
        return self.tolerance or 0.5 * 10.0**-decimals


def interval_censored_normal():
    """Mean and SD that are most likely for four intervals, one value hidden in each."""
    intervals = stats.CensoredData(
        interval=[[0.10, 0.20], [0.50, 0.55], [0.75, 0.90], [0.80, 0.95]]
    )

    def to_the_last_digit(function, start, args, disp):
        return fmin(function, start, args=args, disp=disp, xtol=1e-12, ftol=1e-12)

    mean, sd = stats.norm.fit(intervals, optimizer=to_the_last_digit)
    return {"censored mean": mean, "censored sd": sd}


KACKER_X = np.array([61.00, 61.40, 62.21, 62.30, 62.34, 62.60, 62.70, 62.84, 65.90])
KACKER_U = np.array([0.45, 1.10, 0.30, 0.45, 0.62, 0.75, 0.26, 0.15, 1.35])
TOY_X = np.array([20.0, 20.4, 22.1])
TOY_U = np.array([0.30, 0.25, 0.40])


def consensus_mean():
    """Nine laboratories: fixed effect and DerSimonian-Laird."""
    pooled = combine_effects(KACKER_X, KACKER_U**2, method_re="chi2")
    return {
        "DerSimonian-Laird between-laboratory variance": pooled.tau2,
        "DerSimonian-Laird mean": pooled.mean_effect_re,
        "DerSimonian-Laird standard error": pooled.sd_eff_w_re,
        "heterogeneity Q": pooled.q,
    }


def end_gauge_budget():
    """Length of an end gauge at 20 degrees C, in nm, from its budget of uncertainties."""
    standard_nm, theta_k, alpha_per_k = 50_000_623.0, -0.1, 11.5e-6
    # name: (standard uncertainty in nm after its sensitivity, degrees of freedom)
    observed = np.array([[5.8, 24], [3.9, 5], [6.7, 8]])
    u_difference = np.sqrt((observed[:, 0] ** 2).sum())
    freedom_difference = u_difference**4 / (observed[:, 0] ** 4 / observed[:, 1]).sum()
    u_expansion = standard_nm * abs(theta_k) * 1e-6 / np.sqrt(3)
    u_temperature = standard_nm * alpha_per_k * 0.05 / np.sqrt(3)
    parts = np.array([25.0, u_difference, u_expansion, u_temperature])
    freedom = np.array([18, freedom_difference, 50, 2])
    combined = np.sqrt((parts**2).sum())
    effective = np.floor(combined**4 / (parts**4 / freedom).sum())
    return {
        "end gauge length": standard_nm + 215,
        "difference of gauges": u_difference,
        "difference of expansion": u_expansion,
        "difference of temperature": u_temperature,
        "combined uncertainty": combined,
        "effective degrees of freedom": effective,
        "expanded uncertainty": stats.t.ppf(0.995, effective) * combined,
    }


def robust_fusion():
    """Three lengths, one of them off: weighted mean, good-and-bad mixture, DerSimonian-Laird."""
    pooled = combine_effects(TOY_X, TOY_U**2, method_re="chi2")
    grid = np.arange(15.0, 27.0, 0.001)
    good = stats.norm.pdf(TOY_X[:, None], grid, TOY_U[:, None])
    bad = stats.norm.pdf(TOY_X[:, None], grid, 5 * TOY_U[:, None])
    posterior = (0.9 * good + 0.1 * bad).prod(axis=0)
    return {
        "toy weighted mean": pooled.mean_effect_fe,
        "toy good-and-bad mixture": (grid * posterior).sum() / posterior.sum(),
        "toy DerSimonian-Laird": pooled.mean_effect_re,
    }


COMPUTED = interval_censored_normal() | consensus_mean() | end_gauge_budget() | robust_fusion()

PUBLISHED = [
    Published("censored mean", "0.5919990", FITDISTRPLUS, "seen"),
    Published("censored sd", "0.2868042", FITDISTRPLUS, "seen"),
    Published("DerSimonian-Laird between-laboratory variance", "0.2880492", KACKER, "seen"),
    Published("DerSimonian-Laird mean", "62.3901386", KACKER, "seen"),
    Published("DerSimonian-Laird standard error", "0.2457497", KACKER, "seen"),
    Published("heterogeneity Q", "24.8018977", KACKER, "seen"),
    Published("end gauge length", "50000838", GUM, "seen"),
    Published("difference of gauges", "9.7", GUM, "seen"),
    Published("difference of expansion", "2.9", GUM, "seen"),
    Published("difference of temperature", "16.6", GUM, "seen"),
    Published("combined uncertainty", "32", GUM, "seen"),
    Published("effective degrees of freedom", "16", GUM, "seen"),
    Published(
        "expanded uncertainty",
        "93",
        GUM,
        "seen",
        tolerance=0.5 + 2.92 * 0.5,
        reason="printed as 2.92 times the already rounded 32 nm; unrounded it is 92.5",
    ),
    Published("toy weighted mean", "20.585", TOY, "computed"),
    Published("toy good-and-bad mixture", "20.288", TOY, "computed"),
    Published("toy DerSimonian-Laird", "20.798", TOY, "computed"),
]


@pytest.mark.parametrize("published", PUBLISHED, ids=lambda published: published.name)
def test_a_published_figure_is_met_to_its_last_digit(published):
    assert COMPUTED[published.name] == pytest.approx(
        published.value, rel=0, abs=published.half_unit
    ), published


def test_no_figure_from_memory_is_used_as_a_check():
    assert {published.status for published in PUBLISHED} <= {"seen", "second-hand", "computed"}


def test_a_tolerance_of_its_own_has_a_reason():
    for published in PUBLISHED:
        assert (published.tolerance is None) == (published.reason == ""), published.name


def test_another_estimator_misses_the_published_figures():
    # Paule-Mandel is as respectable as DerSimonian-Laird, and must not pass for it.
    other = combine_effects(KACKER_X, KACKER_U**2, method_re="iterated")
    figures = {published.name: published for published in PUBLISHED}
    for name, value in (
        ("DerSimonian-Laird between-laboratory variance", other.tau2),
        ("DerSimonian-Laird mean", other.mean_effect_re),
        ("DerSimonian-Laird standard error", other.sd_eff_w_re),
    ):
        assert abs(value - figures[name].value) > figures[name].half_unit, name


def test_the_printed_expanded_uncertainty_follows_from_the_printed_factors():
    # JCGM 100:2008, H.1: t99(16) is 2.92, and 2.92 times 32 nm is 93 nm.
    assert stats.t.ppf(0.995, 16) == pytest.approx(2.92, abs=0.005)
    assert round(2.92 * 32) == 93
