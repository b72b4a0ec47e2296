"""The three steps that Lengthwise gives nbgrader, named in `grading_config`.

They are thin: `repair` and `mark_cells` do the work on plain dictionaries and can be tried
without nbgrader. None of them executes anything of a student's.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from nbgrader.preprocessors import NbGraderPreprocessor, SaveAutoGrades

from lengthwise.classroom.answer_key import read_key
from lengthwise.classroom.class_folder import ClassFolder, open_class
from lengthwise.classroom.grading_record import GradingRecord, read_record, write_record
from lengthwise.classroom.handed_in import refuse_odd_files
from lengthwise.classroom.mark_cells import mark_cells, with_outputs
from lengthwise.classroom.repair import repair

OURS = "lengthwise"
"""Where the steps leave word for each other, in a notebook's metadata and in the resources."""


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
        """Set the outputs of every check cell and write the student's record."""
        student, assignment = resources["nbgrader"]["student"], resources["nbgrader"]["assignment"]
        taught = _class_of(self)
        word = nb["metadata"].pop(OURS, {})
        key = read_key(taught, assignment).of(student)
        marked = mark_cells(nb["cells"], key, lost=word.get("lost", {}))
        before = read_record(taught, student, assignment)
        record = GradingRecord.of(student, assignment, word.get("repaired", ()), marked)
        write_record(taught, record)
        resources[OURS] = {
            "by_hand": record.by_hand,
            "unchanged": record.unchanged_since(before),
        }
        for sentence in record.unread:
            self.log.warning("%s: %s", student, sentence)
        nb["cells"] = with_outputs(nb["cells"], marked, key)
        return _as_node(nb), resources


class SaveMarks(SaveAutoGrades):
    """nbgrader's own saving, which forgets on the way that a hand mark was already given."""

    def _add_score(self, cell: Any, resources: Any) -> None:
        name = cell.metadata["nbgrader"]["grade_id"]
        where = (name, self.notebook_id, self.assignment_id, self.student_id)
        grade = self.gradebook.find_grade(*where)
        was_done = grade.manual_score is not None and not grade.needs_manual_grade
        super()._add_score(cell, resources)
        by_hand = grade.needs_manual_grade or name in resources[OURS]["by_hand"]
        if was_done and name in resources[OURS]["unchanged"]:
            by_hand = False
        if grade.needs_manual_grade != by_hand:
            grade.needs_manual_grade = by_hand
            self.gradebook.db.commit()


def _as_node(notebook: Any) -> Any:
    """Steps of nbconvert expect attribute access on every cell."""
    from nbformat import from_dict

    return from_dict(notebook)
