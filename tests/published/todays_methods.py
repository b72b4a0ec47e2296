"""What is done today with the same evidence: one source alone, an average, a meta-analysis.

Each gives a foramen; the working length is the school's target short of it, once, and set to the
nearest quarter of a millimetre. The usual rules (common practice): the foramen signal is the
foramen; the working length is a millimetre short of the end of the root on the radiograph, so
that the foramen counts as half a millimetre short of it; the longest length at which a point
stayed dry is the foramen. Of two radiographs the one with a file is believed. A tactile stop is
nobody's length today and left out. For the weighted means every source gets the spread that the
library reckons with where it is sound, but not its bias.
"""

import numpy as np
from lengthwise.anatomy.lengths import apex_gamma
from lengthwise.evidence import ElectronicReading, PointTrial, PreoperativeFilm, WorkingFilm
from lengthwise.reconciliation.apex import film_scale
from lengthwise.reconciliation.trace_quality import assess_trace
from lengthwise.reference import constants as c
from lengthwise.reference import readings
from statsmodels.stats.meta_analysis import combine_effects

TARGET_MM = c.TARGET_SHORT_OF_FORAMEN_MM.value
RADIOGRAPH_LESS_MM = 1.0
STEP_MM = c.SETTABLE_STEP_MM.value
DRY_STEP_MM = 0.5


def implied_mm(case):
    """Foramen (mm) and its spread by each source that gives one, by name."""
    found = {}
    depths = [_signal_mm(r) for r in case.records if isinstance(r, ElectronicReading)]
    depths = [depth for depth in depths if depth is not None]
    if depths:
        found["reading"] = np.mean(depths), readings.BETWEEN_CANALS_SD_MM.value
    film = _film_apex_mm(case)
    if film:
        shape, scale = apex_gamma(case.tooth)
        end, spread = film
        middle = end - (RADIOGRAPH_LESS_MM - TARGET_MM)
        found["radiograph"] = middle, np.hypot(spread, np.sqrt(shape) * scale)
    dry = [r.length_mm for r in case.records if isinstance(r, PointTrial) and r.wet_mm == 0]
    if dry:
        canals, placement = c.PAPER_BETWEEN_CANALS_SD_MM.value, c.PLACEMENT_SD_MM.value
        spread = np.linalg.norm([canals, placement, DRY_STEP_MM / np.sqrt(12)])
        found["longest dry"] = max(dry), spread
    return found


def _signal_mm(reading):
    if reading.foramen_signal_mm is not None:
        return reading.foramen_signal_mm
    return assess_trace(reading).signal_mm


def _film_apex_mm(case):
    """End of the root by the radiograph that is believed, as it is read, and its spread."""
    for film in reversed(case.records):
        if isinstance(film, WorkingFilm):
            gap = film.tip_short_of_radiographic_apex_mm
            return film.file_length_mm + gap, film_scale(film.technique)[0]
    for film in case.records:
        if isinstance(film, PreoperativeFilm):
            reader, magnification, spread = film_scale(film.technique)
            end = film.tooth_length_mm / magnification
            return end, np.hypot(reader, end * spread / magnification)
    return None


def foramina_mm(case):
    """The foramen (mm) by every method that can be used on this case, by name."""
    found = implied_mm(case)
    methods = {f"{name} alone": value for name, (value, _) in found.items()}
    if found:
        values, spreads = np.array(list(found.values())).T
        fixed = random = values[0]
        if len(values) > 1:
            with np.errstate(all="ignore"):  # spreads of the fit, not used here
                fit = combine_effects(values, spreads**2, method_re="dl")
            fixed = random = fit.mean_effect_fe
            if fit.tau2 > 0:  # DerSimonian & Laird 1986: no variance between sources is below zero
                random = fit.mean_effect_re
        methods |= {
            "mean": values.mean(),
            "median": np.median(values),
            "fixed effect": fixed,
            "random effects": random,
        }
    return methods


def set_length_mm(foramen_mm):
    """The working length (mm) that is set."""
    return np.round((np.asarray(foramen_mm) - TARGET_MM) / STEP_MM) * STEP_MM
