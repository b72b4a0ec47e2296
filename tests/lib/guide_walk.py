"""Doing what the guide says: its commands, as they stand there, in a clean folder.

The folder holds nothing but the course's ``start.py``, a link to the checkout's: so the environment
that is there is used. Whatever else a command needs, a page said to save it, or a command made it,
or the test put it there as the person whom the page speaks to would.
"""

import contextlib
import io
import json
import os
import re
import shlex
import subprocess
import sys
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from unittest import mock

from grading_tools import here
from guide import ROOT, START, Command, Saved
from lengthwise import cli
from lengthwise.classroom import dask_workers
from lengthwise.classroom.typed import TYPED
from opening import program

WIDE = {"COLUMNS": "200", "NO_COLOR": "1"}


@dataclass(frozen=True)
class Said:
    """A command, how it ended, and what it said on either output."""

    command: Command
    code: int
    text: str

    @property
    def following(self) -> list[tuple[str, ...]]:
        """The commands that it told to run, as arguments, in its order."""
        told = re.findall(rf"{re.escape(START)} [^()\n]+", self.text)
        return [tuple(shlex.split(one.removeprefix(START))) for one in told]


Run = Callable[[Command, Path], Said]


def clean_place(where: Path) -> Path:
    """The folder in which the guide's commands are typed, new, with nothing of its own in it."""
    course = where / "lengthwise" / "course"
    course.mkdir(parents=True)
    (course / "start.py").symlink_to(ROOT / "course" / "start.py")
    return course.parent


def surroundings() -> dict[str, str]:
    """The variables of somebody's terminal: this environment's Python is the one called python3."""
    path = os.pathsep.join([str(Path(sys.executable).parent), os.environ.get("PATH", "")])
    return {**os.environ, **WIDE, "PATH": path}


def as_typed(command: Command, place: Path) -> Said:
    """The line as it stands in the guide, in a shell."""
    done = subprocess.run(
        command.line, shell=True, cwd=place, env=surroundings(), capture_output=True, text=True
    )
    return Said(command, done.returncode, done.stdout + done.stderr)


def in_process(command: Command, place: Path) -> Said:
    """The same through the course's ``main``, and graded here: processes take seconds to import."""
    heard = io.StringIO()

    def forwarded(_: Path, arguments: list[str]) -> int:
        with mock.patch.object(sys, "argv", ["lengthwise", *arguments]):
            try:
                cli.main()
            except SystemExit as end:
                return int(end.code or 0)
        return 0

    with (
        contextlib.chdir(place),
        contextlib.redirect_stdout(heard),
        contextlib.redirect_stderr(heard),
        mock.patch.dict(os.environ, {**WIDE, TYPED: json.dumps([*START.split(), "run"])}),
        mock.patch.object(program, "run_command", forwarded),
        mock.patch.object(program, "stop_on_signals"),
        mock.patch.object(dask_workers, "in_processes", here),
    ):
        try:
            code = program.main(list(command.arguments))
        except SystemExit as end:  # what start.py itself does not know
            code = int(end.code or 0)
    return Said(command, code, heard.getvalue())


def follow(
    there: Iterable[Saved | Command],
    place: Path,
    run: Run = in_process,
    supplied: Mapping[str, Callable[[], None]] | None = None,
) -> list[Said]:
    """Do what a page says, step by step; a command that fails is an AssertionError with its words.

    ``supplied`` is what the person does before a command, by the command's name.
    """
    done = []
    for one in there:
        if isinstance(one, Saved):
            (place / one.name).write_text(one.text, encoding="utf-8")
            continue
        (supplied or {}).get(name_of(one.arguments), lambda: None)()
        said = run(one, place)
        assert said.code == 0, f"{one.line}\n{said.text}"
        done.append(said)
    return done


def name_of(arguments: tuple[str, ...]) -> str:
    """The name of a command: the word after run; empty where a server is started."""
    return arguments[arguments.index("run") + 1] if "run" in arguments else ""


def leads_on(said: Said, after: Command, place: Path) -> bool:
    """Whether a command told to run the one that follows it in the guide, on the same class."""
    wanted = (name_of(after.arguments), _class(after.arguments, place))
    return wanted in [(name_of(one), _class(one, place)) for one in said.following]


def _class(arguments: tuple[str, ...], place: Path) -> Path | None:
    words = list(arguments)
    named = words[words.index("--class") + 1] if "--class" in words else None
    return None if named is None else (place / named).resolve()
