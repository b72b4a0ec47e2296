"""Published answers, from general-purpose packages.

Each row holds what was published, its source, how far that was confirmed, and the unit of its last
printed digit. The tolerance is half of that unit; a row with another tolerance says why. The
library's own posterior meets these figures in test_published_fusion.py.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd
import pingouin
import pytest
from hypothesis import given
from hypothesis import strategies as st
from lengthwise.classroom.agreement import (
    cronbach_alpha,
    dahlberg_error,
    discriminations,
    intraclass_correlation,
    kappa,
    limits_of_agreement,
    share_of,
)
from lengthwise.marking.interval_score import interval_score
from matplotlib.figure import Figure
from scipy import stats
from scipy.optimize import fmin
from sklearn.metrics import cohen_kappa_score
from statsmodels.graphics.agreement import mean_diff_plot
from statsmodels.stats.inter_rater import cohens_kappa
from statsmodels.stats.meta_analysis import combine_effects

KACKER = "Kacker 2004, Metrologia 41:132"
GUM = "JCGM 100:2008, example H.1"
FITDISTRPLUS = "R package fitdistrplus, quoted in scipy's tests of interval censoring"
TOY = "toy of three lengths, computed on a grid"
BLAND = "Bland & Altman 1986, Lancet 327:307, peak flow of 17 people with two meters"
SHROUT = "Shrout & Fleiss 1979, Psychol Bull 86:420, six targets and four judges"
KAPPA = "three categories, quoted in the tests of statsmodels"
LSAT = "LSAT section 6, 1 000 examinees, five questions"


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


# Peak flow (l/min) of 17 people: twice with one meter, once with the other.
METER = [494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427]
AGAIN = [490, 397, 512, 401, 470, 611, 415, 431, 638, 429, 420, 633, 275, 492, 165, 372, 421]
OTHER = [512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451]
JUDGES = [[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]]
TWO_RATERS = [[0, 4, 1], [0, 8, 0], [0, 1, 5]]
# How many of 1 000 answered the five questions wrong (0) or right (1) in this pattern.
PATTERNS = [3, 6, 2, 11, 1, 1, 3, 4, 1, 8, 0, 16, 0, 3, 2, 15,
            10, 29, 14, 81, 3, 28, 15, 80, 16, 56, 21, 173, 11, 61, 28, 298]  # fmt: skip
LSAT_POINTS = np.repeat([[int(bit) for bit in f"{n:05b}"] for n in range(32)], PATTERNS, axis=0)


def peak_flow():
    """Two meters: limits of agreement, at two SDs as the paper has them; error from repeats."""
    limits = limits_of_agreement(np.subtract(METER, OTHER), multiplier=2)
    return {
        "mean difference": limits.mean,
        "SD of differences": limits.sd,
        "lower limit of agreement": limits.low,
        "upper limit of agreement": limits.high,
        "Dahlberg error": dahlberg_error(METER + AGAIN, [*range(17), *range(17)]),
    }


def judges():
    """Six intraclass correlations, in the order of the paper."""
    found = intraclass_correlation(JUDGES)
    return {f"ICC {name}": estimate.value for name, estimate in found.items()}


COMPUTED = (
    interval_censored_normal()
    | consensus_mean()
    | end_gauge_budget()
    | robust_fusion()
    | peak_flow()
    | judges()
    | {
        "kappa": cohens_kappa(TWO_RATERS, return_results=False),
        "KR-20": cronbach_alpha(LSAT_POINTS).value,
    }
)

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
    Published("mean difference", "-2.1", BLAND, "seen"),
    Published("SD of differences", "38.8", BLAND, "seen"),
    Published(
        "lower limit of agreement",
        "-79.7",
        BLAND,
        "seen",
        tolerance=0.05 + 2 * 0.05,
        reason="printed from the rounded mean and SD: -2.1 - 2 * 38.8; unrounded it is -79.65",
    ),
    Published(
        "upper limit of agreement",
        "75.5",
        BLAND,
        "seen",
        tolerance=0.05 + 2 * 0.05,
        reason="printed from the rounded mean and SD: -2.1 + 2 * 38.8; unrounded it is 75.41",
    ),
    Published("Dahlberg error", "15.3", BLAND, "seen"),
    Published("ICC ICC(1,1)", ".17", SHROUT, "seen"),
    Published("ICC ICC(A,1)", ".29", SHROUT, "seen"),
    Published("ICC ICC(C,1)", ".71", SHROUT, "seen"),
    Published("ICC ICC(1,k)", ".44", SHROUT, "seen"),
    Published("ICC ICC(A,k)", ".62", SHROUT, "seen"),
    Published("ICC ICC(C,k)", ".91", SHROUT, "seen"),
    Published("kappa", "0.4842", KAPPA, "seen"),
    Published("KR-20", "0.295", LSAT, "seen"),
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


def test_the_limits_of_agreement_are_where_two_packages_draw_them():
    limits = limits_of_agreement(np.subtract(METER, OTHER))
    ours = sorted([limits.mean, limits.low, limits.high])
    axes = Figure().add_subplot()
    # statsmodels divides by n where the paper, pingouin and we divide by n - 1.
    mean_diff_plot(np.array(METER), np.array(OTHER), sd_limit=1.96 * np.sqrt(17 / 16), ax=axes)
    assert sorted(line.get_ydata()[0] for line in axes.lines) == pytest.approx(ours)
    axes = Figure().add_subplot()
    pingouin.plot_blandaltman(np.array(METER), np.array(OTHER), agreement=1.96, ax=axes)
    drawn = {round(float(line.get_ydata()[0]), 6) for line in axes.lines}
    assert {round(value, 6) for value in ours} <= drawn
    bands = sorted(float(patch.get_height()) for patch in axes.patches)
    mean, *two = bands  # the mean is known best
    assert mean == pytest.approx(limits.mean_high - limits.mean_low)
    assert two == pytest.approx([2 * limits.reach, 2 * limits.reach])


def test_the_confidence_of_the_mean_is_that_of_a_t_test():
    differences = np.subtract(METER, OTHER)
    limits = limits_of_agreement(differences)
    expected = stats.ttest_1samp(differences, 0).confidence_interval(0.95)
    assert (limits.mean_low, limits.mean_high) == pytest.approx((expected.low, expected.high))


def test_the_weighted_kappa_of_points_is_that_of_another_package():
    rng = np.random.default_rng(8)
    first = rng.integers(0, 5, 60)
    second = np.clip(first + rng.integers(-1, 2, 60), 0, 4)
    expected = cohen_kappa_score(first, second, weights="quadratic")
    assert kappa(first, second).value == pytest.approx(expected)
    # Points that nobody gave leave a gap: 0, 1 and 4 are not three neighbours.
    few = np.array([0, 1, 4, 4, 0, 1]), np.array([0, 4, 4, 1, 1, 1])
    every_level = cohen_kappa_score(*few, weights="quadratic", labels=[0, 1, 2, 3, 4])
    assert kappa(*few).value == pytest.approx(every_level)
    assert kappa(*few).value != pytest.approx(cohen_kappa_score(*few, weights="quadratic"))


def test_the_kappa_of_right_and_wrong_is_the_plain_one():
    # 20 and 15 of 50 agree, 5 and 10 do not: 0.70 seen, 0.50 by chance, so 0.40.
    first = np.repeat([1, 1, 0, 0], [20, 5, 10, 15])
    second = np.repeat([1, 0, 1, 0], [20, 5, 10, 15])
    assert kappa(first, second).value == pytest.approx(0.4)


def test_kr_20_is_the_formula_of_kuder_and_richardson():
    right = LSAT_POINTS.mean(axis=0)
    k, variance = 5, LSAT_POINTS.sum(axis=1).var(ddof=1)
    share = (right * (1 - right)).sum() * 1000 / 999  # the same divisor as that of the totals
    expected = k / (k - 1) * (1 - share / variance)
    assert cronbach_alpha(LSAT_POINTS).value == pytest.approx(expected)


def test_discrimination_is_the_correlation_with_the_rest():
    found = discriminations(LSAT_POINTS)
    table = pd.DataFrame(LSAT_POINTS)
    for part in range(5):
        rest = table.drop(columns=part).sum(axis=1)
        expected = pingouin.corr(table[part], rest)["r"].iloc[0]
        assert found[part] == pytest.approx(expected)


def test_the_share_of_intervals_has_the_interval_of_wilson():
    for hits, n in ((0, 3), (1, 3), (9, 10), (81, 263)):
        one, expected = share_of(hits, n), stats.binomtest(hits, n).proportion_ci(method="wilson")
        assert (one.low, one.high) == pytest.approx((expected.low, expected.high))


@given(st.floats(-3, 3), st.floats(0.2, 3), st.floats(-0.5, 0.5), st.floats(-0.5, 0.5))
def test_no_interval_is_expected_to_score_better_than_the_true_one(middle, sd, left, right):
    # The score is proper (Gneiting & Raftery 2007): its mean over the truth is least at the
    # 5 % and 95 % points of the truth.
    truth = stats.norm.ppf((np.arange(2000) + 0.5) / 2000, middle, sd)
    low, high = stats.norm.ppf([0.05, 0.95], middle, sd)
    best = interval_score(low, high, truth).mean()
    other = interval_score(low + left * sd, high + right * sd, truth).mean()
    assert best <= other + 1e-3 * sd


def test_pairs_that_are_none_and_intervals_upside_down_are_refused():
    for first, second in (([1, 2], [1]), ([1, 2, 3], [1, 2]), ([[1, 2]], [[1, 2]])):
        with pytest.raises(ValueError, match=r"field second: .* same length"):
            kappa(first, second)
    for probability in (0.0, 1.0, 90):
        with pytest.raises(ValueError, match=r"field probability: .* between 0 and 1"):
            interval_score(24.0, 25.0, 24.5, probability)
    with pytest.raises(ValueError, match=r"field low: got 1 lower ends .* swap them"):
        interval_score([24.0, 25.0], [25.0, 24.0], 24.5)
    assert np.isnan(interval_score(np.nan, 25.0, 24.5))


def test_what_cannot_be_known_is_not_a_number_and_never_an_error():
    assert np.isnan(limits_of_agreement([0.3]).sd)
    assert limits_of_agreement([]).n == 0
    assert np.isnan(dahlberg_error([1.0, 2.0], ["a", "b"]))
    assert np.isnan(share_of(0, 0).value)
    assert np.isnan(kappa([3, 3], [3, 3]).value)
    assert np.isnan(cronbach_alpha([[1.0, 0.0]]).value)
    assert np.isnan(cronbach_alpha([[1.0, 0.0], [0.0, 1.0]]).value)
    assert intraclass_correlation([[1.0, 1.0], [1.0, 1.0], [1.0, 1.0]]) == {}
    assert intraclass_correlation([[1.0, 2.0], [np.nan, 2.0], [3.0, 3.0]]) == {}
    assert np.isnan(discriminations([[1.0, 0.0]])).all()
    assert np.isnan(discriminations([[1.0, 0.0], [1.0, 1.0]])).all()
