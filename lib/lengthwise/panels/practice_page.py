"""What the practice page calls: a case on the bench, and how it is going."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from lengthwise.marking.practice_log import PracticeLog
from lengthwise.marking.practice_record import open_record
from lengthwise.panels.practice_panel import PracticePanel, practice_panel
from lengthwise.panels.practice_progress_panel import ProgressPanel, progress_panel


@dataclass(frozen=True)
class PracticePage:
    """The two parts of the page.

    Attributes
    ----------
    case : one case after the other.
    progress : how it is going; it grows with every answer.
    """

    case: PracticePanel
    progress: ProgressPanel


def open_practice(folder: Path | None = None, seed: int | None = None) -> PracticePage:
    """Open practice where it was left.

    Parameters
    ----------
    folder
        Where the log lies; by default the student's own data folder.
    seed
        For the same cases again; by default they are new ones.
    """
    record = open_record(PracticeLog(folder))
    panel = practice_panel(record, np.random.default_rng(seed))
    progress = progress_panel(record)
    panel.changed.append(progress.show)
    progress.anew_calls.append(panel.next_case)
    return PracticePage(panel, progress)
