"""Is this installation well? Every line is something that was tried, what came, what to mend.

The checks of a computer are here, those of a class in `doctor_class`, and those that need a
running program in `doctor_server`.
"""

from __future__ import annotations

import shutil
import sys
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from importlib import metadata
from pathlib import Path

LEAST_FREE_BYTES = 1_000_000_000
OLDEST_PYTHON = (3, 11)
INSTALL_AGAIN = "start the course once with course/start.py, which installs what the lock says"
_LOCK = "requirements.txt"


@dataclass(frozen=True)
class Finding:
    """One check: what was tried, what came, and what to mend; nothing to mend if all is well."""

    tried: str
    came: str
    mend: str = ""


Check = Callable[[], Finding]


def found(tried: str, check: Callable[[], str], mend: str) -> Finding:
    """Try something that returns what came, and raises where something is amiss.

    >>> found("one by nought", lambda: str(1 / 0), "divide by another number")
    Finding(tried='one by nought', came='division by zero', mend='divide by another number')
    """
    try:
        return Finding(tried, check())
    except Exception as error:  # whatever it is, it is a finding, and the next check follows
        lines = str(error).strip().splitlines()
        return Finding(tried, lines[0] if lines else type(error).__name__, mend)


def looked_at(tried: str, look: Callable[[], Finding], mend: str) -> Finding:
    """A look that says itself what to mend; where nobody may look, that is the finding.

    >>> def shut() -> Finding: raise PermissionError(13, "Permission denied", "answers")
    >>> looked_at("Answers", shut, "run this as root").came
    'answers could not be looked at (Permission denied)'
    """
    try:
        return look()
    except OSError as error:
        why = error.strerror or type(error).__name__
        return Finding(tried, f"{error.filename} could not be looked at ({why})", mend)


def examine(checks: Iterable[Check]) -> Iterator[Finding]:
    """Do one check after the other."""
    for check in checks:
        yield check()


def checks_of_computer(place: Path, course: Path) -> tuple[Check, ...]:
    """What every installation needs; ``place`` is where classes are kept."""
    return (
        python,
        lambda: packages(course.parent / _LOCK),
        tables,
        fonts,
        lambda: disk(place),
    )


def python(version: tuple[int, ...] = sys.version_info[:3]) -> Finding:
    """The Python that runs this."""
    came = "Python " + ".".join(map(str, version))
    mend = "install Python 3.11 or later, and start the course with it"
    return Finding("Python", came, mend if version[:2] < OLDEST_PYTHON else "")


def packages(lock: Path) -> Finding:
    """What is installed, against the versions that the course was tested with."""
    return found("Packages against the lock", lambda: _packages(lock), INSTALL_AGAIN)


def _packages(lock: Path) -> str:
    from packaging.requirements import Requirement
    from packaging.utils import canonicalize_name

    pinned = {}
    for line in lock.read_text(encoding="utf-8").splitlines():
        if line and not line.startswith("#"):
            each = Requirement(line)
            if each.marker is None or each.marker.evaluate():
                pinned[canonicalize_name(each.name)] = each.specifier
    here: dict[str, str] = {}
    for one in metadata.distributions():  # the first of a name is the one that is imported
        here.setdefault(canonicalize_name(str(one.name)), one.version)
    needed = {
        canonicalize_name(each.name)
        for each in map(Requirement, metadata.requires("lengthwise") or ())
        if each.marker is None or each.marker.evaluate({"extra": "course"})
    }
    missing = sorted(needed - here.keys())
    other = [
        f"{name} {here[name]} in place of {str(pinned[name])[2:]}"
        for name in sorted(pinned.keys() & here.keys())
        if here[name] not in pinned[name]
    ]
    if missing or other:
        raise ValueError("; ".join([*(f"{name} is missing" for name in missing), *other]))
    return f"{len(pinned.keys() & here.keys())} packages, all as tested"


def tables() -> Finding:
    """The tables of published figures."""
    return found(
        "Tables of published figures", _tables, "install lengthwise again, from a whole copy"
    )


def _tables() -> str:
    import json

    from lengthwise.reference.files import dataset_folder, read_rows

    told = json.loads((dataset_folder() / "datapackage.json").read_text(encoding="utf-8"))
    names = [str(Path(each["path"]).stem) for each in told["resources"]]
    return f"{len(names)} tables, {sum(len(read_rows(name)) for name in names)} rows"


def fonts(style: Path | None = None) -> Finding:
    """The font that pictures are written in."""
    return found(
        "Font of the pictures", lambda: _font(style), "install matplotlib again: it brings the font"
    )


def _font(style: Path | None) -> str:
    from matplotlib import rc_params_from_file
    from matplotlib.font_manager import findfont

    from lengthwise.classroom.report_pictures import STYLE_FILE

    family = rc_params_from_file(style or STYLE_FILE, use_default_template=False)["font.family"]
    return f"{family[0]}: {Path(findfont(family[0], fallback_to_default=False)).name}"


def disk(place: Path, least_bytes: int = LEAST_FREE_BYTES) -> Finding:
    """Room on the disk of the classes."""
    free = shutil.disk_usage(place).free
    return Finding(
        f"Room on the disk of {place}",
        f"{free / 1e9:.1f} GB free",
        "" if free >= least_bytes else f"make room: {least_bytes / 1e9:g} GB are needed",
    )
