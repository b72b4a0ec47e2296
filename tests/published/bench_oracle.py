"""An oracle for patients of the bench: what could still be learnt from the same evidence.

Any predictive density of the foramen is the library's density times a factor of the library's own
cumulative probability u, a factor that may hang on everything that was written down. The oracle
learns that factor from other patients of the bench, whose foramina it is shown: how probable each
of `SLICES` equal slices of u is, given where every record lies on the library's posterior and what
else is visible, by gradient-boosted trees (scikit-learn). So it knows the distributions of the
bench's latents as far as they can be read off its patients, none of the library's constants bind
it, and where the library is right the factor is one.

In what sense it is not the exact oracle: it is taught by so many patients and no more, it sees a
trace by its judgement and not sample by sample, and it cannot put mass where the library has next
to none. It is a lower bound of what the exact one would gain, closer with more teachers.
"""

import numpy as np
from bench_patients import TEETH
from lengthwise.reconciliation.apex import film_apex_mm
from lengthwise.reconciliation.trace_quality import assess_trace
from sklearn.ensemble import HistGradientBoostingClassifier

SLICES = 10
_RADIOGRAPH = ("no radiograph", "none", "paralleling", "bisecting")
CODES = {
    "crown": ("intact", "worn", "prepared", "None"),
    "stages": ("none", "in turn", "shaped"),
    "technique before": _RADIOGRAPH,
    "technique with file": _RADIOGRAPH,
    "liquid while reading": ("no reading", "dry", "moist", "irrigant", "blood", "flooded"),
    "trace": ("no reading", "depth alone", "trace"),
    "liquid at points": ("none", "dry", "moist", "blood"),
    "points felt": ("none", "free", "felt"),
    "tooth": tuple(tooth for tooth, _ in TEETH),
}


def numbers_of(case, foramen_mm, sd_mm):
    """What the records of a case say, on the scale of the library's answer; NaN where none does."""
    of = {}
    for record in case.records:
        of.setdefault(record.kind, []).append(record)

    def on_scale(lengths):
        return (np.mean(lengths) - foramen_mm) / sd_mm if len(lengths) else np.nan

    judged = [assess_trace(r) for r in of.get("electronic_reading", []) if r.time_s is not None]
    depths = [q.signal_mm for q in judged if q.signal_mm is not None]
    depths += [r.foramen_signal_mm for r in of.get("electronic_reading", []) if r.time_s is None]
    points = of.get("point_trial", [])
    dry = [r.length_mm for r in points if r.wet_mm == 0]
    wet = [r for r in points if r.wet_mm > 0]
    ends = [r.length_mm - r.wet_mm for r in wet]
    sizes = [r.file_size for r in of.get("electronic_reading", [])]
    return [
        sd_mm,
        *(on_scale([film_apex_mm(r)[0] for r in of.get(kind, [])])
          for kind in ("preoperative_film", "working_film")),
        on_scale([r.length_mm for r in of.get("tactile_stop", [])]),
        on_scale(depths),
        np.ptp(depths) if len(depths) > 1 else np.nan,
        np.mean([q.usable for q in judged]) if judged else np.nan,
        np.mean(sizes) if sizes else np.nan,
        on_scale([max(dry)] if dry else []),
        on_scale([min(r.length_mm for r in wet)] if wet else []),
        on_scale(ends),
        ends[-1] - ends[0] if len(ends) > 1 else np.nan,
        np.mean([r.wet_mm for r in wet]) if wet else np.nan,
        len(dry) if points else np.nan,
        len(wet) if points else np.nan,
    ]  # fmt: skip


def features(patients, foramen_mm, sd_mm):
    """Numbers and codes of every patient, (n, features)."""
    rows = zip(patients.evidence, foramen_mm, sd_mm, strict=True)
    numbers = np.array([numbers_of(*row) for row in rows])
    codes = [[words.index(w) for w in patients.visible[name]] for name, words in CODES.items()]
    return np.column_stack([numbers, *codes])


def slice_of(rank):
    return np.minimum((np.asarray(rank) * SLICES).astype(int), SLICES - 1)


def taught(seen, rank):
    """The factor, learnt from patients whose ranks are known: features in, (n, slices) out."""
    trees = HistGradientBoostingClassifier(
        learning_rate=0.05, max_iter=300, max_leaf_nodes=6, min_samples_leaf=80,
        l2_regularization=5.0, early_stopping=True, validation_fraction=0.2, random_state=1,
    )  # fmt: skip
    trees.fit(seen, slice_of(rank))
    return lambda other: SLICES * trees.predict_proba(other)


def taught_by_others(seen, rank, folds=3):
    """The factor for every patient, each learnt from patients of the other folds (n, slices)."""
    fold = np.random.default_rng(5).permutation(len(rank)) % folds
    factor = np.empty((len(rank), SLICES))
    for k in range(folds):
        factor[fold == k] = taught(seen[fold != k], rank[fold != k])(seen[fold == k])
    return factor


def with_factor(density, factor):
    """Mass of each cell of a grid, once by the density alone and once times the oracle's factor."""
    mass = density / density.sum()
    told = mass * factor[slice_of(np.cumsum(mass) - mass / 2)]
    return mass, told / told.sum()


def crps_mm(cell_mass, step_mm, grid_mm, truth_mm):
    """Continuous ranked probability score (mm) of a density on a grid (Gneiting & Raftery 2007)."""
    below = np.cumsum(cell_mass)
    return float(step_mm * np.sum((below - (grid_mm >= truth_mm)) ** 2))
