"""What the grading tests share besides fixtures."""

from __future__ import annotations

import os
import subprocess
import sysconfig
from dataclasses import dataclass
from pathlib import Path

from lengthwise.classroom.class_folder import ClassFolder

ASSIGNMENT = "a6_reconcile"
SMALL_CLASS = ("ada", "ben", "cal", "dee", "eli", "fay")


def run_lengthwise(*arguments: str | Path, cwd: Path) -> subprocess.CompletedProcess[str]:
    """The real command, in a process of its own."""
    program = Path(sysconfig.get_path("scripts")) / "lengthwise"
    return subprocess.run(
        [str(program), *map(str, arguments)],
        cwd=cwd,
        capture_output=True,
        text=True,
        env={**os.environ, "COLUMNS": "200", "NO_COLOR": "1"},
        check=False,
    )


@dataclass(frozen=True)
class GradedDemo:
    """The demo class after demo, collect, grade, marks, feedback, and what each command said."""

    root: Path
    taught: ClassFolder
    said: dict[str, str]
