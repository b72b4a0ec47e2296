"""A class of thirty as an instructor meets it: what each student hands in of a1, and as what file.

Everybody is invented. The answers are made on the class's own release, as students would make them.
"""

import copy
import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from filled_class import EARNED, answers
from grading_tools import exercise_cells
from lengthwise.classroom.answer_key import StudentKey, read_key
from lengthwise.classroom.class_folder import ClassFolder
from lengthwise.classroom.demo_class import filled_in
from lengthwise.marking.exercise import Exercise

ASSIGNMENT = "a1_landmarks"
Notebook = dict[str, Any]
Cells = dict[str, str]

IDS = tuple(f"student-{number:02d}" for number in range(1, 31))
NAMED = {"student-05": ("Edda", "Lindgren"), "student-06": ("Ifeoma", "Öztürk")}
ROSTER = "student,first_name,last_name,email\n" + "".join(
    f"{one},{','.join(NAMED.get(one, ('', '')))},\n" for one in IDS
)
CAREFUL, NEARLY = IDS[:9], IDS[9:11]
BELIEVERS = {**dict.fromkeys(IDS[11:15], "M2"), **dict.fromkeys(IDS[15:19], "M3")}
PROGRAM, ERRATIC, EMPTY = "student-20", ("student-21", "student-22"), "student-23"
LATE, OLD_RELEASE, RENAMED, DAMAGED = IDS[23:27]
CUT_OFF, OTHER_NOTEBOOK, TWICE, MISSING = "student-28", "student-29", "student-09", "student-30"
ALL_RIGHT = {*CAREFUL, LATE, OLD_RELEASE, RENAMED, DAMAGED}
NEVER_GRADED = {CUT_OFF, OTHER_NOTEBOOK, MISSING}
HALF_RIGHT = round(sum(EARNED.values()), 2)


def _right(key: StudentKey, student: str) -> Cells:
    return exercise_cells(key, "none")


def _believes(key: StudentKey, student: str) -> Cells:
    return exercise_cells(key, BELIEVERS[student])


def _program(key: StudentKey, student: str) -> Cells:
    """One value is a piece of program: it is not run, and waits for the instructor."""
    cells = _right(key, student)
    name = next(iter(key.cases))
    first, *others = cells[name].splitlines()
    cells[name] = "\n".join([f"{first.split('=')[0]}= open('x', 'w').write('run')", *others])
    return cells


def _erratic(key: StudentKey, student: str) -> Cells:
    """Numbers and letters by chance."""
    rng = np.random.default_rng(int(student[-2:]))
    cells = {}
    for name, case in key.cases.items():
        assert isinstance(case, Exercise)
        written = [_by_chance(each.expected, rng) for each in case.asked]
        cells[name] = "\n".join(
            f"{each.name} = {one}" for each, one in zip(case.asked, written, strict=True)
        )
    return cells | {name: f'{name} = "{rng.choice(list("ABCD"))}"' for name in key.items}


def _by_chance(expected: float | str, rng: np.random.Generator) -> str:
    """A number with a decimal comma, or the word that is asked for."""
    if isinstance(expected, str):
        return repr(expected)
    return f"{rng.uniform(0, 30):.1f}".replace(".", ",")


TYPES: Mapping[str, Callable[[StudentKey, str], Cells]] = {
    **dict.fromkeys(IDS, _right),
    **dict.fromkeys(NEARLY, answers),
    **dict.fromkeys(BELIEVERS, _believes),
    **dict.fromkeys(ERRATIC, _erratic),
    PROGRAM: _program,
    EMPTY: lambda key, student: {},
}


def _last_terms(notebook: Notebook) -> Notebook:
    """Taken from an older release: other words, and a format whose cells have no ids."""
    notebook["nbformat_minor"] = 4
    for cell in notebook["cells"]:
        cell.pop("id", None)
        if cell["cell_type"] == "markdown" and "nbgrader" not in cell["metadata"]:
            cell["source"] = "Last term's words."
    return notebook


def _without_labels(notebook: Notebook) -> Notebook:
    """Saved by a program that keeps neither labels nor ids; a check is gone, too."""
    del notebook["cells"][next(n for n, c in enumerate(notebook["cells"]) if _is_check(c))]
    for number, cell in enumerate(notebook["cells"]):
        cell["metadata"], cell["id"] = {}, f"new-{number}"
    return notebook


def _is_check(cell: dict[str, Any]) -> bool:
    return str(cell["metadata"].get("nbgrader", {}).get("grade_id", "")).endswith("q3_check")


@dataclass(frozen=True)
class HandedIn:
    """The files of a class by name: what has come at first, and what comes or goes afterwards."""

    first: Mapping[str, bytes]
    late: Mapping[str, bytes]
    withdrawn: str


def handed_in(taught: ClassFolder, lesson: Path) -> HandedIn:
    """What comes from the class; ``lesson`` is a notebook that is no assignment."""
    released = json.loads(taught.released_notebook(ASSIGNMENT).read_text(encoding="utf-8"))
    key = read_key(taught, ASSIGNMENT)
    made: dict[str, Notebook] = {}
    for one in IDS:
        cells = TYPES[one](key.of(one), one)
        identity = {"identity": f'student_id = "{one}"'} if cells else {}
        made[one] = filled_in(released, cells | identity)
    changed = copy.deepcopy(made[TWICE])
    changed["cells"].append({"cell_type": "markdown", "metadata": {}, "source": "An afterthought."})
    made[OLD_RELEASE] = _last_terms(made[OLD_RELEASE])
    made[DAMAGED] = _without_labels(made[DAMAGED])
    data = {_where(one): _bytes(notebook) for one, notebook in made.items() if one != MISSING}
    data[_where(CUT_OFF)] = data[_where(CUT_OFF)][:3000]
    data[_where(OTHER_NOTEBOOK)] = lesson.read_bytes()
    second = f"{TWICE}_{ASSIGNMENT} second attempt.ipynb"
    data[second] = _bytes(changed)
    data[f"{IDS[0]}_4711/my notes.pdf"] = b"%PDF-1.7"
    late = {_where(LATE): data.pop(_where(LATE))}
    return HandedIn(data, late, _where(TWICE))


def _bytes(notebook: Notebook) -> bytes:
    return json.dumps(notebook, indent=1).encode()


def _where(student: str) -> str:
    """Files are named the way learning platforms do: by id, by person, in folders, numbered."""
    number = int(student[-2:])
    if student == RENAMED:
        return "Copy of my homework FINAL (2).ipynb"
    if student in NAMED:
        return f"{' '.join(reversed(NAMED[student]))}_{4700 + number}_file/{ASSIGNMENT}.ipynb"
    if number % 3 == 0:
        return f"{student}_{4700 + number}/{ASSIGNMENT} ({number}).ipynb"
    return f"{student}_{ASSIGNMENT}.ipynb"
