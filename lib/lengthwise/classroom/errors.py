"""The one error that the classroom raises on purpose, and the one warning."""

from __future__ import annotations


class ClassroomError(ValueError):
    """Something an instructor can mend: the message says what, where and how, in one sentence."""


class ClassroomWarning(UserWarning):
    """Something an instructor should look at, in one or two sentences; the work goes on."""
