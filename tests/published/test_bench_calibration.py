"""The library's answers to 5 000 patients of the bench: coverage, cost, and what is done today.

The bench shares no likelihood with the library: radiographs are projections, readings come out of
a leaky line, points out of wicking in canals with a state. Where it differs from what the library
reckons with, and what that costs, is said by name below.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import pytest
from bench_oracle import crps_mm, features, slice_of, taught, taught_by_others, with_factor
from bench_patients import KINDS, Patients, draw_patients
from coverage_promised import LEAST_IN_A_BIN, held, misses
from lengthwise import reconcile_many
from lengthwise.reconciliation.apex import film_bias_mm, film_scale
from todays_methods import foramina_mm, set_length_mm

pytestmark = pytest.mark.slow

PATIENTS, SEED = 5_000, 91
TRUSTS = (0.0, 0.3, 0.5, 0.7, 0.8, 0.9, 1.0)


@dataclass(frozen=True)
class Judged:
    """Patients, what the library says of them, and how that compares with the truth."""

    patients: Patients
    results: list
    rank: np.ndarray  # probability coronal of the true foramen
    log_score: np.ndarray  # log of the density (1/mm) there
    length_mm: np.ndarray  # of least expected loss
    trust: np.ndarray  # of the reading, before the other sources are looked at; NaN without one

    @property
    def foramen_mm(self):
        return np.array([r.foramen_mm for r in self.results])


def judge(patients):
    results = reconcile_many(patients.evidence)
    pairs = list(zip(results, patients.foramen_mm, strict=True))
    trusts = [[s.trust for s in r.used if s.kind == "electronic_reading"] for r in results]
    return Judged(
        patients,
        results,
        np.array([r.probability_past(f) for r, f in pairs]),
        np.log([max(np.interp(f, r.grid_mm, r.density_per_mm), 1e-9) for r, f in pairs]),
        np.array([r.best_length_mm for r in results]),
        np.array([max(trust, default=np.nan) for trust in trusts]),
    )


@pytest.fixture(scope="module")
def judged():
    return judge(draw_patients(PATIENTS, np.random.default_rng(SEED)))


# --- coverage -------------------------------------------------------------------------------------
def visible_bins(judged):
    """Everything that can be seen of a patient, as flags by name."""
    spoke = [len({source.kind for source in r.used}) - 1 for r in judged.results]
    seen = judged.patients.visible | {"sources": np.array(spoke)}
    bins = {
        f"{name}: {value}": seen[name] == value
        for name in seen
        if name not in KINDS
        for value in np.unique(seen[name])
    }
    bins |= {f"with {kind}": seen[kind] for kind in KINDS}
    for kind in KINDS:
        for name in ("sources", "stages", "crown", "technique before", "technique with file"):
            for value in np.unique(seen[name]):
                bins[f"{kind}, {name} {value}"] = seen[kind] & (seen[name] == value)
    for low, high in pairwise(TRUSTS):
        mine = (judged.trust >= low) & (judged.trust < high)
        bins[f"trust in the reading {low:g} to {high:g}"] = mine
        for value in np.unique(seen["sources"]):
            name = f"trust in the reading {low:g} to {high:g}, sources {value}"
            bins[name] = mine & (seen["sources"] == value)
    return bins


def test_intervals_cover_in_every_visible_bin(judged):
    bins = visible_bins(judged)
    large = [name for name, rows in bins.items() if rows.sum() >= LEAST_IN_A_BIN]
    assert len(large) > 100
    assert misses(judged.rank, bins) == {}


def test_intervals_cover_overall(judged):
    assert held(judged.rank) == pytest.approx(0.905, abs=0.015)


def test_an_interval_two_thirds_as_wide_is_noticed_in_most_bins(judged):
    """The check can fail: the truth moved away from the middle, as from a narrower posterior."""
    truth, middle = judged.patients.foramen_mm, judged.foramen_mm
    moved = [
        r.probability_past(m + 1.5 * (f - m))
        for r, m, f in zip(judged.results, middle, truth, strict=True)
    ]
    bins = visible_bins(judged)
    assert len(misses(np.array(moved), bins)) > 0.8 * sum(
        rows.sum() >= LEAST_IN_A_BIN for rows in bins.values()
    )


# --- what differs, and what it costs --------------------------------------------------------------
def with_records(case, changed):
    return case.model_copy(update={"records": tuple(changed(r) for r in case.records)})


def films_biased(times):
    """Radiographs whose file looks too long by this many times what the library believes."""

    def changed(record):
        if record.kind != "working_film":
            return record
        more = times * film_bias_mm(record.technique)[0] * film_scale(record.technique)[1]
        gap, tooth = record.tip_short_of_radiographic_apex_mm, record.film_tooth_length_mm
        return record.model_copy(
            update={
                "tip_short_of_radiographic_apex_mm": gap + more,
                "film_tooth_length_mm": tooth + more,
            }
        )

    return lambda case, _: with_records(case, changed)


def stages_written_down(case, _):
    """When nothing was noted, radiograph and stop came first and the rest after shaping."""
    first = ("preoperative_film", "tactile_stop")
    return with_records(
        case,
        lambda r: r.model_copy(
            update={"stage": "before_flare" if r.kind in first else "after_shaping"}
        ),
    )


def crown_described(case, looks):
    context = case.context.model_copy(update={"crown": str(looks)})
    return case.model_copy(update={"context": context})


def signals_earlier(case, _):
    """Readings as they come in the canal that grew."""

    def changed(record):
        if record.kind != "electronic_reading":
            return record
        if record.depth_mm is None:
            at = record.foramen_signal_mm - LATER_IF_SHAPED_MM
            return record.model_copy(update={"foramen_signal_mm": at})
        depths = tuple(depth - LATER_IF_SHAPED_MM for depth in record.depth_mm)
        return record.model_copy(update={"depth_mm": depths})

    return with_records(case, changed)


LATER_IF_SHAPED_MM = 0.15
"""By how much signals come later in a canal once it is shaped; the library has one figure for both
(`readings.LATE_MM`)."""

# Coverage with the difference and without it. What each costs was met as 0.011 +- 0.003, 0.015 +-
# 0.008, -0.020 +- 0.018, 0.035 +- 0.011, 0.005 +- 0.005 and 0.023 +- 0.010 nats a patient, with one
# paired standard error: too little beside it for a table, so a bound to both sides is held. A score
# that is much better with the difference than without it would be as wrong as one much worse.
DIFFERENCES = {
    "radiographs of the bench have none of the published bias, a fifth is believed": (
        lambda seen: seen["working_film"], films_biased(1.0), 0.928, 0.930),
    "radiographs have half of it": (
        lambda seen: seen["working_film"], films_biased(2.5), 0.928, 0.932),
    "radiographs have all of it": (
        lambda seen: seen["working_film"], films_biased(5.0), 0.928, 0.912),
    "stages are not written down": (
        lambda seen: seen["stages"] == "none", stages_written_down, 0.898, 0.905),
    "the crown is not described": (
        lambda seen: seen["crown"] == "None", crown_described, 0.922, 0.922),
    "readings in shaped canals come later": (
        lambda seen: seen["electronic_reading"] & (seen["stages"] != "in turn"),
        signals_earlier, 0.898, 0.898),
}  # fmt: skip
LOOKED_AT = 400
MOVES_AT_MOST_NATS = 0.07
"""A patient, to either side, two paired standard errors included. All sources together are worth
far more: the oracle's table tells how much."""


@pytest.mark.parametrize("name", DIFFERENCES)
def test_a_difference_moves_coverage_as_the_table_says_and_the_score_within_its_bound(judged, name):
    concerns, change, with_it, without = DIFFERENCES[name]
    patients = judged.patients
    flags = concerns(patients.visible)
    rows = np.random.default_rng(1).permutation(np.flatnonzero(flags))[:LOOKED_AT]
    looks = patients.hidden["crown"][rows]
    cases = [patients.evidence[i] for i in rows]
    again = judge(
        Patients(
            [change(case, look) for case, look in zip(cases, looks, strict=True)],
            patients.foramen_mm[rows], {}, {},
        )
    )  # fmt: skip
    gain = again.log_score - judged.log_score[rows]
    assert (held(judged.rank[rows]), held(again.rank)) == pytest.approx(
        (with_it, without), abs=0.02
    )
    assert abs(gain.mean()) + 2 * gain.std() / np.sqrt(gain.size) < MOVES_AT_MOST_NATS


# --- what is done today ---------------------------------------------------------------------------
COLUMNS = {"patients": 0, "off by": 0.03, "bias": 0.03, "past": 0.02, "within 0.5 of target": 0.02,
           "mean loss": 0.08, "the library's": 0.05}  # fmt: skip
"""What the table in README tells of each method, and how much another draw may move it."""


def outcome(foramen_mm, length_mm, truth_mm, losses):
    """Mean error and bias of the foramen (mm), shares past and within 0.5 mm of target, loss."""
    error = foramen_mm - truth_mm
    target_mm = np.array([loss.target_mm for loss in losses])
    cost = [loss.cost(w, f) for loss, w, f in zip(losses, length_mm, truth_mm, strict=True)]
    return (
        np.abs(error).mean(),
        error.mean(),
        (length_mm > truth_mm).mean(),
        (np.abs(truth_mm - target_mm - length_mm) <= 0.5).mean(),
        np.mean(cost),
    )


@pytest.fixture(scope="module")
def compared(judged):
    """One row a method: its outcome, and the library's loss, in the patients in whom it works."""
    truth, losses = judged.patients.foramen_mm, [r.loss for r in judged.results]
    by_method = {}
    for i, case in enumerate(judged.patients.evidence):
        for name, value in foramina_mm(case).items():
            by_method.setdefault(name, {})[i] = value
    everybody = outcome(judged.foramen_mm, judged.length_mm, truth, losses)
    rows = {"the library": (len(truth), *everybody, everybody[-1])}
    for name, found in by_method.items():
        i, foramen = np.array(list(found)), np.array(list(found.values()))
        some = [losses[k] for k in i]
        own = outcome(foramen, set_length_mm(foramen), truth[i], some)
        library = outcome(judged.foramen_mm[i], judged.length_mm[i], truth[i], some)
        rows[name] = (len(i), *own, library[-1])
    return rows


def test_the_library_has_the_least_mean_loss(compared):
    assert set(compared) == {
        "the library", "reading alone", "radiograph alone", "longest dry alone",
        "mean", "median", "fixed effect", "random effects",
    }  # fmt: skip
    for name, (*_, own, library) in compared.items():
        if name != "the library":
            assert library < 0.75 * own, name


def in_readme(text):
    """The table of README: numbers by method, shares as fractions."""
    rows = [line.strip("| ").split("|") for line in text.splitlines() if line.startswith("|")]
    rows = [[cell.strip() for cell in row] for row in rows]
    begin = next(k for k, row in enumerate(rows) if row[0] == "method")
    assert [head.removesuffix(" (mm)") for head in rows[begin][1:]] == list(COLUMNS)
    table = {}
    for name, *cells in rows[begin + 2 :]:
        if len(cells) != len(COLUMNS):
            break
        plain = [cell.replace(" ", "").replace("−", "-") for cell in cells]
        table[name] = [float(c[:-1]) / 100 if c.endswith("%") else float(c) for c in plain]
    return table


def test_the_readme_tells_what_comes_out(compared, repo_root):
    table = in_readme((repo_root / "README.md").read_text(encoding="utf-8"))
    assert set(table) == set(compared)
    for name, told in table.items():
        for column, said, found in zip(COLUMNS, told, compared[name], strict=True):
            off = 0.03 * found if column == "patients" else COLUMNS[column] + 0.005
            assert said == pytest.approx(found, abs=off), (name, column)


# --- against an oracle ----------------------------------------------------------------------------
MOST_NATS, MOST_CRPS = 0.05, 0.05
RESAMPLED = 1000


def gains(judged, factor):
    """What a factor gains in every patient: log score (nats), and both CRPS (mm)."""
    results, truth = judged.results, judged.patients.foramen_mm
    gain = np.log(factor[np.arange(len(truth)), slice_of(judged.rank)])
    step_mm = results[0].grid_mm[1] - results[0].grid_mm[0]
    scores = [
        [crps_mm(mass, step_mm, r.grid_mm, f) for mass in with_factor(r.density_per_mm, own)]
        for r, f, own in zip(results, truth, factor, strict=True)
    ]
    return gain, np.array(scores)


def seen_by_oracle(judged):
    spreads = np.array([r.foramen_sd_mm for r in judged.results])
    return features(judged.patients, judged.foramen_mm, spreads)


@pytest.fixture(scope="module")
def against_oracle(judged):
    return gains(judged, taught_by_others(seen_by_oracle(judged), judged.rank))


def bootstrapped(values, statistic):
    """95 % interval of a statistic of patients drawn again, what belongs to one kept together."""
    rng = np.random.default_rng(6)
    drawn = [statistic(values[rng.integers(0, len(values), len(values))]) for _ in range(RESAMPLED)]
    return np.percentile(drawn, [2.5, 97.5])


def lost_crps(scores):
    library, oracle = scores.mean(axis=0)
    return 1 - oracle / library


def by_separate_teachers(judged, seeds):
    """Gains of an oracle taught by 5 000 other patients a seed; by hand, a minute and more each."""
    taught_by = [judge(draw_patients(PATIENTS, np.random.default_rng(seed))) for seed in seeds]
    seen = np.concatenate([seen_by_oracle(each) for each in taught_by])
    factor = taught(seen, np.concatenate([each.rank for each in taught_by]))
    return gains(judged, factor(seen_by_oracle(judged)))


# Met: within 0.05 nat and 5 %. With 15 000 teachers (seeds 201, 202, 203) and their 95 % intervals:
#
#     patients of                       log score, nats            CRPS
#     seed 91                           0.029 (0.021 to 0.036)     3.6 % (2.8 to 4.4)
#     seed 103                          0.032 (0.024 to 0.039)     3.3 % (2.6 to 4.1)
#     seed 91, bisecting with a file    0.055                      7.0 %
#     seed 91, a reading alone          0.058                      4.2 %
#
# Before a lowered crown shifted the average and the readers' spreads were those of two marks,
# the same number of teachers gained 0.054 nat and 7.4 %. Seeds 201 to 204 were looked at for that.
def test_an_oracle_taught_by_the_other_patients_gains_little(against_oracle):
    """Too few teachers to prove anything by itself; the figures above are by hand."""
    gain, _ = against_oracle
    _, high = bootstrapped(gain, np.mean)
    assert high < MOST_NATS


def test_its_crps_is_better_by_less_than_is_allowed(against_oracle):
    _, scores = against_oracle
    low, high = bootstrapped(scores, lost_crps)
    assert low > 0
    assert high < MOST_CRPS


def test_where_nothing_deliberate_differs_it_gains_less(judged, against_oracle):
    seen, (gain, scores) = judged.patients.visible, against_oracle
    plain = (seen["stages"] != "none") & np.isin(seen["crown"], ["intact", "None"])
    plain &= np.isin(seen["technique with file"], ["no radiograph", "paralleling"])
    assert gain[plain].mean() < gain[~plain].mean()
    assert lost_crps(scores[plain]) < lost_crps(scores[~plain])


def test_the_oracle_would_notice_a_library_that_is_off(judged):
    """The check can fail: a library that is 0.2 mm too short, or a third too sure of itself."""
    truth, middle = judged.patients.foramen_mm, judged.foramen_mm
    for moved in (truth + 0.2, middle + 1.5 * (truth - middle)):
        rank = np.array([r.probability_past(f) for r, f in zip(judged.results, moved, strict=True)])
        shares = np.bincount(slice_of(rank), minlength=10) / len(rank)
        assert (shares * np.log(10 * shares)).sum() > MOST_NATS
