"""Write a file all at once, so that a run that is stopped leaves the old one or the new one."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


@contextmanager
def making(target: Path) -> Iterator[Path]:
    """A path beside ``target`` to write to; it takes the target's place when the block ends well.

    An error inside leaves the target as it was. What a killed run left behind is written over by
    the next.
    """
    path = target.with_name(f".{target.name}.making")
    try:
        yield path
        path.replace(target)
    except BaseException:
        path.unlink(missing_ok=True)
        raise


def write_whole(target: Path, text: str) -> None:
    """Write text as UTF-8, all of it or nothing."""
    with making(target) as path:
        path.write_text(text, encoding="utf-8", newline="")
