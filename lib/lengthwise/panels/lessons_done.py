"""What a student has done of the lessons, for the start page: looked up anew on every return."""

from __future__ import annotations

import html
from collections.abc import Iterable
from pathlib import Path
from typing import Any, NamedTuple

from ipywidgets import HTML, VBox

from lengthwise.marking.items import read_items
from lengthwise.marking.lesson_log import LessonLog, LessonSoFar, lesson_so_far
from lengthwise.panels.begin_anew import NOT_YOURS, begin_anew
from lengthwise.panels.page_return import on_return

NOTHING = "No lesson is begun yet. Begin with the first one in the table."
ALL_DONE = "All lessons are answered. Next: practice, or the assignment of your class."
KEPT = "This is kept with your own files and sent nowhere."
SURE = (
    "Sure? The button below puts this record of the lessons aside, in a file beside it, and no "
    "question counts as answered then. Practice has a record of its own. To keep this one, press "
    "nothing."
)


class Told(NamedTuple):
    """A lesson's name, and how far it has come."""

    lesson: str
    so_far: LessonSoFar

    @property
    def number(self) -> str:
        """Its number, two digits."""
        return self.lesson[:2]


class LessonsDone:
    """A list that brings itself up to date; `widget` shows it."""

    def __init__(self, folder: Path, log: LessonLog) -> None:
        self._folder, self._log = folder, log
        self.shown = HTML()
        self.shown.add_class("jp-RenderedHTMLCommon")
        self.again = begin_anew(log.put_aside, log.path, SURE, "It stays where it lies.")
        self.again.calls.append(self.look_again)
        self.widget = VBox([self.shown, self.again.widget, on_return(self.look_again)])
        self.look_again()

    def look_again(self) -> None:
        """Read the log anew; a question that nobody has answered yet is asked no more."""
        told = lessons_told(self._folder, self._log)
        self.shown.value = told_html(told)
        self.again.show(any(one.so_far.answered for one in told))

    def _repr_mimebundle_(self, **kwargs: Any) -> dict[str, Any]:
        bundle: dict[str, Any] = self.widget._repr_mimebundle_(**kwargs)
        return {**bundle, "text/plain": "What you have done of the lessons"}


def lessons_done(folder: str | Path = "lessons", log: LessonLog | None = None) -> LessonsDone:
    """List what was done of the lessons in a folder.

    Parameters
    ----------
    folder
        Where the lessons and their questions lie; the start page stands beside it.
    log
        What was kept; left out: the student's own.
    """
    return LessonsDone(Path(folder), log or LessonLog())


def lessons_told(folder: Path, log: LessonLog) -> list[Told]:
    """Every lesson with how far it has come; a log that cannot be read says nothing."""
    try:
        events = log.read().events
    except OSError:
        events = ()
    return [
        Told(path.stem, lesson_so_far(path.stem, _counted(path), events))
        for path in sorted(folder.glob("[0-9][0-9]_*.toml"))
    ]


def _counted(path: Path) -> list[str]:
    return [name for name, item in read_items(path).items() if not item.asked_first]


def told_html(told: Iterable[Told]) -> str:
    """One line a lesson that was begun, then what comes next.

    Examples
    --------
    >>> told_html([Told("01_where", LessonSoFar(0, 0, 4, None))])[:40]
    '<p>No lesson is begun yet. Begin with th'
    """
    lessons = list(told)
    begun = [one for one in lessons if one.so_far.answered]
    if not begun:
        return f"<p>{NOTHING} {KEPT}</p>"
    lines = "".join(
        f"<li><strong>Lesson {one.number}</strong>: {html.escape(in_words(one.so_far))}</li>"
        for one in begun
    )
    left = [one for one in lessons if not one.so_far.done]
    then = f"Next: {_link(left[0])}." if left else ALL_DONE
    return f"<ul>{lines}</ul><p>{then}</p><p>{KEPT} {NOT_YOURS}</p>"


def _link(one: Told) -> str:
    """From the start page, as a page or as a notebook, to the same kind of lesson."""
    return f'<a href="lessons/{html.escape(one.lesson)}.ipynb">lesson {one.number}</a>'


def in_words(so_far: LessonSoFar) -> str:
    """How far a lesson has come, in one line.

    Examples
    --------
    >>> from datetime import datetime
    >>> in_words(LessonSoFar(4, 3, 4, datetime(2026, 3, 7, 21, 40)))
    'answered on 7 March; look again at 1 of its 4 questions'
    >>> in_words(LessonSoFar(4, 4, 4, datetime(2026, 3, 7, 21, 40)))
    'answered on 7 March; all 4 right'
    >>> in_words(LessonSoFar(1, 1, 4, None))
    '1 of 4 questions answered'
    """
    if not so_far.done:
        return f"{so_far.answered} of {so_far.asked} questions answered"
    on = "" if so_far.last is None else f" on {so_far.last.day} {so_far.last:%B}"
    wrong = so_far.asked - so_far.right
    then = f"look again at {wrong} of its {so_far.asked} questions" if wrong else (
        f"all {so_far.asked} right"
    )  # fmt: skip
    return f"answered{on}; {then}"
