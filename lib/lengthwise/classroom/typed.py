"""Commands as the person at the keyboard types them, for the words "Next: ..."."""

from __future__ import annotations

import os
import shlex
import subprocess
import sys
from pathlib import Path

import lengthwise
from lengthwise.classroom.class_folder import ClassFolder

TYPED = "LENGTHWISE_TYPED"
"""The environment variable in which ``start.py`` says how it was typed, ``run`` included."""

_STARTED = r"py course\start.py" if sys.platform == "win32" else "python3 course/start.py"


def shown(path: Path) -> str:
    """A path to read or to type: from here where it lies below, else whole; never with dots.

    >>> shown(Path("a", "..", "class"))
    'class'
    """
    whole, here = path.resolve(), Path.cwd().resolve()
    text = str(whole.relative_to(here)) if whole.is_relative_to(here) else str(whole)
    return quoted(text)


def quoted(text: str) -> str:
    r"""A word of a command as this system's command line takes it, in quotes where it must be.

    >>> quoted("class"), quoted("my class").strip("'\"")
    ('class', 'my class')
    """
    return subprocess.list2cmdline([text]) if sys.platform == "win32" else shlex.quote(text)


def command(words: str, taught: ClassFolder, assignment: str) -> str:
    """A command of this class: with the assignment and the class where they have to be named.

    ``words`` is the command with its own arguments, such as ``collect FOLDER``.
    """
    parts = [os.environ.get(TYPED, "lengthwise"), words]
    if len(taught.assignments) > 1:
        parts.append(assignment)
    if not Path.cwd().resolve().is_relative_to(taught.root.resolve()):
        parts += ["--class", shown(taught.root)]
    return " ".join(parts)


def install_hub_packages() -> str:
    """The command that brings what talks to PostgreSQL and Dask into this very environment."""
    whole = Path(lengthwise.__file__).resolve().parents[2]
    lock, library = whole / "requirements.txt", whole / "lib"
    # The interpreter's path stays as it is: what it leads to is the Python outside.
    words = (sys.executable, "-m", "pip", "install", "-c", lock, "-e", f"{library}[course,hub]")
    return " ".join(quoted(str(word)) for word in words)


def form_view(taught: ClassFolder) -> str:
    """The command that opens the class in the grader's form view."""
    started = os.environ.get(TYPED, _STARTED).removesuffix(" run")
    return f"{started} --class {shown(taught.root)}"
