"""What a notebook's names stand for before anything is typed, so that slips do no harm.

Every answer starts out as three dots, so that a cell that was not run yet is no error, and every
word that may be typed stands for itself, so that forgotten quotes are none either (``film`` is
"film", ``B`` is "B"). The names and words of a student's own cases come from ``cases.json``.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from IPython.core.getipython import get_ipython

from lengthwise.classroom.answer_form import FIELDS, AskedForm

LETTERS = ("A", "B", "C", "D", "E", "F")
UNANSWERED = (*FIELDS, *(f"i{number}" for number in range(1, 10)))
"""Names of answers that every assignment may ask for."""


def asked_of(case: Mapping[str, Any]) -> tuple[AskedForm, ...]:
    """The values that a case of ``cases.json`` asks for by name; none for a determination.

    >>> asked_of({"asked": [{"name": "exit_side", "low": 0, "high": 0, "words": ["buccal"]}]})
    (AskedForm(name='exit_side', low=0, high=0, words=('buccal',)),)
    """
    return tuple(
        AskedForm(each["name"], each["low"], each["high"], tuple(each["words"]))
        for each in case.get("asked", ())
    )


def put_into_notebook(cases: Iterable[Mapping[str, Any]]) -> frozenset[str]:
    """Make names and words of these cases known to the notebook, if one is running.

    What was answered before stays. Returns the names of all answers.
    """
    asked = [each for case in cases for each in asked_of(case)]
    names = {each.name for each in asked}
    shell = get_ipython()
    if shell is not None:
        known = shell.user_ns
        shell.push({name: ... for name in names if name not in known}, interactive=False)
        words = {word for each in asked for word in each.words if word.isidentifier()}
        shell.push({word: word for word in words}, interactive=False)
    return frozenset({*UNANSWERED, *names})
