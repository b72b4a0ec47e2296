"""What a notebook's names stand for before anything is typed, so that slips do no harm.

Every answer starts out as three dots, so that a cell that was not run yet is no error, and every
word that may be typed stands for itself, so that forgotten quotes are none either (``film`` and
``Film`` are "film", ``B`` and ``b`` are "B"). The names and words of a student's own cases come
from ``cases.json``.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, MutableMapping
from typing import Any

from lengthwise.classroom.answer_form import FIELDS, AskedForm

LETTERS = ("A", "B", "C", "D", "E", "F")
UNANSWERED = (*FIELDS, *(f"i{number}" for number in range(1, 10)))
"""Names of answers that every assignment may ask for."""


def spelt(words: Iterable[str]) -> dict[str, str]:
    """Each word under the names by which it may be typed without quotes.

    >>> spelt(["B", "film", "a stop"])
    {'b': 'B', 'B': 'B', 'film': 'film', 'Film': 'film'}
    """
    typed = [word for word in words if word.isidentifier()]
    return {name: word for word in typed for name in (word.lower(), word.capitalize(), word)}


def asked_of(case: Mapping[str, Any]) -> tuple[AskedForm, ...]:
    """The values that a case of ``cases.json`` asks for by name; none for a determination.

    >>> asked_of({"asked": [{"name": "exit_side", "low": 0, "high": 0, "words": ["buccal"]}]})
    (AskedForm(name='exit_side', low=0, high=0, words=('buccal',)),)
    """
    return tuple(
        AskedForm(each["name"], each["low"], each["high"], tuple(each["words"]))
        for each in case.get("asked", ())
    )


def put_into_notebook(
    cases: Iterable[Mapping[str, Any]], known: MutableMapping[str, Any]
) -> frozenset[str]:
    """Make names and words of these cases known to a notebook, whose names so far are `known`.

    What was answered before stays. Returns the names of all answers.

    >>> names = {"exit_side": "lingual"}
    >>> words = [{"name": "exit_side", "low": 0, "high": 0, "words": ["buccal", "lingual"]}]
    >>> answers = put_into_notebook([{"asked": words}], names)
    >>> names["exit_side"], names["buccal"], "exit_side" in answers
    ('lingual', 'buccal', True)
    """
    asked = [each for case in cases for each in asked_of(case)]
    for each in asked:
        known.setdefault(each.name, ...)
        known.update(spelt(each.words))
    return frozenset({*UNANSWERED, *(each.name for each in asked)})
