"""CSV as spreadsheets save it: three separators, four encodings, and plain words when it is not.

Commas, semicolons and tabs separate; UTF-8 with or without a mark at the start, UTF-16 and the
older Western encoding are read. The last cannot be told from others of its kind, so it is said.
"""

from __future__ import annotations

import contextlib
import csv
import io
import re
import warnings
from pathlib import Path

from lengthwise.classroom.errors import ClassroomError, ClassroomWarning

_WORD = re.compile(r"[^\s,;]+")


def read_text(path: Path, what: str, most_bytes: int) -> str:
    """The text of a file, which is ``what``; raises `ClassroomError` for anything else.

    Gives a `ClassroomWarning` where letters may have come out wrong.
    """
    try:
        size = path.stat().st_size
        data = path.read_bytes() if size <= most_bytes else b""
    except OSError as error:
        raise ClassroomError(
            f"The {what} {path} cannot be opened ({error.strerror}); check its name and place."
        ) from error
    if size > most_bytes:
        raise ClassroomError(f"{path} has {size} bytes; a {what} has at most {most_bytes}.")
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        encoding = "utf-16"
    elif data[:4] == b"PK\x03\x04":
        raise ClassroomError(f"{path.name} is a spreadsheet; save it as CSV and use that file.")
    else:
        encoding = "utf-8-sig"
    with contextlib.suppress(UnicodeDecodeError):
        return data.decode(encoding)
    try:
        text = data.decode("cp1252")
    except UnicodeDecodeError:
        raise ClassroomError(f"{path.name} is not a text file; save it as CSV (UTF-8).") from None
    for odd in (word for word in _WORD.findall(text) if not word.isascii()):
        warnings.warn(
            f"{path.name} is not saved as UTF-8, so letters with accents may have come out wrong; "
            f"the first such word reads {odd!r}. If that is not right, save the file as CSV "
            "(UTF-8) and do this again.",
            ClassroomWarning,
            stacklevel=2,
        )
        break
    return text


def numbered_rows(text: str, name: str) -> list[tuple[int, list[str]]]:
    r"""The rows that hold anything, each with its number; the first row is 1.

    >>> numbered_rows("a;b\n\n1; 2\n", "x.csv")
    [(1, ['a', 'b']), (3, ['1', '2'])]
    """
    if "\0" in text:
        raise ClassroomError(f"{name} is not a text file; save it as CSV (UTF-8).")
    first_line = text.strip().split("\n", 1)[0]
    delimiter = max(",;\t", key=first_line.count)
    try:
        rows = list(csv.reader(io.StringIO(text.lstrip("\ufeff")), delimiter=delimiter))
    except csv.Error as error:
        raise ClassroomError(f"{name} is not a CSV file ({error}); save it as CSV.") from error
    return [
        (number, [cell.strip() for cell in row])
        for number, row in enumerate(rows, 1)
        if any(cell.strip() for cell in row)
    ]
