"""What the bench's radiographs say beside what is published about radiographs."""

from __future__ import annotations

import numpy as np
import pytest
from lengthwise.anatomy.canals import Canals, draw_canals
from lengthwise.anatomy.teeth import outline
from lengthwise.bench.film_landmarks import project_landmarks
from lengthwise.bench.film_setup import Technique, set_up
from lengthwise.bench.film_visible import deviation_shares
from lengthwise.reference.files import read_rows

READ = {row["technique"]: row for row in read_rows("radiograph") if row["technique"]}


def molar_canals(n: int) -> Canals:
    return draw_canals("36", n, np.random.default_rng(33), canal="D")


def mean_read_mm(technique: Technique, n: int = 200) -> float:
    """How a file truly 1.00 mm short of the anatomical apex looks, without reader error."""
    canals, root = molar_canals(n), outline("36", "D")
    gaps = []
    for i in range(n):
        one = canals.one(i)
        seen = project_landmarks(one, root, set_up(one, technique).view, one.apex_mm - 1.0)
        assert seen.tip is not None
        gaps.append(seen.along_mm(seen.apex) - seen.along_mm(seen.tip))
    return float(np.mean(gaps))


def test_a_well_placed_film_makes_a_short_file_look_shorter_not_longer() -> None:
    """The model does not give the published 0.87 and 0.39 (33 molar canals in vitro, seen).

    A point source magnifies whatever distance there is, so the model reads a little over 1.00
    with either technique. The published readings lie below it, by 0.2 and by 0.7 mm: something
    that a correctly placed film of one straight root does not have made those files look longer
    (a reader who loses the end of the root among other roots and bone, or beams steeper than
    asked). Nothing is painted on to meet the figures; the reconciliation carries them as bias.
    """
    paralleling, bisecting = mean_read_mm("paralleling"), mean_read_mm("bisecting")
    assert paralleling == pytest.approx(1.05, abs=0.02)  # 400/(400 - 20)
    assert bisecting == pytest.approx(1.14, abs=0.04)
    short = {name: float(row["read_short_of_apex_mm"]) for name, row in READ.items()}
    assert short == {"paralleling": 0.87, "bisecting": 0.39}
    assert paralleling - short["paralleling"] > 0.15
    assert bisecting - short["bisecting"] > 0.6


def test_what_looks_short_is_closer_to_the_foramen_and_what_looks_long_is_longer() -> None:
    """Signs of Williams, Joyce & Roberts 2006, J Endod 32:624 (26 canals, second-hand).

    There a file that looked short was 0.46 mm closer to the foramen than it looked, one that
    looked long 1.2 mm longer. In the model both follow from a foramen that lies short of the
    end of the root, by 0.8 mm on average in back teeth; it makes no difference between the two,
    so the second figure, from a handful of canals, is met in sign and not in size.
    """
    n = 600
    canals, root = draw_canals("44", n, np.random.default_rng(2)), outline("44")
    tips = canals.foramen_mm + np.random.default_rng(3).normal(0.0, 0.8, n)
    looks, really = np.empty(n), canals.foramen_mm - tips
    for i in range(n):
        one = canals.one(i)
        seen = project_landmarks(one, root, set_up(one, "paralleling").view, float(tips[i]))
        assert seen.tip is not None
        looks[i] = seen.along_mm(seen.apex) - seen.along_mm(seen.tip)
    closer = (looks - really)[looks > 0].mean()
    longer = (looks - really)[looks < 0].mean()
    assert 0.3 < closer < 1.2
    assert 0.1 < longer < 1.2


@pytest.mark.parametrize("fdi", ["11", "13", "34", "16", "36"])
def test_a_buccal_picture_shows_fewer_deviations_than_there_are(fdi: str) -> None:
    canals = draw_canals(fdi, 20_000, np.random.default_rng(7))
    before = (1.0, 1.0)
    for threshold in (0.1, 0.2, 0.3, 0.5, 0.8):
        deviates, visible = deviation_shares(canals, threshold)
        assert visible < deviates
        # The share depends strongly on the threshold: never quoted without it.
        assert (deviates, visible) < before
        before = (deviates, visible)
    deviates, visible = deviation_shares(canals, 0.3)
    assert 0.35 < visible < 0.65
    assert 0.75 < deviates < 0.95


def test_a_second_angle_shows_deviations_that_the_first_hides() -> None:
    canals = draw_canals("13", 20_000, np.random.default_rng(7))
    one = deviation_shares(canals, 0.3)[1]
    two = deviation_shares(canals, 0.3, angles_deg=(0.0, 20.0))[1]
    assert two > one + 0.03
