"""What an assignment's notebook uses: show a case, show a question, look at an answer's form.

Everything here speaks in sentences and raises nothing at a student. It knows no right answers:
the released ``cases.json`` beside the notebook holds evidence, questions and what comes of actions.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from IPython.core.getipython import get_ipython

from lengthwise.classroom.answer_form import FIELDS, determination_form, exercise_form, tidy_word
from lengthwise.classroom.case_views import ExerciseView, view_of_shown
from lengthwise.classroom.cell_as_typed import as_typed
from lengthwise.classroom.evidence_tables import CaseView
from lengthwise.classroom.form_words import NOTHING_YET, form_in_words
from lengthwise.classroom.plain_text import id_in
from lengthwise.classroom.question_view import QuestionView
from lengthwise.classroom.rounds_check import rounds_in_words
from lengthwise.classroom.typed_beside import names_in
from lengthwise.classroom.worksheet_names import (
    LETTERS,
    UNANSWERED,
    asked_of,
    put_into_notebook,
    spelt,
)
from lengthwise.marking.casebook import case_key
from lengthwise.reconciliation import NEXT_STEPS

_SPELT = spelt((*LETTERS, *NEXT_STEPS))
globals().update(_SPELT)
globals().update(dict.fromkeys(UNANSWERED, ...))

__all__ = [  # noqa: PLE0604, RUF100 — the words are real names, set just above
    "check",
    "check_item",
    "check_rounds",
    "check_values",
    "open_worksheet",
    "show_case",
    "show_item",
    *_SPELT,
    *UNANSWERED,
]

CASES = "cases.json"
_ID = "student_id"
_RUN_ID_FIRST = "Run the cell with your student id first, and the one under it."


@dataclass(frozen=True)
class _Worksheet:
    """What ``cases.json`` holds for one student."""

    cases: dict[str, Any]
    items: dict[str, Any]


class _Open:
    """The one worksheet of this notebook's kernel, and the answers last looked at.

    ``stopped`` says what could not be read in the cell with answers that ran last.
    """

    worksheet: _Worksheet | None = None
    last: tuple[str, tuple[object, ...]] | None = None
    stopped: str = ""
    watched: object = None
    names: frozenset[str] = frozenset(UNANSWERED)


_NOT_AS_IT_STANDS = (
    "This cell is not written as the notebook needs it, but it was read as grading reads it:"
)


def _watch_answer_cells() -> None:
    """From now on notice whether the cells with answers run through."""
    shell = get_ipython()
    if shell is not None and _Open.watched is not shell:
        shell.events.register("post_run_cell", _after_cell)
        shell.set_custom_exc((Exception,), _in_words)
        shell.user_ns.setdefault(_ID, ...)
        _Open.watched = shell


def _in_words(shell: Any, kind: Any, error: Any, trace: Any, tb_offset: Any = None) -> None:
    """No traceback where a cell with answers or the id is not Python: `_after_cell` says it."""
    if not names_in(shell.user_ns["In"][-1]) & {_ID, *_Open.names}:
        shell.showtraceback((kind, error, trace), tb_offset=tb_offset)


def _after_cell(result: Any) -> None:
    """Read a cell with answers as grading will read it, and say which line could not be read."""
    cell, shell = result.info.raw_cell or "", get_ipython()
    typed = as_typed(cell, _Open.names)
    if typed.values:
        _Open.stopped = "; ".join(typed.unread)
        if shell is not None:
            typed.put_into(shell.user_ns)
    if typed.values and not result.success and not typed.unread:
        _say("\n".join((_NOT_AS_IT_STANDS, *(f"{one}." for one in typed.mended))))
    elif typed.unread:
        _say(f"Not read: {_Open.stopped}. Mend it, then run this cell again.")
    if _ID in names_in(cell) and not result.success and shell is not None:
        shell.user_ns[_ID] = ...  # what it still holds does not stand on the screen
        found = id_in(cell)
        said = f'was read as "{found}"; it belongs' if found else "was not read: write it"
        _say(f'Your student id {said} between quotes, like student_id = "student-01".')


def _typed_id(given: object) -> str:
    """The id that a student typed, also where quotes were forgotten and its cell did not run."""
    if given is not ...:
        return id_in(f"{_ID} = {given}") or str(given).strip()
    shell = get_ipython()
    cells = [cell for cell in (shell.user_ns.get("In", ()) if shell else ()) if _ID in cell]
    typed = [cell for cell in cells if _ID in names_in(cell)]
    return (id_in(typed[-1]) if typed else None) or ""


def _not_read() -> str:
    return f"not read: {_Open.stopped}. Mend it, run that cell again, then this one"


def _say(sentence: str) -> None:
    print(sentence)  # noqa: T201 — a worksheet speaks to its student


def open_worksheet(student_id: object = ..., folder: str | Path = ".") -> None:
    """Find the cases of a student in the ``cases.json`` beside the notebook, and say so."""
    _Open.worksheet = None
    _Open.last = None
    _watch_answer_cells()
    typed = _typed_id(student_id)
    if not typed:
        _say(
            "Type your student id in the cell above, between quotes, like "
            'student_id = "student-01", and run it.'
        )
        return
    path = Path(folder) / CASES
    try:
        told = json.loads(path.read_text(encoding="utf-8"))
        students, class_name = told["students"], told["class"]
        mine = students.get(case_key(class_name, told["assignment"], typed))
        target_mm = float(told["target_mm"])
    except OSError:
        _say(
            f"The file {CASES} is not beside this notebook. Keep the two files of the assignment "
            "in one folder and open the notebook from there."
        )
        return
    except (ValueError, KeyError, TypeError, AttributeError):
        _say(f"The file {CASES} is damaged. Get the assignment again; your answers stay here.")
        return
    if mine is None:
        _say(
            f"'{typed}' is not on the class list of {class_name}. Type the id exactly as "
            "your class uses it; if it still does not fit, ask your instructor."
        )
        return
    _Open.worksheet = _Worksheet(mine["cases"], mine["items"])
    shell = get_ipython()
    _Open.names = put_into_notebook(mine["cases"].values(), shell.user_ns if shell else {})
    _say(
        f"Welcome, {typed}. {len(mine['cases'])} cases and "
        f"{len(mine['items'])} questions are yours. Class {class_name}: the target is "
        f"{target_mm:g} mm, so working length = foramen minus {target_mm:g} mm."
    )


def show_case(name: str) -> CaseView | ExerciseView | None:
    """The case called ``name`` ("q1"), as tables."""
    if _Open.worksheet is None:
        _say(_RUN_ID_FIRST)
        return None
    if name not in _Open.worksheet.cases:
        _say(f"There is no case {name!r}; there are {', '.join(_Open.worksheet.cases)}.")
        return None
    return view_of_shown(name, _Open.worksheet.cases[name])


def show_item(name: str) -> QuestionView | None:
    """The question called ``name`` ("i1"), with its options in your order."""
    if _Open.worksheet is None:
        _say(_RUN_ID_FIRST)
        return None
    if name not in _Open.worksheet.items:
        _say(f"There is no question {name!r}; there are {', '.join(_Open.worksheet.items)}.")
        return None
    told = _Open.worksheet.items[name]
    return QuestionView(name, str(told["stem"]), dict(told["options"]))


def check(
    name: str,
    foramen_mm: object = ...,
    working_length_mm: object = ...,
    low_mm: object = ...,
    high_mm: object = ...,
    next_step: object = ...,
) -> None:
    """Look at the form of one determination (lengths in mm) and say it in one sentence."""
    given = (foramen_mm, working_length_mm, low_mm, high_mm, next_step)
    form = determination_form(dict(zip(FIELDS, given, strict=True)), NEXT_STEPS)
    last = _Open.last
    if _Open.stopped:
        said = _not_read()
    elif not form.blank and last is not None and last[0] != name and last[1] == given:
        said = f"these are the answers of {last[0]}: run the cell above this one first"
    else:
        said = form_in_words(form)
        _Open.last = (name, given)
    _say(f"{name}: {said}.")


def check_values(name: str, *given: object) -> None:
    """Look at the form of an exercise's values, in the order asked, and say it in one sentence."""
    if _Open.worksheet is None:
        _say(_RUN_ID_FIRST)
        return
    asked = asked_of(_Open.worksheet.cases.get(name, {}))
    names = [each.name for each in asked]
    form = exercise_form(dict(zip(names, given, strict=False)), asked)
    read = f" ({form.mended[0]})" if form.mended else ""
    if _Open.stopped:
        _say(f"{name}: {_not_read()}.")
    elif form.problems:
        _say(f"{'. '.join(form.problems)}.")
    elif len(form.missing) == len(names):
        _say(f"{name}: {NOTHING_YET}.")
    elif form.missing:
        _say(f"{name}: still to fill in: {', '.join(form.missing)}{read}.")
    else:
        _say(f"{name}: the form is right, all {len(names)} answers can be read{read}.")


def check_rounds(name: str, *given: object) -> None:
    """Say what came of the rounds so far, in the order asked, and look at the form of the rest."""
    if _Open.worksheet is None:
        _say(_RUN_ID_FIRST)
    elif _Open.stopped:
        _say(f"{name}: {_not_read()}.")
    elif "happens" not in _Open.worksheet.cases.get(name, {}):
        _say(f"There are no rounds called {name!r}.")
    else:
        _say(rounds_in_words(name, _Open.worksheet.cases[name], given))


def check_item(name: str, letter: object = ...) -> None:
    """Look at the form of one answer by letter and say it in one sentence."""
    options = _Open.worksheet.items.get(name, {}) if _Open.worksheet is not None else {}
    tidied = tidy_word(name, letter, options.get("options", LETTERS[:4]))
    if _Open.stopped:
        _say(f"{name}: {_not_read()}.")
    elif tidied.problem:
        _say(f"{tidied.problem}.")
    elif tidied.value is None:
        _say(
            f"{name}: nothing is answered yet: type a letter in place of the three dots, and run "
            "that cell (Shift and Enter) before this one."
        )
    else:
        _say(f"{name}: the form is right, {tidied.value} can be read.")


_watch_answer_cells()  # from the first import on: the cell that opens the worksheet asks for the id
