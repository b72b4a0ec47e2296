"""A class to try everything on: twelve invented students and the files that they handed in.

The files are notebooks, filled in on the class's own release. Some are damaged the way it
happens: a cell copied, a check deleted, a file renamed, labels lost, a program for an answer.
"""

from __future__ import annotations

import copy
import hashlib
import json
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from lengthwise.classroom.answer_key import read_key
from lengthwise.classroom.cells import label
from lengthwise.classroom.class_folder import ClassFolder
from lengthwise.classroom.demo_students import STUDENTS, DemoStudent, answer_sources
from lengthwise.classroom.errors import ClassroomError
from lengthwise.classroom.new_class import make_class
from lengthwise.classroom.roster import Student

NAME = "demo-class"
ASSIGNMENT = "a6_reconcile"
TARGET_MM = 0.5
SECRET = hashlib.sha256(b"lengthwise demo class: nothing in it is real").digest()
WAS_RUN = "a_students_code_was_run.txt"

Notebook = dict[str, Any]


@dataclass(frozen=True)
class Demo:
    """The class, the folder of handed-in files, and the file that must never appear."""

    taught: ClassFolder
    handed_in: Path
    was_run: Path


def make_demo(folder: Path, course: Path) -> Demo:
    """Make the demo class and its handed-in files in a new ``folder``."""
    if folder.exists() or folder.is_symlink():
        raise ClassroomError(f"{folder} is already there and stays as it is; name a new folder.")
    folder.mkdir(parents=True)
    try:
        return _fill(folder.resolve(), course)
    except BaseException:
        shutil.rmtree(folder, ignore_errors=True)
        raise


def _fill(folder: Path, course: Path) -> Demo:
    taught = make_class(
        NAME,
        tuple(Student(one.id) for one in STUDENTS),
        target_mm=TARGET_MM,
        where=folder,
        course=course,
        assignments=(ASSIGNMENT,),
        secret=SECRET,
    )
    demo = Demo(taught, folder / "handed_in", folder / WAS_RUN)
    released = json.loads(taught.released_notebook(ASSIGNMENT).read_text(encoding="utf-8"))
    key = read_key(taught, ASSIGNMENT)
    for one in STUDENTS:
        notebook = filled_in(released, answer_sources(one, key.of(one.id)))
        damage = _DAMAGE.get(one.id)
        if damage is not None:
            notebook = damage(notebook, demo.was_run)
        path = demo.handed_in / _where(one)
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(json.dumps(notebook, indent=1), encoding="utf-8")
    return demo


def filled_in(released: Notebook, sources: dict[str, str]) -> Notebook:
    """A copy of the released notebook with these texts in its answer cells."""
    notebook = copy.deepcopy(released)
    for cell in notebook["cells"]:
        if label(cell) in sources:
            cell["source"] = sources[label(cell)]
    return notebook


def _where(student: DemoStudent) -> str:
    """Files come the way learning platforms hand them over: in folders, renamed, numbered."""
    if student.id == "student-12":
        return f"{ASSIGNMENT} (1).ipynb"
    if student.id < "student-07":
        return f"{student.id}_{ASSIGNMENT}.ipynb"
    return f"{student.id}/{ASSIGNMENT}.ipynb"


def _place(notebook: Notebook, name: str) -> int:
    return next(i for i, cell in enumerate(notebook["cells"]) if label(cell) == name)


def _code(source: str) -> dict[str, Any]:
    return {"cell_type": "code", "id": "own-code", "metadata": {}, "source": source,
            "outputs": [], "execution_count": None}  # fmt: skip


def _program_for_an_answer(notebook: Notebook, was_run: Path) -> Notebook:
    """Would write a file, in an answer cell and in a cell of its own, if anything ran it."""
    writes = f'open({str(was_run)!r}, "w").write("run")'
    place = next(
        i
        for i, cell in enumerate(notebook["cells"])
        if label(cell) in ("q1", "q2", "q3") and "working_length_mm = ..." not in cell["source"]
    )
    cell = notebook["cells"][place]
    lines = cell["source"].split("\n")
    lines[1] = f"working_length_mm = {writes}"
    cell["source"] = "\n".join(lines)
    notebook["cells"].insert(place, _code(writes))
    return notebook


def _decimal_commas(notebook: Notebook, was_run: Path) -> Notebook:
    for cell in notebook["cells"]:
        if label(cell) in ("q1", "q2", "q3"):
            cell["source"] = cell["source"].replace(".", ",").replace(",,,", "...")
    return notebook


def _copied_cells(notebook: Notebook, was_run: Path) -> Notebook:
    """The filled-in answer was pasted under an empty copy of itself; a check was pasted too."""
    place = _place(notebook, "q2")
    empty = copy.deepcopy(notebook["cells"][place])
    names = [line.split("=")[0] for line in empty["source"].split("\n")]
    empty.update(id="copied-answer", source="\n".join(f"{name}= ..." for name in names))
    check = copy.deepcopy(notebook["cells"][place + 1])
    check.update(id="copied-check")
    notebook["cells"][place:place] = [empty]
    notebook["cells"].insert(place + 3, check)
    return notebook


def _deleted_check(notebook: Notebook, was_run: Path) -> Notebook:
    del notebook["cells"][_place(notebook, "q3_check")]
    return notebook


def _lost_labels(notebook: Notebook, was_run: Path) -> Notebook:
    """Saved by a program that keeps neither labels nor the ids of cells."""
    for number, cell in enumerate(notebook["cells"]):
        cell["metadata"] = {}
        cell["id"] = f"new-{number}"
    return notebook


_DAMAGE: dict[str, Callable[[Notebook, Path], Notebook]] = {
    "student-08": _program_for_an_answer,
    "student-09": _decimal_commas,
    "student-10": _copied_cells,
    "student-11": _deleted_check,
    "student-12": _lost_labels,
}
