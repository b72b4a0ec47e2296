"""Who may read and write what of a hub: groups, modes, secrets, and how to mend them."""

import grp
import os
import pwd
import stat
from pathlib import Path

from hub_faults import fault
from lengthwise.classroom.typed import quoted

GATE = 0o2770
"""A class folder: its graders may do everything, what they make stays theirs, nobody else may."""

CLOSED = (".git", "instructor_guide", "tests")
"""What lies beside the course and holds keys, solutions, or the history of both."""


def group(field: str, name: object) -> None:
    """Raise where the system has no such group."""
    try:
        grp.getgrnam(str(name))
    except KeyError:
        raise fault(field, name, "a group of this system", f"make it: groupadd {name}") from None


def group_name(gid: int) -> str:
    """The name of a group of the system, or its number where it has no name."""
    try:
        return grp.getgrgid(gid).gr_name
    except KeyError:
        return str(gid)


def is_roots(status: os.stat_result) -> bool:
    """Whether it belongs to root, as whom the hub runs, or to whoever tries the settings."""
    return status.st_uid in (0, os.geteuid())


def as_it_is(path: Path, status: os.stat_result) -> str:
    """A path with its mode and its owner, for a fault."""
    try:
        owner = pwd.getpwuid(status.st_uid).pw_name
    except KeyError:
        owner = str(status.st_uid)
    return f"{path}, mode {stat.S_IMODE(status.st_mode):o}, owner {owner}"


def check_own(field: str, folder: Path) -> None:
    """Raise where others than root could look at what the hub keeps of those who are logged in."""
    status, typed = folder.stat(), quoted(str(folder))
    if status.st_mode & 0o077 or not is_roots(status):
        raise fault(
            field, as_it_is(folder, status), "a folder that root alone may enter",
            f"as root: chown root: {typed}; chmod 700 {typed}",
        )  # fmt: skip


def secret(where: str, path: object) -> Path | None:
    """The file of a password, which root alone may read."""
    if path is None:
        return None
    file, typed, came = Path(str(path)), quoted(str(path)), str(path)
    there = file.is_file()
    if there:
        status = file.stat()
        came = as_it_is(file, status)
    if not there or status.st_mode & 0o077 or not is_roots(status):
        raise fault(
            f"{where}password_file", came, "a file that root alone may read",
            "write the password of the database into it; as root: "
            f"chown root: {typed}; chmod 600 {typed}",
        )  # fmt: skip
    return file


def check_gate(field: str, folder: Path, graders: str) -> None:
    """Raise where anybody but the graders could get into the class, or a grader could not."""
    typed, secret = quoted(str(folder)), folder / "secret"
    close = f"chmod 600 {quoted(str(secret))}"
    mend = (
        f"as root: chgrp -R {graders} {typed}; chmod -R g+rwX,o-rwx {typed}; "
        f"find {typed} -type d -exec chmod g+s {{}} +; {close}"
    )
    for path in (folder, *(one for one in sorted(folder.iterdir()) if one.is_dir())):
        status = path.stat()
        mode, group = stat.S_IMODE(status.st_mode), group_name(status.st_gid)
        if mode != GATE or group != graders:
            raise fault(
                field, f"{path}, mode {mode:o}, group {group}", f"mode {GATE:o}, group {graders}",
                mend,
            )  # fmt: skip
    if secret.exists() and secret.stat().st_mode & 0o077:
        raise fault(field, f"{secret}, open to others", "mode 600", f"as root: {close}")


def check_course(course: Path) -> None:
    """Raise where students could read what holds the keys of the questions."""
    for path in (course / "items", *(course.parent / name for name in CLOSED)):
        if path.exists() and path.stat().st_mode & 0o007:
            raise fault(
                "course", f"{path}, open to every user", "open to root alone",
                f"as root: chmod o-rwx {quoted(str(path))}",
            )  # fmt: skip
