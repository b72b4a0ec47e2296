"""The case on the desk in practice, and how another one comes there."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lengthwise.marking.practice_chair import Act, Sitting
from lengthwise.marking.practice_difficulty import choose_kind
from lengthwise.marking.practice_marks import Verdict
from lengthwise.marking.practice_record import PracticeRecord
from lengthwise.marking.practice_ways import begin
from lengthwise.panels.practice_picture import PracticePicture


@dataclass
class Desk:
    """The case on the desk, and how far it has come. This changes."""

    sitting: Sitting
    picture: PracticePicture
    missteps: int = 0
    asked: int = 0
    stopped_at: Act | None = None
    verdict: Verdict | None = None


def case_left(record: PracticeRecord) -> Sitting | None:
    """Sit down again with the case that was left; None where there is none.

    What stands in a log may be anything: what cannot be gone on with counts as torn, and is left.
    """
    left = record.left
    if left is None:
        return None
    try:
        return begin(left.kind, left.seed, left.acts)
    except (ArithmeticError, LookupError, TypeError, ValueError):
        record.torn, record.left = record.torn + 1, None
        return None


def another_case(record: PracticeRecord, rng: np.random.Generator) -> Sitting:
    """Begin another case, near the student's level, and write it down."""
    lately = [each.kind for each in record.finished]
    sitting = begin(choose_kind(record.levels[-1], lately, rng), int(rng.integers(2**31)))
    record.began(sitting)
    return sitting
