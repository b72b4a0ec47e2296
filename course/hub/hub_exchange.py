"""The exchange of a hub: the part of each class in it, made and looked at."""

import grp
import os
import stat
from pathlib import Path

from hub_faults import fault
from hub_permissions import as_it_is, group_name, is_roots
from lengthwise.classroom.typed import quoted

MODES = {".": 0o2775, "outbound": 0o2775, "inbound": 0o3773, "feedback": 0o2771}
"""A class's part of the exchange. What goes out can be read, what comes in can be put there and not
be listed, and a page of feedback can be opened by whoever knows its name, long as a password."""


def check_exchange(exchange: Path) -> None:
    """Raise where others than root could write beside what the hub makes."""
    status, typed = exchange.stat(), quoted(str(exchange))
    if status.st_mode & 0o022 or not is_roots(status):
        raise fault(
            "exchange", as_it_is(exchange, status), "a folder that root alone may write to",
            f"as root: chown root: {typed}; chmod 755 {typed}",
        )  # fmt: skip


def ready_part(exchange: Path, name: str, graders: str) -> None:
    """Make the part of a class, for the group of its graders, or check the one that is there."""
    check_exchange(exchange)
    for inside, mode in MODES.items():
        path = exchange / name / inside
        if not path.exists():
            path.mkdir()
            os.chown(path, -1, grp.getgrnam(graders).gr_gid)
            path.chmod(mode)
    check_part(exchange / name, graders)


def check_part(part: Path, graders: str) -> None:
    """Raise where something of a class's part is there and open to the wrong."""
    for inside, mode in MODES.items():
        path = part / inside
        if not path.exists():
            continue  # the hub makes it when it starts
        status = path.stat()
        came, owner = stat.S_IMODE(status.st_mode), group_name(status.st_gid)
        if came != mode or owner != graders:
            raise fault(
                "exchange", f"{path}, mode {came:o}, group {owner}",
                f"mode {mode:o}, group {graders}",
                f"as root: chgrp {graders} {quoted(str(path))}; chmod {mode:o} {quoted(str(path))}",
            )  # fmt: skip
