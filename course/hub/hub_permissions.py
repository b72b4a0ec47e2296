"""Who may read and write what of a hub: groups, modes, secrets, and how to mend them."""

import grp
import stat
from pathlib import Path

from hub_faults import fault

GATE = 0o2770
"""A class folder: its graders may do everything, what they make stays theirs, nobody else may."""


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


def secret(where: str, path: object) -> Path | None:
    """The file of a password, which its owner alone may read."""
    if path is None:
        return None
    file = Path(str(path))
    if not file.is_file() or file.stat().st_mode & 0o077:
        raise fault(
            f"{where}password_file", path, "a file that its owner alone may read",
            f"write the password of the database into it; chmod 600 {path}",
        )  # fmt: skip
    return file


def check_gate(field: str, folder: Path, graders: str) -> None:
    """Raise where anybody but the graders could get into the class, or a grader could not."""
    mend = (
        f"as root: chgrp -R {graders} {folder}; chmod -R g+rwX,o-rwx {folder}; "
        f"find {folder} -type d -exec chmod g+s {{}} +; chmod 600 {folder}/secret"
    )
    for path in (folder, *(one for one in sorted(folder.iterdir()) if one.is_dir())):
        status = path.stat()
        mode, group = stat.S_IMODE(status.st_mode), group_name(status.st_gid)
        if mode != GATE or group != graders:
            raise fault(
                field, f"{path}, mode {mode:o}, group {group}", f"mode {GATE:o}, group {graders}",
                mend,
            )  # fmt: skip
    secret = folder / "secret"
    if secret.exists() and secret.stat().st_mode & 0o077:
        raise fault(field, f"{secret}, open to others", "mode 600", f"as root: chmod 600 {secret}")


def check_course(course: Path) -> None:
    """Raise where students could read what holds the keys of the questions."""
    for path in (course / "items", course.parent / ".git", course.parent / "instructor_guide"):
        if path.exists() and path.stat().st_mode & 0o007:
            raise fault(
                "course", f"{path}, open to every user", "open to root alone",
                f"as root: chmod o-rwx {path}",
            )  # fmt: skip
