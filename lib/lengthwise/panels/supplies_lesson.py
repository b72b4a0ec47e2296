"""What the notebook of lesson 07 calls: predictions, two panels, tables, questions."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from lengthwise.marking.sheet import Sheet
from lengthwise.panels import supplies_tables as tables
from lengthwise.panels.asked_first import AskedFirst, Guess, ask_first, guess
from lengthwise.panels.case_view import Written
from lengthwise.panels.endings_panel import endings_panel
from lengthwise.panels.folded import Folded
from lengthwise.panels.questions import Questions, items_beside
from lengthwise.panels.slider import slider
from lengthwise.panels.supplies_panel import SuppliesPanel, supplies_panel
from lengthwise.panels.supplies_words import too_long_in_100, usual_point
from lengthwise.reconciliation.supplies import lay_out

CLOSE = 8
CANINE_MM = 28.5


@dataclass(frozen=True)
class SuppliesLesson(Questions):
    """The questions of lesson 07, by name, and what is shown."""

    def predict_reach(self) -> Guess:
        """Ask first how many canines are too long for a point, then lay everything out."""
        return guess_too_long(supplies_panel())

    def predict_ending(self) -> AskedFirst:
        """Ask first what a millimetre costs on either side, then show endings."""
        return ask_first(self.check("ending"), endings_panel())

    def reach_table(self) -> Sheet:
        """How long a canal each instrument and point serves."""
        return tables.reach_table()

    def assumed_table(self) -> Folded:
        """What has to stay outside the tooth, and how uncertain that is."""
        return Folded(tables.assumed_table())

    def canine_table(self) -> Sheet:
        """Everything laid against the long canine of this lesson."""
        return tables.canine_table(lay_out(CANINE_MM))

    def steps(self) -> Written:
        """What is done when it does not reach."""
        steps = lay_out(CANINE_MM).steps
        return Written("What is done then", tuple(step.sentence for step in steps))

    def landmarks_table(self) -> Sheet:
        """The same ending by both landmarks, and the group that studies count it in."""
        return tables.landmarks_table()

    def outcomes_table(self) -> Sheet:
        """Published outcomes, one row a study and group."""
        return tables.outcomes_table()

    def studies(self) -> Written:
        """Whose teeth were counted, one line a study."""
        return tables.studies()

    def effects(self) -> Written:
        """What else is published on endings."""
        return tables.effects()

    def weights_table(self) -> Folded:
        """The weights of the loss, with the range that each may lie in."""
        return Folded(tables.weights_table())

    def loss_table(self) -> Sheet:
        """What the course's loss counts for each ending."""
        return tables.loss_table()


def open_supplies_lesson(name: str, folder: str | Path = ".") -> SuppliesLesson:
    """Read the questions that lie beside the lesson's notebook as ``NAME.toml``."""
    return SuppliesLesson(items_beside(name, folder), lesson=name)


def guess_too_long(panel: SuppliesPanel) -> Guess:
    """Ask how many canines are too long for the usual point; the panel says so afterwards."""
    point = usual_point()
    count = slider(
        f"Of 100 upper canines, too long for a point of {point.length_mm:g} mm to be held are",
        value=10, low=0, high=100, step=1, unit="",
    )  # fmt: skip
    found = too_long_in_100(tables.FRONT, point, tables.TARGET_MM)
    return guess(count, lambda said: compared(round(said), found), panel)


def compared(said: int, found: int) -> str:
    """Compare a guess with the population; never just right or wrong.

    >>> compared(10, 38)
    'You said 10 of 100. It is 38: far more than one thinks. Look at what is left to hold.'
    """
    start = f"You said {said} of 100. It is {found}"
    if abs(said - found) <= CLOSE:
        return f"{start}: you know how long canines are. Now look at what each file has left."
    if said < found:
        return f"{start}: far more than one thinks. Look at what is left to hold."
    return f"{start}: most still leave enough to hold. Look for the place where it stops."
