"""Let nbgrader keep its connection to the gradebook for as long as a worker works.

For every student it opens the gradebook eight times, and each time it connects, looks for all its
tables and makes those that are missing. On a server that is nearly half of a student's time.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

_ENGINES: dict[str, Any] = {}
_ORIGINAL: dict[str, Callable[..., None]] = {}


def keep_gradebooks_open() -> None:
    """In this process, connect to each gradebook once; sessions stay as short as they were.

    Called again, it connects anew: a connection that lay idle may have been cut.
    """
    from nbgrader.api import Gradebook

    for engine in _ENGINES.values():
        engine.dispose()
    _ENGINES.clear()
    _ORIGINAL.setdefault("open", Gradebook.__init__)
    Gradebook.__init__, Gradebook.close = _open, _end_session


def _open(gradebook: Any, db_url: str, course_id: str = "default_course", *rest: Any) -> None:
    """In place of ``Gradebook.__init__``."""
    from sqlalchemy.orm import scoped_session, sessionmaker

    if db_url not in _ENGINES:
        _ORIGINAL["open"](gradebook, db_url, course_id, *rest)
        _ENGINES[db_url] = gradebook.engine
        return
    gradebook.engine = _ENGINES[db_url]
    gradebook.db = scoped_session(sessionmaker(autoflush=True, bind=gradebook.engine, future=True))
    gradebook.check_course(course_id=course_id)
    gradebook.course_id, gradebook.authenticator = course_id, rest[0] if rest else None


def _end_session(gradebook: Any) -> None:
    """In place of ``Gradebook.close``."""
    gradebook.db.remove()
