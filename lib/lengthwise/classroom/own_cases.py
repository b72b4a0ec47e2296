"""An instructor's own cases: a folder with one file a case, kept, read, and set to a class.

A file holds the truth. It stays with the instructor, like the folder ``answers`` of a class.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import asdict, replace
from importlib.metadata import version
from pathlib import Path

from lengthwise.classroom.answer_key import AnswerKey, read_key, write_key
from lengthwise.classroom.class_folder import ClassFolder, checked_name
from lengthwise.classroom.errors import ClassroomError
from lengthwise.classroom.inbound import in_exchange
from lengthwise.classroom.release import write_cases
from lengthwise.counted import counted
from lengthwise.marking.authored_cases import Wish
from lengthwise.marking.graded_case import GradedCase
from lengthwise.marking.student_id import folded_id
from lengthwise.reconciliation import reconcile
from lengthwise.whole_file import write_whole

SCHEMA = "lengthwise/own-case/1"
SET_IN, QUESTIONS = "a6_reconcile", ("q1", "q2", "q3")
"""The assignment that own cases can be set in, and its cases."""


def keeper(folder: Path) -> Callable[[str, Wish, int, GradedCase], str]:
    """What keeps a case in a folder, and says in a sentence what came of it."""

    def keep(name: str, wish: Wish, number: int, case: GradedCase) -> str:
        try:
            path = keep_case(folder, name, wish, number, case)
        except (ClassroomError, OSError) as error:
            return f"Not kept. {error}"
        kept = len(list(folder.glob("*.json")))
        return f"Kept as {path}. It holds the answer: do not hand it out. Cases kept: {kept}."

    return keep


def keep_case(folder: Path, name: str, wish: Wish, number: int, case: GradedCase) -> Path:
    """Write a case to the folder, all of it or nothing, and never over another one.

    Raises `ClassroomError` where the name cannot name a file, or is taken.
    """
    if not name.strip():
        raise ClassroomError("Type a name for the case first.")
    name = checked_name("case's name", "_".join(name.split()))
    path = folder / f"{name}.json"
    if path.exists():
        raise ClassroomError(
            f"There is a case {name!r} in {folder} already, and it stays as it is: choose another "
            "name."
        )
    folder.mkdir(mode=0o700, exist_ok=True)
    told = {
        "schema": SCHEMA,
        "wish": asdict(wish),
        "number": number,
        "library_version": version("lengthwise"),
        "case": json.loads(case.to_json()),
    }
    write_whole(path, json.dumps(told, indent=1, ensure_ascii=False))
    return path


def read_own_cases(folder: Path) -> dict[str, GradedCase]:
    """The kept cases by name, in the order of their names.

    Raises `ClassroomError`, which names the file that cannot be read.
    """
    if not folder.is_dir():
        raise ClassroomError(f"{folder} is not a folder; name the one with your own cases.")
    return {path.stem: _read(path) for path in sorted(folder.glob("[!.]*.json"))}


def _read(path: Path) -> GradedCase:
    try:
        told = json.loads(path.read_text(encoding="utf-8"))
        if told["schema"] != SCHEMA:
            raise ValueError(f"its schema is {told['schema']!r}, not {SCHEMA!r}")
        return GradedCase.from_json(json.dumps(told["case"]))
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise ClassroomError(
            f"{path} cannot be read as a case of your own ({type(error).__name__}: {error}); put "
            "it back from a copy, or take it out of the folder and make the case again."
        ) from error


def as_questions(
    own: Mapping[str, GradedCase], target_mm: float, assignments: tuple[str, ...]
) -> dict[str, GradedCase]:
    """The kept cases as the questions of an assignment, for a class with this target (mm).

    Raises `ClassroomError` unless there are as many as the assignment asks for, and the class
    has it.
    """
    if SET_IN not in assignments:
        raise ClassroomError(
            f"Own cases are set in {SET_IN}, and the class would not have it: add "
            f"--assignment {SET_IN}, or leave --own-cases out."
        )
    if len(own) != len(QUESTIONS):
        raise ClassroomError(
            f"{SET_IN} asks for {len(QUESTIONS)} cases, and {len(own)} are kept"
            f"{''.join(f', {name}' for name in own)}: keep more, or move some to another folder."
        )
    return {
        question: replace(case, target_mm=target_mm, trap=name)
        for question, (name, case) in zip(QUESTIONS, own.items(), strict=True)
    }


def set_own_cases(taught: ClassFolder, own: Mapping[str, GradedCase]) -> None:
    """Give a class that is made already these cases in place of its own, and release them anew.

    Raises `ClassroomError` where somebody has handed in, collected or not, or may have: their
    answers belong to other cases.
    """
    if SET_IN not in taught.assignments:
        raise ClassroomError(
            f"Class {taught.name} has no {SET_IN}, and own cases are set in it: make another "
            "class, with --own-cases."
        )
    key = read_key(taught, SET_IN)
    there, of_nobody = in_exchange(taught, SET_IN)
    collected = set(taught.submitted_students(SET_IN))
    waiting = {one for one in key.students if folded_id(one) in there} - collected
    if handed_in := collected | waiting:
        then = "Collect what waits in the exchange, and make" if waiting else "Make"
        raise ClassroomError(
            f"{len(handed_in)} of class {taught.name} have handed in {SET_IN} ({min(handed_in)} "
            f"first): their answers belong to the cases that they had. {then} another class, with "
            "--own-cases."
        )
    if of_nobody:
        one = of_nobody[0]
        raise ClassroomError(
            f"{counted(len(of_nobody), 'folder')} in the exchange may be work handed in, and "
            f"nobody can say whose ({one.where}: {one.reason}). Collect first, which says this of "
            "each, and mend it; or make another class, with --own-cases."
        )
    questions = as_questions(own, taught.target_mm, taught.assignments)
    students = {one: replace(each, cases=dict(questions)) for one, each in key.students.items()}
    write_key(taught, AnswerKey(key.class_name, key.assignment, students))
    write_cases(taught, SET_IN)


def set_words(own: Mapping[str, GradedCase], target_mm: float) -> tuple[str, ...]:
    """What was set where, and what is right in each at the class's target, as it is marked."""
    questions = as_questions(own, target_mm, (SET_IN,))
    told = [
        f"  {question}  {case.trap}: {recommended(case)}" for question, case in questions.items()
    ]
    return f"{SET_IN}: every student gets your three cases, the same for all.", *told


def recommended(case: GradedCase) -> str:
    """What is right in a case, in a few words.

    >>> from lengthwise.marking.authored_cases import author_case
    >>> recommended(author_case(Wish(points="in a canal opened aside"), 1, 0.5))
    'not yet: ask'
    """
    result = reconcile(case.evidence, target_mm=case.target_mm)
    if result.working_length_mm is None:
        return f"not yet: {result.next_step.word}"
    return f"working length {result.working_length_mm:.2f} mm"
