"""What the check under a question of rounds says: what came of each action, and what is next."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence
from typing import Any

from lengthwise.classroom.answer_form import (
    FIELDS,
    AskedForm,
    determination_form,
    exercise_form,
    tidy_word,
)
from lengthwise.classroom.form_words import form_in_words
from lengthwise.classroom.worksheet_names import asked_of
from lengthwise.evidence import PointTrial
from lengthwise.marking.point_words import mark_in_words
from lengthwise.marking.rounds import Seen, followed, seen_from
from lengthwise.reconciliation import NEXT_STEPS

POINTS_IN_A_ROUND = "dry"
"""The action of a round that dries and tries points, which as a next step is "points"."""

WIDTH_CHARS = 88
"""A longer line would be broken in the middle of a word."""


def rounds_in_words(name: str, case: Mapping[str, Any], given: Sequence[object]) -> str:
    """What came of the rounds so far, and what the form of the conclusion is like.

    Parameters
    ----------
    name : of the question.
    case : the question as it stands in ``cases.json``.
    given : what was typed: the rounds, then the five answers of a determination.
    """
    asked = asked_of(case)
    form = exercise_form(dict(zip([each.name for each in asked], given, strict=False)), asked)
    words = list(form.values.values())
    course = followed(seen_from(case["happens"], case["sentences"]), [str(w) for w in words if w])
    lines = [*form.mended, *_story(course)]
    skipped = next((i for i, word in enumerate(words) if word is None and any(words[i:])), None)
    if form.problems:
        elsewhere = _a_next_step(form.problems[0].partition(":")[0], asked, given)
        return "\n".join([*lines, f"{form.problems[0]}{elsewhere}."])
    if skipped is not None:
        return "\n".join([*lines, f"{name}: still to choose: {asked[skipped].name}."])
    concluded = determination_form(dict(zip(FIELDS, given[len(asked) :], strict=False)), NEXT_STEPS)
    lines += _what_is_next(name, len(course), [each.name for each in asked], course)
    if course and not concluded.blank:
        elsewhere = _an_action(given[-1], asked) if concluded.problems else ""
        lines.append(f"{name}: {form_in_words(concluded)}{elsewhere}.")
    return "\n".join(lines)


def _a_next_step(wrong: str, asked: Sequence[AskedForm], given: Sequence[object]) -> str:
    """What to say where a round holds a word that is a next step and no action."""
    typed = next(raw for each, raw in zip(asked, given, strict=False) if each.name == wrong)
    step = tidy_word(wrong, typed, NEXT_STEPS).value
    if step is None:
        return ""
    instead = f'; in a round it is "{POINTS_IN_A_ROUND}"' if step == "points" else ""
    return f". {step} is a word for next_step, at the end{instead}"


def _an_action(typed: object, asked: Sequence[AskedForm]) -> str:
    """What to say where the next step is a word that is an action of a round."""
    action = tidy_word("next_step", typed, asked[0].words).value
    if action is None or action in NEXT_STEPS:
        return ""
    instead = '; as a next step it is "points"' if action == POINTS_IN_A_ROUND else ""
    return f". {action} is a word for a round{instead}"


def _story(course: Sequence[tuple[str, Seen]]) -> list[str]:
    lines = []
    for number, (word, seen) in enumerate(course, 1):
        said = f"Round {number}, {word}: {seen.said}"
        lines += textwrap.wrap(said, WIDTH_CHARS, subsequent_indent="  ")
        lines += [f"    {_point(trial)}" for trial in seen.trials]
    return lines


def _point(trial: PointTrial) -> str:
    """One point as a line of a chart.

    >>> _point(PointTrial(length_mm=22.0, contact_s=1.0, wet_mm=0.8, liquid="blood"))
    'point set to 22 mm: mark from the tip (mm) 0.8 (blood)'
    """
    mark = mark_in_words(trial)
    where = f"mark from the tip (mm) {mark}" if mark[0].isdigit() else mark
    stuck = "; it did not run freely" if trial.ran_freely is False else ""
    return f"point set to {trial.length_mm:g} mm: {where}{stuck}"


def _what_is_next(
    name: str, done: int, names: Sequence[str], course: Sequence[tuple[str, Seen]]
) -> list[str]:
    if not course:
        return [
            f"{name}: no action yet: type one of the words of the list after {names[0]}, between "
            "quotes, and run that cell (Shift and Enter) before this one."
        ]
    last = course[-1][1]
    if last.refused:
        return [f"{name}: nothing was done; type another word after {names[done - 1]}."]
    if last.over or done == len(names):
        return [f"{name}: the rounds are over. Give a length with its interval, or not yet."]
    return [
        f"{name}: type the next action after {names[done]}, or leave it and give a length with "
        "its interval, or not yet."
    ]
