"""Mark the cells of a repaired notebook against a student's key.

Answers are read from the text of the answer cells. Every check cell gets its explanation and,
after it, one Python float: nbgrader takes the points from the text of that last value.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from lengthwise.classroom.answer_form import (
    FIELDS,
    AskedForm,
    DeterminationForm,
    determination_form,
    exercise_form,
    tidy_word,
)
from lengthwise.classroom.answer_key import StudentKey
from lengthwise.classroom.case_views import View, view_of
from lengthwise.classroom.cells import Cell, is_check, label, source_of
from lengthwise.classroom.plain_text import id_in
from lengthwise.classroom.question_view import question_view
from lengthwise.classroom.read_answers import CellReading, read_cell
from lengthwise.marking.clues import Clue
from lengthwise.marking.determination import Determination
from lengthwise.marking.diagnosis import Named, named_in, summary_of
from lengthwise.marking.exercise import Exercise
from lengthwise.marking.graded_case import GradedCase
from lengthwise.marking.items import mark_item
from lengthwise.marking.marks import mark
from lengthwise.marking.marks_record import Marks
from lengthwise.marking.rounds import ROUND_NAMES, Rounds
from lengthwise.marking.rounds_marks import mark_rounds
from lengthwise.reconciliation import NEXT_STEPS

_CHECK = "_check"
OURS = "lengthwise"
_REMARKS = ("- Read as meant:", "- Not used:")
"""Where a marked notebook keeps in its metadata what stands in no output."""


@dataclass(frozen=True)
class CellMark:
    """The points of one check cell, the words under it, and both sides in brief (`Marks`)."""

    points: float
    explanation: str
    yours: str = ""
    supported: str = ""


@dataclass(frozen=True)
class Marked:
    """Everything that marking found in one notebook.

    ``marks`` and ``answers`` go by the label of the cell that carries the points; ``by_hand``
    lists those an instructor should look at, because something in the answer could not be used.
    """

    marks: dict[str, CellMark]
    answers: dict[str, str]
    mended: tuple[str, ...]
    unread: tuple[str, ...]
    by_hand: tuple[str, ...]
    typed_id: str | None
    named: tuple[Named, ...] = ()

    @property
    def summary(self) -> str:
        """What all answers together look like, in Markdown; empty where nothing is named."""
        return summary_of(self.named)


def mark_cells(
    cells: Sequence[Cell], key: StudentKey, lost: Mapping[str, str] | None = None
) -> Marked:
    """Mark every check cell of a notebook in the form of the release.

    ``lost`` says by label why an answer is unclear: its text may not be what the student meant.
    """
    sources = {label(cell): source_of(cell) for cell in cells if label(cell)}
    unclear = lost or {}
    marks: dict[str, CellMark] = {}
    mended: list[str] = []
    unread: list[str] = []
    by_hand: list[str] = []
    work: list[tuple[str, Clue]] = []
    for cell in cells:
        if not is_check(cell):
            continue
        check = label(cell)
        name = check.removesuffix(_CHECK)
        reading = read_cell(sources.get(name, ""))
        if name in unclear:
            reading.unread.setdefault(name, unclear[name])
        case = key.cases.get(name)
        if isinstance(case, Exercise):
            one = _mark_exercise(name, reading, case)
        elif isinstance(case, Rounds):
            one = _mark_rounds(name, reading, case)
        elif case is not None:
            one = _mark_case(name, reading, case)
        else:
            one = _mark_item(name, reading, key)
        points = float(cell["metadata"]["nbgrader"]["points"])
        # Twelve thirds of four points are sixteen: what is earned in full is not rounded.
        earned = points if one.share == 1 else round(one.share * points, 2)
        marks[check] = CellMark(earned, one.explanation, one.yours, one.supported)
        mended += [f"{name}: {sentence}" for sentence in one.mended]
        unread += [f"{name}: {sentence}" for sentence in one.problems]
        by_hand += [check] if one.problems else []
        work += [(name, clue) for clue in one.clues]
    return Marked(
        marks=marks,
        answers=_answers(cells, sources),
        mended=tuple(mended),
        unread=tuple(unread),
        by_hand=tuple(by_hand),
        typed_id=id_in(sources.get("identity", "")),
        named=named_in(work),
    )


@dataclass(frozen=True)
class _One:
    share: float
    explanation: str
    mended: tuple[str, ...]
    problems: tuple[str, ...]
    clues: tuple[Clue, ...]
    yours: str
    supported: str


def _one(marks: Marks, mended: tuple[str, ...], problems: tuple[str, ...]) -> _One:
    explanation = _with_remarks(marks.explanation, mended, problems)
    return _One(
        marks.share, explanation, mended, problems, marks.clues, marks.yours, marks.supported
    )


def _mark_case(name: str, reading: CellReading, case: GradedCase) -> _One:
    form = determination_form(reading.values, NEXT_STEPS)
    problems = (*_unread(reading, (*FIELDS, name)), *form.problems)
    mended = (*_mended(reading, FIELDS), *form.mended)
    return _one(mark(_determination(form), case), mended, problems)


def _mark_rounds(name: str, reading: CellReading, rounds: Rounds) -> _One:
    asked = [AskedForm(each, words=tuple(rounds.actions)) for each in ROUND_NAMES]
    course = exercise_form(reading.values, asked)
    form = determination_form(reading.values, NEXT_STEPS)
    names = (*ROUND_NAMES, *FIELDS)
    problems = (*_unread(reading, (*names, name)), *course.problems, *form.problems)
    mended = (*_mended(reading, names), *course.mended, *form.mended)
    words = [str(value) if value else None for value in course.values.values()]
    return _one(mark_rounds(rounds, words, _determination(form)), mended, problems)


def _mark_exercise(name: str, reading: CellReading, exercise: Exercise) -> _One:
    names = [each.name for each in exercise.asked]
    asked = [AskedForm(each.name, each.low, each.high, each.words) for each in exercise.asked]
    form = exercise_form(reading.values, asked)
    problems = (*_unread(reading, (*names, name)), *form.problems)
    mended = (*_mended(reading, names), *form.mended)
    return _one(exercise.marked(form.values), mended, problems)


def _mark_item(name: str, reading: CellReading, key: StudentKey) -> _One:
    item = key.items[name]
    tidied = tidy_word(name, reading.values.get(name), item.lettered)
    problems = _unread(reading, (name,)) + ((tidied.problem,) if tidied.problem else ())
    mended = _mended(reading, (name,)) + ((tidied.mended,) if tidied.mended else ())
    letter = tidied.value if isinstance(tidied.value, str) else None
    return _one(mark_item(item, letter), mended, problems)


def _determination(form: DeterminationForm) -> Determination:
    return Determination(**{name: getattr(form, name) for name in FIELDS})


def _unread(reading: CellReading, names: Iterable[str]) -> tuple[str, ...]:
    by_reason: dict[str, list[str]] = {}
    for name in names:
        if name in reading.unread:
            by_reason.setdefault(reading.unread[name], []).append(name)
    return tuple(
        f"{', '.join(those)} could not be read: {reason}" for reason, those in by_reason.items()
    )


def _mended(reading: CellReading, names: Iterable[str]) -> tuple[str, ...]:
    return tuple(reading.mended[name] for name in names if name in reading.mended)


def _with_remarks(explanation: str, mended: Sequence[str], problems: Sequence[str]) -> str:
    """The explanation under the remarks; a student's own words never become Markdown."""
    remarks = [f"{_REMARKS[0]} {_plain(sentence)}." for sentence in mended]
    remarks += [f"{_REMARKS[1]} {_plain(sentence)}." for sentence in problems]
    if problems:
        remarks.append("- Your instructor is told, and looks at this answer.")
    return "\n\n".join(part for part in ("\n".join(remarks), explanation) if part)


def remarks_only(told: str) -> str:
    r"""What an explanation says of how an answer was read, without what the evidence supports.

    >>> remarks_only("- Not used: a program.\n- Your instructor is told.\n\n**Short:** 20.5 mm.")
    '- Not used: a program.\n- Your instructor is told.'
    >>> remarks_only("**Short:** 20.5 mm.")
    ''
    """
    first = told.partition("\n\n")[0]
    return first if first.startswith(_REMARKS) else ""


def _plain(sentence: str) -> str:
    return re.sub(r"([\\`*_{}\[\]<>#|!&$~])", r"\\\1", " ".join(sentence.split())).rstrip(".")


def _answers(cells: Sequence[Cell], sources: Mapping[str, str]) -> dict[str, str]:
    """The text that each mark rests on, by the label of the cell with the points."""
    answers = {}
    for cell in cells:
        name = label(cell)
        if name and cell["metadata"]["nbgrader"].get("grade"):
            answers[name] = sources.get(name.removesuffix(_CHECK), "")
    return answers


def with_outputs(cells: Sequence[Cell], marked: Marked, key: StudentKey) -> list[dict[str, Any]]:
    """The cells as the instructor and the student see them after marking.

    Under a check stand its explanation and its points; under the cells that show a case or a
    question stands what the student saw.
    """
    views: dict[str, View] = {
        f"{name}_case": view_of(name, case) for name, case in key.cases.items()
    }
    views |= {f"{name}_item": question_view(name, item) for name, item in key.items.items()}
    shown = []
    last = max((i for i, cell in enumerate(cells) if label(cell) in marked.marks), default=-1)
    for i, cell in enumerate(cells):
        name = label(cell)
        if name in marked.marks:
            one, over_all = marked.marks[name], marked.summary if i == last else ""
            cell = {**cell, "execution_count": None, "outputs": _points(one, over_all)}
            brief = {"yours": one.yours, "supported": one.supported}
            cell["metadata"] = {**cell["metadata"], OURS: brief}
        elif name in views:
            data = {"text/html": views[name]._repr_html_(), "text/plain": repr(views[name])}
            cell = {**cell, "execution_count": None, "outputs": [_display(data)]}
        shown.append(dict(cell))
    return shown


def _points(one: CellMark, over_all: str) -> list[dict[str, Any]]:
    """The explanation, what all answers look like where that is said, and the points last."""
    texts = [text for text in (one.explanation, over_all) if text]
    told = [_display({"text/markdown": text, "text/plain": text}) for text in texts]
    return [
        *told,
        {
            "output_type": "execute_result",
            "data": {"text/plain": repr(float(one.points))},
            "execution_count": None,
            "metadata": {},
        },
    ]


def _display(data: dict[str, str]) -> dict[str, Any]:
    return {"output_type": "display_data", "data": data, "metadata": {}}
