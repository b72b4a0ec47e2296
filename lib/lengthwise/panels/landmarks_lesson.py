"""What the notebook of lesson 01 calls: a prediction, the panel, two tables, its questions."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from lengthwise.anatomy.canals import share_at_tip
from lengthwise.marking.sheet import Sheet
from lengthwise.panels.asked_first import Guess, guess
from lengthwise.panels.landmarks_panel import (
    OFF_MM,
    TEETH,
    LandmarksPanel,
    landmarks_panel,
    population,
)
from lengthwise.panels.questions import Questions, items_beside
from lengthwise.panels.slider import slider
from lengthwise.reference.tables import tooth

CLOSE = 10
LOOKS_MM = (0.1, 0.2, 0.4, 0.6)


@dataclass(frozen=True)
class LandmarksLesson(Questions):
    """The questions of lesson 01, by name, and what is shown."""

    def predict(self) -> Guess:
        """Ask first in how many teeth the average is off, then show the picture."""
        return guess_off(landmarks_panel())

    def average_table(self) -> Sheet:
        """How far off the average is, in all teeth and in the longest and shortest tenth."""
        return average_table()

    def tip_table(self) -> Sheet:
        """How many foramina are "at the tip", by how finely one looks."""
        return tip_table()


def open_landmarks_lesson(name: str, folder: str | Path = ".") -> LandmarksLesson:
    """Read the questions that lie beside the lesson's notebook as ``NAME.toml``."""
    return LandmarksLesson(items_beside(name, folder), lesson=name)


def guess_off(panel: LandmarksPanel) -> Guess:
    """Ask how often the average is off; the panel, which says so, is hidden until then."""
    count = slider(
        f"Of 100 upper canines, the average is more than {OFF_MM:g} mm off in",
        value=50, low=0, high=100, step=1, unit="",
    )  # fmt: skip
    found = off_in_100(TEETH[panel.tooth.value])
    return guess(count, lambda said: compared(round(said), found), panel)


def off_in_100(fdi: str) -> int:
    """Of 100 teeth of a kind, how many the average misses by more than half a millimetre."""
    return round(100 * float(np.mean(np.abs(_error_mm(fdi)) > OFF_MM)))


def compared(said: int, found: int) -> str:
    """Compare a guess with the population; never just right or wrong.

    >>> compared(30, 84)
    'You said 30 of 100. It is 84: the average is a good answer for few teeth. Look for yours.'
    """
    start = f"You said {said} of 100. It is {found}"
    if abs(said - found) <= CLOSE:
        return f"{start}: you know how widely teeth spread. Now look at the longest ones."
    if said < found:
        return f"{start}: the average is a good answer for few teeth. Look for yours."
    return f"{start}: a few teeth do lie close to it, but which ones cannot be seen from the table."


def average_table() -> Sheet:
    """Of 1 000 teeth of each kind, how far the average is off.

    >>> len(average_table().rows)
    5
    """
    rows = []
    for name, fdi in TEETH.items():
        error = np.sort(_error_mm(fdi))
        tenth = len(error) // 10
        rows.append(
            (
                f"{name}, {tooth(fdi).overall_mean_mm:.1f} mm",
                f"{off_in_100(fdi)} of 100",
                f"{np.abs(error).mean():.1f} mm",
                f"{-error[:tenth].mean():.1f} mm too long",
                f"{error[-tenth:].mean():.1f} mm too short",
                f"{error[-1]:.1f} mm too short",
            )
        )
    heads = ("Tooth and its average", f"Off by more than {OFF_MM:g} mm", "All teeth",
             "Shortest tenth", "Longest tenth", "Longest of 1\u00a0000")  # fmt: skip
    return Sheet("How far the textbook average is off", heads, tuple(rows))


def tip_table() -> Sheet:
    """Of 100 canals, how many foramina are called "at the tip".

    >>> tip_table().rows[2][0]
    'everything within 0.4 mm'
    """
    rows = tuple(
        (
            f"everything within {mm:.1f} mm",
            f"{100 * share_at_tip('13', mm):.0f} of 100",
            f"{100 * share_at_tip('16', mm):.0f} of 100",
        )
        for mm in LOOKS_MM
    )
    return Sheet("Foramen at the tip? It depends on what is called so",
                 ("Called the tip", "front teeth", "back teeth"), rows)  # fmt: skip


def _error_mm(fdi: str) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    return np.asarray(population(fdi).apex_mm - tooth(fdi).overall_mean_mm)
