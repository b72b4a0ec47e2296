"""What students get: the generated notebook, their cases without answers, and both in one zip."""

from __future__ import annotations

import json
import zipfile
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from lengthwise.classroom.answer_key import AnswerKey, StudentKey, read_key
from lengthwise.classroom.class_folder import ClassFolder, open_class
from lengthwise.classroom.question_view import question_view
from lengthwise.marking.casebook import case_key
from lengthwise.marking.graded_case import shown_json
from lengthwise.marking.items import ShuffledItem
from lengthwise.whole_file import making, write_whole

SCHEMA = "lengthwise/cases/1"
CASES = "cases.json"


def hand_out(assignment: str, student: str, notebooks: Iterable[str]) -> None:
    """Called by nbgrader after it generated a release, whichever way it was asked to.

    Generating empties the release folder, so the cases are put there afterwards, every time.
    """
    for notebook in notebooks:
        write_cases(open_class(Path(notebook).parent), assignment)


def write_cases(taught: ClassFolder, assignment: str) -> None:
    """Write ``cases.json`` beside the released notebook, and the zip of both."""
    folder = taught.release_folder(assignment)
    cases = cases_json(read_key(taught, assignment), taught.target_mm)
    write_whole(folder / CASES, cases)
    target = folder.with_suffix(".zip")
    with making(target) as draft, zipfile.ZipFile(draft, "w", zipfile.ZIP_DEFLATED) as archive:
        for path in (taught.released_notebook(assignment), folder / CASES):
            archive.write(path, f"{assignment}/{path.name}")


def cases_json(key: AnswerKey, target_mm: float) -> str:
    """Evidence and questions of every student, by a digest of their id; nothing of the answers."""
    told = {
        "schema": SCHEMA,
        "class": key.class_name,
        "assignment": key.assignment,
        "target_mm": target_mm,
        "students": {
            case_key(key.class_name, key.assignment, student): _for_student(one)
            for student, one in key.students.items()
        },
    }
    return json.dumps(told)


def _for_student(one: StudentKey) -> dict[str, Any]:
    return {
        "cases": {name: json.loads(shown_json(case)) for name, case in one.cases.items()},
        "items": {name: _without_key(name, item) for name, item in one.items.items()},
    }


def _without_key(name: str, item: ShuffledItem) -> dict[str, Any]:
    view = question_view(name, item)
    return {"stem": view.stem, "options": view.options}
