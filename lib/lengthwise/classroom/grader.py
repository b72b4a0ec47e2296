"""nbgrader's own API for one class, with nothing but the class's configuration.

Settings in a home folder are not read: a class grades the same on every machine.
"""

from __future__ import annotations

import logging
import os
import re
import sysconfig
from typing import Any

from lengthwise.classroom.class_folder import ClassFolder
from lengthwise.classroom.errors import ClassroomError

CONFIG = "nbgrader_config.py"
_RAISED = re.compile(r"^\s*(?:[\w.]+\.)?(\w*(?:Error|Exception|Invalid\w*)): (.+)$", re.MULTILINE)


def settings_of(taught: ClassFolder) -> Any:
    """What the class's configuration says; raises `ClassroomError` where it cannot be read."""
    from traitlets.config.loader import PyFileConfigLoader

    path = taught.root / CONFIG
    if not path.is_file():
        raise ClassroomError(f"{path} is missing; copy it from the course folder into the class.")
    try:
        return PyFileConfigLoader(CONFIG, path=str(taught.root)).load_config()
    except ClassroomError:
        raise
    except Exception as error:
        raise ClassroomError(
            f"{path} cannot be used ({type(error).__name__}: {error}); copy it anew from the "
            "course folder into the class."
        ) from error


def grader(taught: ClassFolder) -> Any:
    """An `NbGraderAPI` for the class. Importing nbgrader takes seconds, so only when needed."""
    from nbgrader.apps import NbGraderAPI

    config = settings_of(taught)
    config.NbGraderAPI.log_level = logging.WARNING
    logging.getLogger("traitlets").addHandler(logging.NullHandler())
    return NbGraderAPI(config=config)


def find_programs_of_this_environment() -> None:
    """Put this environment's programs first on the path.

    nbgrader starts "alembic" by its name when it makes a gradebook; the environment need not have
    been activated for that.
    """
    scripts = sysconfig.get_path("scripts")
    paths = os.environ.get("PATH", "").split(os.pathsep)
    if scripts not in paths:
        os.environ["PATH"] = os.pathsep.join([scripts, *paths])


def said_in_plain_words(result: dict[str, Any]) -> str:
    """What went wrong in a failed run of nbgrader: the last error that it logged."""
    text = f"{result.get('error', '')}\n{result.get('log', '')}"
    found = [(kind, said) for kind, said in _RAISED.findall(text) if kind != "NbGraderException"]
    if not found:
        return "nbgrader could not work on the file"
    kind, said = found[-1]
    if kind == "RecursionError":
        return "it is nested too deeply to be a notebook"
    return said if kind in ("ClassroomError", "ValueError") else f"{said} ({kind})"
