"""What a lesson's notebook calls: its cases, its panels and its questions, a line each.

A lesson keeps two files beside its notebook: ``NAME.csv`` with the cases, in the form that
`Evidence.read_many` reads, and ``NAME.toml`` with the questions, in the form of
`lengthwise.marking.items`.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from lengthwise.evidence import Evidence
from lengthwise.panels.case_view import Written, written
from lengthwise.panels.prediction import Prediction, predict
from lengthwise.panels.questions import Questions, items_beside
from lengthwise.panels.ruler_panel import CARRIED, RulerPanel, ruler_panel
from lengthwise.reconciliation import Reconciliation, reconcile


@dataclass(frozen=True)
class Lesson(Questions):
    """The cases and questions of one lesson, by name."""

    cases: dict[str, Evidence]

    def case(self, name: str) -> Evidence:
        """Find a case; an unknown name is answered with the names there are."""
        if name not in self.cases:
            raise ValueError(f"name: got {name!r}; the lesson has {', '.join(self.cases)}.")
        return self.cases[name]

    def written_down(self, name: str) -> Written:
        """Show what was written down about a canal, one line a record."""
        return written(self.case(name))

    def weighed(self, name: str) -> Reconciliation:
        """Weigh all sources of a case at the usual target of 0.5 mm."""
        return reconcile(self.case(name), target_mm=0.5)

    def chart_line(self, name: str) -> Written:
        """Show the line for the patient's chart."""
        return Written(self.weighed(name).chart_line, ())

    def ruler(
        self, name: str, moves: str, *, target_mm: float = 0.5, shown: str = CARRIED
    ) -> RulerPanel:
        """Lay all sources of a case on one ruler, see `ruler_panel`."""
        return ruler_panel(self.case(name), moves=moves, target_mm=target_mm, shown=shown)

    def predict(self, name: str, moves: str, *, shown: str = CARRIED) -> Prediction:
        """Ask for an interval first, then show the ruler."""
        return predict(self.weighed(name), self.ruler(name, moves, shown=shown))


def open_lesson(name: str, folder: str | Path = ".") -> Lesson:
    """Read a lesson's two files.

    Parameters
    ----------
    name
        The notebook's name without its ending, such as ``"06_one_ruler"``.
    folder
        Where the files lie; a notebook runs in its own folder.

    Returns
    -------
    Lesson
        Its cases and questions.
    """
    cases = Evidence.read_many(Path(folder) / f"{name}.csv")
    return Lesson(items_beside(name, folder), cases, lesson=name)
