"""What the notebook of lesson 04 calls: a prediction, the panel, its tables, its questions."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from lengthwise.bench.point_actions import TryPoint
from lengthwise.marking.sheet import Sheet
from lengthwise.panels.asked_first import Guess, guess
from lengthwise.panels.questions import Questions, items_beside
from lengthwise.panels.slider import slider
from lengthwise.panels.trial_case import lesson_state, meet
from lengthwise.panels.trial_panel import START_MM, TrialPanel, trial_panel
from lengthwise.panels.trial_tables import (
    repeats_table,
    weighed_table,
    wicking_table,
    worked_table,
)
from lengthwise.panels.trial_words import between

ASKED_S = 5.0
CLOSE_MM = 0.15


@dataclass(frozen=True)
class TrialLesson(Questions):
    """The questions of lesson 04, by name, and what is shown."""

    def predict(self) -> Guess:
        """Ask first how long the mark is after five seconds, then show the panel."""
        return guess_mark(trial_panel())

    def wicking_table(self) -> Sheet:
        """Contact time against wicked length, both laws, and liquids that stand free."""
        return wicking_table()

    def worked_table(self) -> Sheet:
        """One canal from the first trial to three repeats."""
        return worked_table()

    def weighed_table(self) -> Sheet:
        """The same canal weighed by the library, with brief and long contact."""
        return weighed_table()

    def repeats_table(self) -> Sheet:
        """What repeats and contact time do over many canals."""
        return repeats_table()


def open_trial_lesson(name: str, folder: str | Path = ".") -> TrialLesson:
    """Read the questions that lie beside the lesson's notebook as ``NAME.toml``."""
    return TrialLesson(items_beside(name, folder), lesson=name)


def mark_mm(contact_s: float) -> tuple[float, float]:
    """Length of the mark (mm) by the two laws, shorter first, at the length of the prediction.

    >>> brief, long = mark_mm(1.0), mark_mm(5.0)
    >>> f"{brief[1]:.1f}; {long[0]:.1f} to {long[1]:.1f}"
    '0.7; 1.1 to 1.6'
    """
    met = meet(lesson_state(), "tissue", TryPoint(START_MM, contact_s))
    low, high = met.wicked_mm
    return met.overshoot_mm + low, met.overshoot_mm + high


def guess_mark(panel: TrialPanel) -> Guess:
    """Ask how long the mark is after five seconds instead of one; the panel shows it."""
    brief, _ = mark_mm(1.0)
    number = slider(
        f"After {ASKED_S:g} s, instead of 1 s, the mark is this long", value=round(brief, 1),
        low=0.0, high=4.0, step=0.1,
    )  # fmt: skip
    return guess(number, lambda said: compared(said, *mark_mm(ASKED_S)), panel)


def compared(said_mm: float, low_mm: float, high_mm: float) -> str:
    """Compare a guess with what both laws give; never just right or wrong.

    >>> compared(0.7, 1.1, 1.6)
    'You said 0.7 mm. It is 1.1 to 1.6 mm: contact time alone makes a mark longer. Move it now.'
    """
    start = f"You said {said_mm:.1f} mm. It is {between(low_mm, high_mm)}"
    if said_mm < low_mm - CLOSE_MM:
        return f"{start}: contact time alone makes a mark longer. Move it now."
    if said_mm > high_mm + CLOSE_MM:
        return f"{start}: wicking slows down, so that five times as long is not five times as far."
    return f"{start}: by which of two laws it creeps, nobody has measured. Now see what that costs."
