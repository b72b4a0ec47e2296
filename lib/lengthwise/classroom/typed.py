"""Commands as the person at the keyboard types them, for the words "Next: ..."."""

from __future__ import annotations

import json
import os
import re
import shlex
import subprocess
import sys
from collections.abc import Iterable
from pathlib import Path

import lengthwise
from lengthwise.classroom.class_folder import ClassFolder

TYPED = "LENGTHWISE_TYPED"
"""The environment variable in which ``start.py`` says how it was typed: words, as JSON."""

_STARTED = ["py", r"course\start.py"] if sys.platform == "win32" else ["python3", "course/start.py"]
_PLAIN_ON_WINDOWS = re.compile(r"[\w.\\:/-]+")


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
    return quoted_on_windows(text) if sys.platform == "win32" else shlex.quote(text)


def quoted_on_windows(text: str) -> str:
    r"""A word of a command as both command lines of Windows take it.

    Programs split a line at blanks alone; the command lines know more signs, such as ``&``. Within
    quotes one still takes ``%NAME%`` for a variable, the other ``$NAME``: no spelling suits both.

    >>> quoted_on_windows(r"C:\course\start.py"), quoted_on_windows("a&b"), quoted_on_windows("a b")
    ('C:\\course\\start.py', '"a&b"', '"a b"')
    """
    if _PLAIN_ON_WINDOWS.fullmatch(text):
        return text
    # with a blank it is put in quotes, and backslashes before the last of them are doubled
    return subprocess.list2cmdline([f" {text}"]).replace('" ', '"', 1)


def typed_before(installed: str = "lengthwise") -> str:
    """What comes before the words of a command, as it was typed; ``installed`` without start.py."""
    told = os.environ.get(TYPED)
    return spelled(json.loads(told)) if told else installed


def spelled(words: Iterable[str]) -> str:
    """Words as one line to type."""
    return " ".join(map(quoted, words))


def command(words: str, taught: ClassFolder, assignment: str) -> str:
    """A command of this class: with the assignment and the class where they have to be named.

    ``words`` is the command with its own arguments, such as ``collect FOLDER``.
    """
    parts = [typed_before(), words]
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
    return spelled(map(str, words))


def form_view(taught: ClassFolder) -> str:
    """The command that opens the class in the grader's form view."""
    started = typed_before(spelled(_STARTED)).removesuffix(" run")
    return f"{started} --class {shown(taught.root)}"
