"""What a student answered, read for the report from the marked copy of their notebook.

The same readers are used as in marking, so the report speaks of what was marked. Nothing of a
student's is run.
"""

from __future__ import annotations

import json
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from lengthwise.classroom.answer_form import (
    FIELDS,
    AskedForm,
    determination_form,
    exercise_form,
    tidy_word,
)
from lengthwise.classroom.answer_key import StudentKey
from lengthwise.classroom.cells import Cell, label, source_of
from lengthwise.classroom.class_folder import ClassFolder
from lengthwise.classroom.read_answers import read_cell
from lengthwise.marking.clues import Clue
from lengthwise.marking.determination import Determination
from lengthwise.marking.determination_clues import clues_of
from lengthwise.marking.diagnosis import Named, named_in
from lengthwise.marking.exercise import Answer, Exercise
from lengthwise.marking.graded_case import GradedCase
from lengthwise.marking.items import Option, mark_item
from lengthwise.marking.rounds import ROUND_NAMES, Rounds
from lengthwise.marking.rounds_marks import mark_rounds
from lengthwise.reconciliation import NEXT_STEPS, Reconciliation, reconcile_many
from lengthwise.reconciliation.next_step import UNSAFE_STEPS


@dataclass(frozen=True)
class Determined:
    """One canal as a student determined it, beside its true length.

    ``weighed`` is what the same evidence supports; None where the student chose the evidence.
    ``waits``: the instructor has still to look at what was typed, so no figure is taken from it.
    """

    question: str
    given: Determination
    true_mm: float
    target_mm: float
    weighed: Reconciliation | None
    unsafe: bool
    waits: bool = False

    @property
    def error_mm(self) -> float | None:
        """The foramen given minus the true one; from the working length where that is all."""
        if self.waits:
            return None
        foramen = self.given.foramen_mm
        if foramen is None and self.given.working_length_mm is not None:
            foramen = self.given.working_length_mm + self.target_mm
        return None if foramen is None else foramen - self.true_mm

    @property
    def ends_mm(self) -> tuple[float, float] | None:
        """The ends of the 90 % interval minus the true foramen."""
        low, high = self.given.low_mm, self.given.high_mm
        if self.waits:
            return None
        return None if low is None or high is None else (low - self.true_mm, high - self.true_mm)

    @property
    def past(self) -> bool | None:
        """Whether the working length is past the true foramen."""
        length = self.given.working_length_mm
        return None if length is None or self.waits else length > self.true_mm


@dataclass(frozen=True)
class Work:
    """All that one student answered.

    ``value_errors_mm``: answers with a known length minus that length. ``chosen``: by item, the
    option; None where none could be read. ``kinds``: by question, what makes it hard.
    """

    student: str
    determined: tuple[Determined, ...]
    value_errors_mm: tuple[float, ...]
    chosen: Mapping[str, Option | None]
    named: tuple[Named, ...]
    kinds: Mapping[str, str]
    answered: int

    @property
    def errors_mm(self) -> list[float]:
        """Every length with a known answer minus that answer."""
        found = [one.error_mm for one in self.determined]
        return [error for error in found if error is not None] + list(self.value_errors_mm)

    @property
    def ends_mm(self) -> list[tuple[float, float]]:
        """The ends of every interval minus the true foramen."""
        return [ends for one in self.determined if (ends := one.ends_mm) is not None]


def read_work(
    taught: ClassFolder,
    assignment: str,
    student: str,
    key: StudentKey,
    waiting: Collection[str] = (),
) -> Work | None:
    """What a student answered; None where nothing has been graded."""
    path = taught.root / "autograded" / student / assignment / f"{assignment}.ipynb"
    if not path.is_file():
        return None
    return work_of(student, json.loads(path.read_text(encoding="utf-8"))["cells"], key, waiting)


def work_of(
    student: str, cells: Sequence[Cell], key: StudentKey, waiting: Collection[str] = ()
) -> Work:
    """What a student answered in the cells of a marked notebook.

    ``waiting``: questions that the instructor has still to mark.
    """
    typed = {label(cell): read_cell(source_of(cell)).values for cell in cells if label(cell)}
    weighed = _weighed(key)
    determined: list[Determined] = []
    errors: list[float] = []
    clues: list[tuple[str, Clue]] = []
    answered = 0
    for name, case in key.cases.items():
        values = typed.get(name, {})
        if isinstance(case, Exercise):
            answers = _exercise_answers(case, values)
            answered += any(value is not None for value in answers.values())
            errors += [] if name in waiting else _errors_mm(case, answers)
            clues += [(name, clue) for clue in case.marked(answers).clues]
            continue
        form = determination_form(values, NEXT_STEPS)
        given = Determination(**{field: getattr(form, field) for field in FIELDS})
        answered += not given.is_blank
        unsafe = given.next_step in UNSAFE_STEPS
        if isinstance(case, Rounds):
            marks = mark_rounds(case, _rounds(case, values), given)
            unsafe = marks.safety_failure
            clues += [(name, clue) for clue in marks.clues]
        else:
            clues += [(name, clue) for clue in clues_of(given, weighed[name])]
        determined.append(
            Determined(
                name,
                given,
                case.foramen_mm,
                case.target_mm,
                weighed.get(name),
                unsafe,
                name in waiting,
            )
        )
    letters = {name: _letter(name, typed.get(name, {}), key) for name in key.items}
    for name, letter in letters.items():
        clues += [(name, clue) for clue in mark_item(key.items[name], letter).clues]
    return Work(
        student,
        tuple(determined),
        tuple(errors),
        {name: key.items[name].lettered.get(letter or "") for name, letter in letters.items()},
        named_in(clues),
        {name: case.trap for name, case in key.cases.items()},
        answered + sum(letter is not None for letter in letters.values()),
    )


def _weighed(key: StudentKey) -> dict[str, Reconciliation]:
    """What the evidence of each case supports."""
    graded = {name: case for name, case in key.cases.items() if isinstance(case, GradedCase)}
    if not graded:
        return {}
    (target_mm,) = {case.target_mm for case in graded.values()}  # a class has one
    evidence = [case.evidence for case in graded.values()]
    return dict(zip(graded, reconcile_many(evidence, target_mm=target_mm), strict=True))


def _rounds(case: Rounds, typed: Mapping[str, object]) -> list[str | None]:
    asked = [AskedForm(name, words=tuple(case.actions)) for name in ROUND_NAMES]
    return [
        value if isinstance(value, str) else None
        for value in exercise_form(typed, asked).values.values()
    ]


def _exercise_answers(case: Exercise, typed: Mapping[str, object]) -> Mapping[str, Answer]:
    asked = [AskedForm(each.name, each.low, each.high, each.words) for each in case.asked]
    return exercise_form(typed, asked).values


def _errors_mm(case: Exercise, answers: Mapping[str, Answer]) -> list[float]:
    return [
        value - each.expected
        for each in case.asked
        if each.name.endswith("_mm") and not isinstance(each.expected, str)
        if isinstance(value := answers.get(each.name), float | int)
    ]


def _letter(name: str, typed: Mapping[str, object], key: StudentKey) -> str | None:
    letter = tidy_word(name, typed.get(name), key.items[name].lettered).value
    return letter if isinstance(letter, str) else None
