"""So many of something, in words: one file, two files."""

from __future__ import annotations


def counted(n: float, what: str) -> str:
    """A number with its noun, which takes an s where there is not exactly one.

    >>> counted(1, "canal"), counted(2, "canal"), counted(0, "file"), counted(2.5, "point")
    ('1 canal', '2 canals', '0 files', '2.5 points')
    """
    number = str(n) if isinstance(n, int) else f"{n:g}"
    return f"{number} {what}" if n == 1 else f"{number} {what}s"
