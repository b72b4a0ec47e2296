"""Tell nbgrader how a class is graded: everything that differs from its defaults, in one place.

The form view and the command line both read it, through the class's ``nbgrader_config.py``, so
both give the same marks.
"""

from __future__ import annotations

import os
import stat
from pathlib import Path
from typing import Any

from lengthwise.classroom.class_folder import open_class
from lengthwise.classroom.gradebook import check_whose, gradebook_url

OURS = "lengthwise.classroom"
THEIRS = "nbgrader.preprocessors"

EXCHANGE = "LENGTHWISE_EXCHANGE"
"""The variable that names the exchange of the hub that a grader works on."""

NEVER_COPIED = [
    ".ipynb_checkpoints",
    "*.pyc",
    "__pycache__",
    "feedback",
    "cases.json",
    "*.zip",
    ".*.making",
]
"""Kept out of what nbgrader copies from folder to folder: cases.json is large and not theirs."""


def configure(config: Any, folder: Path) -> None:
    """Set ``config`` (traitlets) for the class in ``folder``."""
    taught = open_class(folder)
    check_whose(taught)
    config.CourseDirectory.db_url = gradebook_url(taught)
    config.CourseDirectory.course_id = taught.name  # a server refuses an assignment without one
    config.CourseDirectory.root = str(folder.resolve())
    config.CourseDirectory.ignore = NEVER_COPIED

    # The source is already in the form that students get (three dots), so nothing is cleared.
    config.GenerateAssignment.preprocessors = [
        f"{THEIRS}.LockCells",
        f"{THEIRS}.ClearOutput",
        f"{THEIRS}.CheckCellMetadata",
        f"{THEIRS}.ComputeChecksums",
        f"{THEIRS}.SaveCells",
        f"{THEIRS}.CheckCellMetadata",
    ]
    config.GenerateAssignment.post_convert_hook = f"{OURS}.release.hand_out"

    config.Autograde.sanitize_preprocessors = [
        # It lays the answers into the release: no outputs, one of each label, its own kernel.
        f"{OURS}.mark_step.RepairStep",
        f"{THEIRS}.OverwriteCells",
    ]
    config.OverwriteCells.add_missing_cells = True
    # Here stands no step that executes a notebook: answers are read and marked instead.
    config.Autograde.autograde_preprocessors = [
        f"{OURS}.mark_step.MarkStep",
        f"{OURS}.mark_step.SaveMarks",
        f"{THEIRS}.AssignLatePenalties",
    ]

    # Its own page needs nothing of a notebook's style, and reads the gradebook itself.
    config.GenerateFeedback.preprocessors = []
    config.GenerateFeedback.exporter_class = f"{OURS}.feedback.FeedbackExporter"

    _exchange(config, folder)


def _exchange(config: Any, folder: Path) -> None:
    """On a hub, hand out and collect by nbgrader's exchange; see `exchange`."""
    config.ExchangeFactory.release_assignment = f"{OURS}.exchange.HandOut"
    config.ExchangeFactory.collect = f"{OURS}.exchange.Collect"
    config.ExchangeFactory.release_feedback = f"{OURS}.exchange.GiveBack"
    if os.environ.get(EXCHANGE):
        config.Exchange.root = os.environ[EXCHANGE]
    # A folder that its group may write to has several graders, so what one makes the others change.
    config.CourseDirectory.groupshared = bool(folder.stat().st_mode & stat.S_IWGRP)
