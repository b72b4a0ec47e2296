"""Which questions of the lessons a student has answered: kept beside the log of practice.

Like that log it lies outside the course, so that a newer course leaves it alone; lines are added
and never changed, and nothing of it is sent anywhere.
"""

import contextlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from .practice_log import PracticeLog


class LessonLog(PracticeLog):
    """A log of answers in a folder, see `PracticeLog`.

    Each answer comes with a log of its own, so nothing waits here: what a disk refuses is not kept.
    """

    file = "lessons.jsonl"


@dataclass(frozen=True)
class LessonSoFar:
    """How far a lesson has come.

    Attributes
    ----------
    answered, right : how many of its questions have an answer, and a right one at the last try.
    asked : how many it has.
    last : when the last answer was given, in this computer's time zone.
    """

    answered: int
    right: int
    asked: int
    last: datetime | None

    @property
    def done(self) -> bool:
        """Whether every question has an answer."""
        return self.answered == self.asked


def note_answer(lesson: str, item: str, right: bool, *, log: LessonLog | None = None) -> None:
    """Keep that a question was answered. A disk that cannot be written stops no lesson.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     log = LessonLog(Path(folder))
    ...     note_answer("01_where", "order", True, log=log)
    ...     lesson_so_far("01_where", ("order", "target"), log.read().events).answered
    1
    """
    event = {
        "event": "answer",
        "lesson": lesson,
        "item": item,
        "right": right,
        "at": datetime.now(UTC).isoformat(timespec="seconds"),
    }
    with contextlib.suppress(OSError):
        (log or LessonLog()).add(event)


def lesson_so_far(
    lesson: str, asked: Iterable[str], events: Iterable[Mapping[str, Any]]
) -> LessonSoFar:
    """How far a lesson has come by what a log holds; what cannot be read counts as nothing.

    Parameters
    ----------
    lesson
        Its name.
    asked
        The names of its questions. Answers to others, of an older course, do not count.
    events
        What was kept, in order.
    """
    names = set(asked)
    answers = [one for one in events if one.get("lesson") == lesson and one.get("item") in names]
    last = {str(one["item"]): one.get("right") is True for one in answers}
    return LessonSoFar(
        answered=len(last),
        right=sum(last.values()),
        asked=len(names),
        last=_when(answers[-1].get("at")) if answers else None,
    )


def _when(text: object) -> datetime | None:
    try:
        # What an earlier version wrote holds no zone: it was this computer's.
        return datetime.fromisoformat(str(text)).astimezone()
    except (ValueError, OverflowError, OSError):
        return None
