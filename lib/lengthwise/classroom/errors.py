"""The one error that the classroom raises on purpose."""

from __future__ import annotations


class ClassroomError(ValueError):
    """Something an instructor can mend: the message says what, where and how, in one sentence."""
