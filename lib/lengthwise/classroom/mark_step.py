"""The three steps that Lengthwise gives nbgrader, named in `grading_config`.

They are thin: `repair` and `mark_cells` do the work on plain dictionaries and can be tried
without nbgrader. None of them executes anything of a student's.
"""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

from nbgrader.api import Gradebook
from nbgrader.preprocessors import NbGraderPreprocessor
from nbgrader.utils import compute_checksum, determine_grade, is_grade, is_solution

from lengthwise.classroom.answer_key import key_of
from lengthwise.classroom.cells import label
from lengthwise.classroom.class_folder import ClassFolder, open_class
from lengthwise.classroom.feedback_page import MOST_AGAIN
from lengthwise.classroom.grading_record import GradingRecord, read_record, write_record
from lengthwise.classroom.handed_in import refuse_odd_files
from lengthwise.classroom.mark_cells import OURS, mark_cells, with_outputs
from lengthwise.classroom.marks_table import outdated_hand_marks, parts_by_hand
from lengthwise.classroom.repair import repair
from lengthwise.marking.diagnosis import summary_of


def _class_of(step: Any) -> ClassFolder:
    """The class that nbgrader is working on: the converter above the step knows its folder."""
    return open_class(Path(step.parent.parent.coursedir.root))


class RepairStep(NbGraderPreprocessor):
    """Lay the student's answers into the released notebook, whatever happened to theirs."""

    def preprocess(self, nb: Any, resources: Any) -> tuple[Any, Any]:
        """Replace the notebook's cells and metadata by the repaired ones."""
        student, assignment = resources["nbgrader"]["student"], resources["nbgrader"]["assignment"]
        taught = _class_of(self)
        refuse_odd_files(taught.submission_folder(student, assignment))
        release = json.loads(taught.released_notebook(assignment).read_text(encoding="utf-8"))
        repaired = repair(nb, release)
        for sentence in repaired.mended:
            self.log.warning("%s: %s", student, sentence)
        fresh = type(nb)(release)
        fresh["cells"] = repaired.cells
        fresh["metadata"][OURS] = {
            "repaired": list(repaired.mended),
            "lost": dict(repaired.lost),
        }
        return _as_node(fresh), resources


class MarkStep(NbGraderPreprocessor):
    """In place of executing: read the answers, mark them, put mark and explanation under them."""

    def preprocess(self, nb: Any, resources: Any) -> tuple[Any, Any]:
        """Set the outputs of every check cell, and leave the record for `SaveMarks`."""
        student, assignment = resources["nbgrader"]["student"], resources["nbgrader"]["assignment"]
        taught = _class_of(self)
        word = nb["metadata"].pop(OURS, {})
        key = key_of(taught, assignment, student)
        marked = mark_cells(nb["cells"], key, lost=word.get("lost", {}))
        record = GradingRecord.of(student, assignment, word.get("repaired", ()), marked)
        resources[OURS] = record
        for sentence in record.unread:
            self.log.warning("%s: %s", student, sentence)
        nb["cells"] = with_outputs(nb["cells"], marked, key)
        nb["metadata"][OURS] = {"again": summary_of(marked.named[:MOST_AGAIN])}
        return _as_node(nb), resources


class SaveMarks(NbGraderPreprocessor):
    """In place of nbgrader's own saving, which forgets that a hand mark was already given.

    One transaction holds all marks of a student, so a run that is stopped leaves the old marks or
    the new ones. The record follows: were it first, a stopped run could make a changed answer look
    as if it had been marked by hand.
    """

    def preprocess(self, nb: Any, resources: Any) -> tuple[Any, Any]:
        """Save points and what is still to be marked, then write the student's record."""
        where = resources["nbgrader"]
        record: GradingRecord = resources[OURS]
        taught = _class_of(self)
        before = read_record(taught, record.student, record.assignment)
        unchanged = record.unchanged_since(before)
        with Gradebook(where["db_url"]) as gradebook:
            saved = gradebook.find_submission_notebook(
                where["notebook"], where["assignment"], where["student"]
            )
            grades = {grade.name: grade for grade in saved.grades}
            comments = {comment.name: comment for comment in saved.comments}
            for cell in nb["cells"]:
                name = label(cell)
                if is_grade(cell):
                    points, _ = determine_grade(cell, self.log)
                    _save_points(grades[name], points, name in record.by_hand, name in unchanged)
                if is_solution(cell):
                    untouched = cell.metadata.nbgrader.get("checksum") == compute_checksum(cell)
                    comments[name].auto_comment = "No response." if untouched else None
            waiting, outdated = parts_by_hand(saved.grades), outdated_hand_marks(saved.grades)
            gradebook.db.commit()
        write_record(taught, replace(record, waiting=waiting, outdated=outdated))
        return nb, resources


def _save_points(grade: Any, points: float | None, unread: bool, unchanged: bool) -> None:
    """Set the points of a check; a hand mark stays done while the answer under it is the same."""
    marked_before = grade.manual_score is not None or grade.auto_score is not None
    done = unchanged and marked_before and not grade.needs_manual_grade
    grade.auto_score = points
    by_hand = unread or grade.auto_score is None or grade.manual_score is not None
    grade.needs_manual_grade = by_hand and not done


def _as_node(notebook: Any) -> Any:
    """Steps of nbconvert expect attribute access on every cell."""
    from nbformat import from_dict

    return from_dict(notebook)
