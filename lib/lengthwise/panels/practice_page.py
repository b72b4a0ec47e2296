"""What the practice page calls: a case on the bench, how it is going, and what is kept."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from lengthwise.marking.practice_log import PracticeLog
from lengthwise.marking.practice_record import open_record
from lengthwise.panels.practice_kept_panel import KeptPanel, kept_panel
from lengthwise.panels.practice_panel import PracticePanel, practice_panel
from lengthwise.panels.practice_progress_panel import ProgressPanel, progress_panel


@dataclass(frozen=True)
class PracticePage:
    """The parts of the page.

    Attributes
    ----------
    case : one case after the other.
    progress : how it is going; it grows with every answer.
    kept : where the record lies, and how it is begun anew.
    """

    case: PracticePanel
    progress: ProgressPanel
    kept: KeptPanel


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
    kept = kept_panel(record)
    panel.changed.extend((progress.show, kept.show))
    kept.again.calls.extend((panel.begin_another, progress.show))
    return PracticePage(panel, progress, kept)
