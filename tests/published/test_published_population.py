"""The population of canals against published figures, those that it was not made from first.

Three groups. *Other*: sources that the model never used; it has to meet them within a tolerance
that is said. *Own*: the figures it was made from; this checks the code, not the figures.
*Cannot*: published figures that contradict those the model was made from; they are held outside
on purpose, so that nobody takes the model for more than it is. Figures from memory are never
checks.

`pytest -s -k what_the_population_meets` prints the whole table. 40 000 canals of a kind: a mean
length is then known to 0.011 mm, a mean distance to 0.003 mm, a share to 0.0025 (one standard
error), all far below the tolerances.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

import numpy as np
import pytest
from lengthwise.anatomy.canals import Canals, draw_canals, share_at_tip

N = 40_000
MEETS, CANNOT = "meets", "cannot"
ANTERIOR_SHARE = 0.30
"""Share of anterior roots at which Martos' 0.39 and 0.82 average to his 0.69: (0.82-0.69)/0.43."""

MARTOS = "Martos et al. 2009, Int Endod J"
BURCH = "Burch & Hulen 1972, Oral Surg 34:262"
KUTTLER = "Kuttler 1955, J Am Dent Assoc 50:544"
EJD = "Eur J Dent, doi 10.4103/ejd.ejd_54_18"
WU = "Wu et al. 2000, Oral Surg 89:739"
SCHAEFER = "Schäfer et al. 2002, J Endod 28:211"


@cache
def population(fdi: str, age: float | None = None) -> Canals:
    """The same canals for every row that asks for them."""
    return draw_canals(fdi, N, np.random.default_rng(20), age_years=age)


def from_apex(fdi: str) -> np.ndarray:
    canals = population(fdi)
    return canals.apex_mm - canals.foramen_mm


def far_rim_from_apex(fdi: str) -> np.ndarray:
    """The most apical point of the foramen, half its axial extent beyond the centre."""
    canals = population(fdi)
    extent = canals.foramen_diameter_mm * np.tan(np.deg2rad(canals.foramen_angle_deg))
    return from_apex(fdi) - extent / 2


def narrowest_to_foramen(fdi: str, age: float | None = None) -> np.ndarray:
    canals = population(fdi, age)
    return canals.foramen_mm - canals.constriction_mm


def root(fdi: str) -> np.ndarray:
    return population(fdi).apex_mm - population(fdi).cej_mm


def of_all_roots(value: Callable[[str], float]) -> float:
    """Front and back teeth in the proportion of the sample that all roots were taken from."""
    return ANTERIOR_SHARE * value("13") + (1 - ANTERIOR_SHARE) * value("16")


def towards(buccal: int, distal: int) -> float:
    """Share of all foramina whose sideways shift points mostly one way."""
    canals = population("13")
    turn = np.arctan2(canals.offset_buccal_mm, canals.offset_distal_mm)
    away = np.angle(np.exp(1j * (turn - np.arctan2(buccal, distal))))
    return float(np.mean(np.abs(away) < np.pi / 4))


@dataclass(frozen=True)
class Figure:
    """A published figure, and the population's own; tolerance with the reason for its width."""

    what: str
    published: float
    source: str
    status: str
    ours: Callable[[], float]
    tolerance: float
    why: str
    expected: str = MEETS


DIFFERENT_TEETH = "handbooks measured different teeth and disagree by a millimetre"
OWN = "own figure: four standard errors and half a printed digit"
OTHER = [
    Figure("upper canine, mean length", 27.0, "Ash & Nelson, Wheeler's", "second-hand",
           lambda: population("13").apex_mm.mean(), 1.0, DIFFERENT_TEETH),
    Figure("upper canine, mean length", 26.0, "Ingle & Bakland, quoted", "seen",
           lambda: population("13").apex_mm.mean(), 1.0, DIFFERENT_TEETH),
    Figure("upper canine, mean length", 27.22, "Chilean sample of upper canines", "seen",
           lambda: population("13").apex_mm.mean(), 1.0, DIFFERENT_TEETH),
    Figure("upper canine, mean root", 16.32, "Plascencia et al. 2017, J Clin Exp Dent 9:e1230",
           "seen", lambda: root("13").mean(), 0.80, "n = 32: two standard errors of 0.40"),
    Figure("upper canine, SD of the root", 2.27, "Plascencia et al. 2017, J Clin Exp Dent 9:e1230",
           "seen", lambda: root("13").std(), 0.58, "n = 32: two standard errors of 0.29"),
    Figure("foramen to apex, all roots", 0.59, BURCH, "second-hand",
           lambda: of_all_roots(lambda fdi: from_apex(fdi).mean()), 0.10,
           "0.59 and Martos' 0.69 differ by 0.10 themselves"),
]  # fmt: skip
FROM = [
    Figure("deviates by 0.1 mm or more", 0.924, BURCH, "second-hand",
           lambda: 1 - of_all_roots(lambda fdi: share_at_tip(fdi, 0.1)), 0.01,
           "one in a hundred; how finely they looked is fitted"),
    Figure("within 0.4 mm of the tip", 0.40, MARTOS, "seen",
           lambda: of_all_roots(lambda fdi: share_at_tip(fdi, 0.4)), 0.01,
           "one in a hundred; how finely they looked is fitted"),
    Figure("foramen to apex, front teeth", 0.39, MARTOS, "seen",
           lambda: from_apex("11").mean(), 0.012, OWN),
    Figure("foramen to apex, lower canine", 0.27, "Versiani et al. 2013, Int Endod J", "seen",
           lambda: from_apex("33").mean(), 0.012, OWN),
    Figure("its SD", 0.25, "Versiani et al. 2013, Int Endod J", "seen",
           lambda: from_apex("33").std(), 0.012, OWN),
    Figure("foramen to apex, back teeth", 0.82, MARTOS, "seen", lambda: from_apex("46").mean(),
           0.04, "the longest 2 % (beyond 3 mm) are left out, which takes 0.03 off the mean"),
    Figure("constriction to foramen, 18-25 y", 0.524, KUTTLER, "second-hand",
           lambda: narrowest_to_foramen("13", 20).mean(), 0.005, OWN),
    Figure("constriction to foramen, 55 y and more", 0.659, KUTTLER, "second-hand",
           lambda: narrowest_to_foramen("13", 70).mean(), 0.006, OWN),
    Figure("foramen's diameter, 18-25 y", 0.502, KUTTLER, "second-hand",
           lambda: population("13", 20).foramen_diameter_mm.mean(), 0.004, OWN),
    Figure("foramen's diameter, 55 y and more", 0.681, KUTTLER, "second-hand",
           lambda: population("13", 70).foramen_diameter_mm.mean(), 0.005, OWN),
    Figure("relative SD, constriction to foramen", 0.33 / 0.847, EJD, "derived",
           lambda: narrowest_to_foramen("11", 40).std() / narrowest_to_foramen("11", 40).mean(),
           0.01, "incisors 0.390, molars 0.381: one value for both"),
    Figure("of deviating foramina, buccal", 0.20 / 0.60, MARTOS, "derived",
           lambda: towards(1, 0), 0.01, OWN),
    Figure("of deviating foramina, distal", 0.14 / 0.60, MARTOS, "derived",
           lambda: towards(0, 1), 0.01, OWN),
    Figure("upper canine, width 1 mm from apex, BL", 0.31, WU, "second-hand",
           lambda: float(np.median(population("13").diameter_bl_mm[:, 0])), 0.008, OWN),
    Figure("upper canine, width 5 mm from apex, MD", 0.50, WU, "second-hand",
           lambda: float(np.median(population("13").diameter_md_mm[:, 2])), 0.010, OWN),
    Figure("upper canine, taper BL (mm/mm)", 0.08, WU, "second-hand",
           lambda: float(np.median(np.diff(population("13").diameter_bl_mm[:, [0, 2]])) / 4),
           0.006, OWN),
    Figure("upper canine, taper MD (mm/mm)", 0.05, WU, "second-hand",
           lambda: float(np.median(np.diff(population("13").diameter_md_mm[:, [0, 2]])) / 4),
           0.006, OWN),
    Figure("canals curved (5 degrees and more)", 0.84, SCHAEFER, "seen",
           lambda: float(np.mean(population("46").curvature_deg > 5)), 0.01, OWN),
    Figure("curved 27 to 35 degrees", 0.13, SCHAEFER, "seen",
           lambda: float(np.mean((population("46").curvature_deg > 27)
                                 & (population("46").curvature_deg <= 35))), 0.01, OWN),
    Figure("curved more than 35 degrees", 0.09, SCHAEFER, "seen",
           lambda: float(np.mean(population("46").curvature_deg > 35)), 0.01, OWN),
]  # fmt: skip
CONTRADICTED = [
    Figure("constriction to foramen, incisors", 0.847, EJD, "seen",
           lambda: narrowest_to_foramen("11").mean(), 0.10, "Kuttler's 0.524-0.659 is used",
           CANNOT),
    Figure("constriction to apex, incisors", 1.23, EJD, "seen",
           lambda: (population("11").apex_mm - population("11").constriction_mm).mean(), 0.15,
           "follows from the row above", CANNOT),
    Figure("constriction to apex, molars", 1.01, EJD, "seen",
           lambda: (population("16").apex_mm - population("16").constriction_mm).mean(), 0.15,
           "leaves 0.30 for foramen to apex, where Martos has 0.82", CANNOT),
    Figure("foramen's most apical point to apex, front teeth", 0.39, MARTOS, "seen",
           lambda: far_rim_from_apex("11").mean(), 0.10,
           "what the abstract says was measured; the figure stands for the centre, so it misses "
           "by 0.13, and canals end that much too deep", CANNOT),
    Figure("foramen's most apical point to apex, back teeth", 0.82, MARTOS, "seen",
           lambda: far_rim_from_apex("46").mean(), 0.10, "the same, by 0.17", CANNOT),
    Figure("foramen exactly at the tip", 0.40, MARTOS, "seen",
           lambda: float(np.mean(from_apex("13") == 0)), 0.01,
           "no heap at zero: how finely one looks decides", CANNOT),
    Figure("canal at the constriction, upper 1", 0.425,
           "Harran Ponce & Vilar Fernandez 2003, J Endod 29:214, quoting an earlier study",
           "second-hand",
           lambda: float(np.median(population("11").constriction_diameter_mm)), 0.05,
           "wider than Wu's median 1 mm from the apex", CANNOT),
    Figure("curved up to 27 degrees", 0.65, SCHAEFER, "seen",
           lambda: float(np.mean((population("46").curvature_deg > 5)
                                 & (population("46").curvature_deg <= 27))), 0.01,
           "0.65 + 0.13 + 0.09 is 0.87, and only 0.84 are curved", CANNOT),
]  # fmt: skip
EVERY = [*OTHER, *FROM, *CONTRADICTED]


def met(figure: Figure) -> bool:
    return abs(figure.ours() - figure.published) <= figure.tolerance


@pytest.mark.parametrize("figure", EVERY, ids=lambda f: f"{f.what}-{f.published:g}")
def test_the_population_meets_what_it_can_and_misses_what_it_says_it_cannot(
    figure: Figure,
) -> None:
    assert met(figure) == (figure.expected == MEETS), f"{figure.what}: ours {figure.ours():.3f}"


def test_no_figure_from_memory_is_a_check() -> None:
    assert {figure.status for figure in EVERY} <= {"seen", "second-hand", "derived"}


BY_TOOTH_OR_AGE = [*OTHER, *(figure for figure in FROM if figure.source in (KUTTLER, WU))]


@pytest.mark.parametrize("figure", BY_TOOTH_OR_AGE, ids=lambda f: f"{f.what}-{f.published:g}")
def test_other_teeth_of_another_age_would_be_noticed(
    figure: Figure, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Lower incisors of forty years in place of whatever teeth and ages a figure is of."""
    others = population("41", 40)
    monkeypatch.setitem(globals(), "population", lambda fdi, age=None: others)
    assert not met(figure)


def table() -> str:
    """Every figure with ours beside it, and whether it is met."""
    lines = [f"{'figure':40} {'published':>9} {'ours':>7} {'+-':>6}  outcome  source (status)"]
    lines += [
        f"{f.what:40} {f.published:9.3f} {f.ours():7.3f} {f.tolerance:6.3f}  "
        f"{MEETS if met(f) else CANNOT:7}  {f.source} ({f.status}); {f.why}"
        for f in EVERY
    ]
    return "\n".join(lines)


def test_what_the_population_meets_and_what_it_cannot() -> None:
    told = table()
    print(told)  # noqa: T201 - seen with -s
    assert told.count(f"  {CANNOT} ") == len(CONTRADICTED)
    assert told.count(f"  {MEETS} ") == len(OTHER) + len(FROM)
