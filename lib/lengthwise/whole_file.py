"""Write a file all at once, so that a run that is stopped leaves the old one or the new one."""

from __future__ import annotations

import contextlib
import glob
import os
import secrets
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

LEFT_BEHIND_S = 3600.0
"""A draft as old as this was left behind by a run that was killed."""

WAITS_S = (0.05, 0.2, 1.0)
"""How long to wait for somebody who has the target open: on Windows it cannot be replaced then."""


@contextmanager
def making(target: Path) -> Iterator[Path]:
    """A path beside ``target`` to write to; it takes the target's place when the block ends well.

    An error inside leaves the target as it was. Of several who write at the same time each has a
    draft of their own, and the last one stays. What a killed run left behind goes when the same
    target is written an hour later.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     with making(Path(folder, "marks.csv")) as draft:
    ...         written = draft.write_text("student,points", encoding="utf-8")
    ...     [path.name for path in Path(folder).iterdir()]
    ['marks.csv']
    """
    _clear_away_old_drafts(target)
    draft = target.with_name(f".{target.name}.{secrets.token_hex(4)}.making")
    try:
        yield draft
        _through_to_the_disk(draft)
        _put_in_place(draft, target)
    except BaseException:
        draft.unlink(missing_ok=True)
        raise


def write_whole(target: Path, text: str) -> None:
    """Write text as UTF-8, all of it or nothing."""
    with making(target) as draft:
        draft.write_text(text, encoding="utf-8", newline="")


def _clear_away_old_drafts(target: Path) -> None:
    for draft in target.parent.glob(f".{glob.escape(target.name)}.*.making"):
        with contextlib.suppress(OSError):  # another run may clear away just now
            if time.time() - draft.stat().st_mtime > LEFT_BEHIND_S:
                draft.unlink()


def _through_to_the_disk(draft: Path) -> None:
    """Else a machine that loses its power may keep the new name and nothing in the file."""
    with draft.open("r+b") as file:
        os.fsync(file.fileno())


def _put_in_place(draft: Path, target: Path) -> None:
    for wait_s in WAITS_S:
        try:
            draft.replace(target)
            return
        except PermissionError:
            time.sleep(wait_s)
    draft.replace(target)
