"""The assignments that wait in a zip of the whole course, for a student who hands the button that.

Nothing of it is unpacked: the zips of the assignments are read into memory, within limits, and
judged as if each had been chosen by itself.
"""

from __future__ import annotations

import io
import zipfile

from lengthwise.classroom.zip_entries import read_entry, where_in_zip

WAITING = "handed_out"
"""The folder in the course in which assignments that came with it wait to be taken in."""

MOST_WAITING = 40
_START = "course/start.py"


def waiting_in(data: bytes) -> tuple[tuple[str, bytes], ...] | None:
    """Name and bytes of every assignment's zip in a zip of the whole course, in their order.

    None when it is no zip of the course. One that cannot be read is given without bytes, so that
    it is refused by its name.

    >>> waiting_in(b"no zip") is None
    True
    """
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            return _waiting(archive)
    except (zipfile.BadZipFile, OSError, ValueError, NotImplementedError):
        return None  # whoever reads the release says what is wrong with it


def _waiting(archive: zipfile.ZipFile) -> tuple[tuple[str, bytes], ...] | None:
    entries = {where_in_zip(entry)[0]: entry for entry in archive.infolist()}
    tops = [name.removesuffix(_START) for name in entries if f"/{name}".endswith(f"/{_START}")]
    if len(tops) != 1:
        return None
    folder = f"{tops[0]}course/{WAITING}/"
    names = sorted(name for name in entries if name.startswith(folder) and name.endswith(".zip"))
    return tuple(
        (name.removeprefix(folder), read_entry(archive, entries[name])[0])
        for name in names[:MOST_WAITING]
    )
