"""Twelve invented students: what each of them believes, and what they would type.

Nobody here is real. Each function answers one case as that student would; the notebooks are then
damaged the way real ones are (`demo_class`).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from lengthwise.classroom.answer_key import StudentKey
from lengthwise.marking.beliefs import implied_lengths_mm
from lengthwise.marking.graded_case import GradedCase
from lengthwise.marking.items import ShuffledItem
from lengthwise.reconciliation import Reconciliation, reconcile

Lines = dict[str, str]
"""What is typed after each equals sign."""

Answer = Callable[[GradedCase, Reconciliation], Lines]

_CAREFUL = (
    "Where they disagree most I trusted the source that stands more than 2 mm from all the others "
    "least: each of them can fail, but not in the same way and by the same amount. Leaving it out "
    "moved my length towards the others and let me write a narrower interval."
)
_VAGUE = "I weighed all the sources carefully and used my clinical judgement."


def careful(case: GradedCase, result: Reconciliation) -> Lines:
    """What the evidence supports."""
    if result.working_length_mm is None:
        return {"next_step": f'"{result.next_step.word}"'}
    low, high = result.interval_mm()
    return _lengths(result.foramen_mm, result.working_length_mm, low, high)


def cautious(case: GradedCase, result: Reconciliation) -> Lines:
    """Nearly right: three quarters of a millimetre short, the interval 0.3 mm wider each way."""
    if result.working_length_mm is None:
        right = (result.next_step.word, *result.next_step.also)
        return {
            "next_step": next(
                f'"{w}"' for w in ("film", "points", "reading", "ask") if w not in right
            )
        }
    low, high = result.interval_mm()
    return _lengths(result.foramen_mm, result.working_length_mm - 0.75, low - 0.3, high + 0.3)


def believes_the_root_end(case: GradedCase, result: Reconciliation) -> Lines:
    """M2: the end of the root on the radiograph is the foramen."""
    implied = implied_lengths_mm(case.evidence)
    apex = implied.get("working_film", implied.get("preoperative_film", result.foramen_mm))
    return _lengths(apex, apex - case.target_mm, apex - 0.5, apex + 0.5)


def believes_the_mean(case: GradedCase, result: Reconciliation) -> Lines:
    """M7: every source deserves the same weight."""
    implied = list(implied_lengths_mm(case.evidence).values())
    mean = sum(implied) / len(implied)
    return _lengths(mean, mean - case.target_mm, mean - 0.5, mean + 0.5)


def believes_in_narrow(case: GradedCase, result: Reconciliation) -> Lines:
    """M11: a narrow interval shows competence."""
    middle = result.foramen_mm
    return _lengths(middle, result.best_length_mm, middle - 0.05, middle + 0.05)


def never_yet(case: GradedCase, result: Reconciliation) -> Lines:
    """Never takes a length: always one more radiograph."""
    return {"next_step": '"film"'}


def _lengths(foramen: float, working: float, low: float, high: float) -> Lines:
    return {
        "foramen_mm": f"{foramen:.2f}",
        "working_length_mm": f"{working:.2f}",
        "low_mm": f"{low:.2f}",
        "high_mm": f"{high:.2f}",
        "next_step": '"confirm"',
    }


@dataclass(frozen=True)
class DemoStudent:
    """One invented student.

    ``about`` says it in a few words; ``answer`` answers a case (None: nothing is answered);
    ``belief`` is the misconception that the items show; ``reason`` is what is written.
    """

    id: str
    about: str
    answer: Answer | None
    belief: str | None = None
    reason: str = _CAREFUL


STUDENTS = (
    DemoStudent("student-01", "right", careful),
    DemoStudent("student-02", "nearly right", cautious, reason=_VAGUE),
    DemoStudent(
        "student-03",
        "the end of the root is the foramen",
        believes_the_root_end,
        "M2",
        "The radiograph shows where the root ends, so I measured from there.",
    ),
    DemoStudent(
        "student-04",
        "the plain mean of all sources",
        believes_the_mean,
        "M7",
        "No source is perfect, so I took the mean of all of them in every case.",
    ),
    DemoStudent("student-05", "intervals far too narrow", believes_in_narrow, "M11"),
    DemoStudent("student-06", "never takes a length", never_yet, reason=_VAGUE),
    DemoStudent("student-07", "handed in untouched", None),
    DemoStudent("student-08", "typed a program as an answer", careful),
    DemoStudent("student-09", "decimal commas", careful),
    DemoStudent("student-10", "copied an answer cell and a check", careful),
    DemoStudent("student-11", "deleted a check", cautious),
    DemoStudent("student-12", "renamed the file and lost its labels", careful),
)


def answer_sources(student: DemoStudent, key: StudentKey) -> dict[str, str]:
    """The text of every answer cell, by its label; empty for a student who answers nothing."""
    if student.answer is None:
        return {}
    sources = {"identity": f'student_id = "{student.id}"', "reason": student.reason}
    weighed = {n: case for n, case in key.cases.items() if isinstance(case, GradedCase)}
    for name, case in weighed.items():
        lines = student.answer(case, reconcile(case.evidence, target_mm=case.target_mm))
        sources[name] = case_source(lines)
    for name, item in key.items.items():
        sources[name] = f'{name} = "{_letter(item, student.belief)}"'
    return sources


def case_source(lines: Lines) -> str:
    """An answer cell as a student leaves it, with three dots where nothing was typed."""
    names = ("foramen_mm", "working_length_mm", "low_mm", "high_mm", "next_step")
    return "\n".join(f"{name} = {lines.get(name, '...')}" for name in names)


def _letter(item: ShuffledItem, belief: str | None) -> str:
    """The option that this belief leads to, or the right one."""
    for letter, option in item.lettered.items():
        if belief is not None and option.misconception == belief:
            return letter
    return next(letter for letter, option in item.lettered.items() if option.correct)
