"""One entry of a zip: what its name says, and its bytes within limits. Nothing is unpacked."""

from __future__ import annotations

import re
import stat
import zipfile
import zlib

MOST_BYTES = 5_000_000
DAMAGE = (zipfile.BadZipFile, zlib.error, RuntimeError, EOFError, OSError, ValueError)
"""What reading a zip that was cut off or changed can end in (NotImplementedError among them)."""
_LOCKED, _FLAGGED_UTF8 = 0x1, 0x800


def where_in_zip(entry: zipfile.ZipInfo) -> tuple[str, bool]:
    """The name of an entry with plain slashes, and whether it points outside of the zip.

    >>> where_in_zip(zipfile.ZipInfo("ada/a6.ipynb")), where_in_zip(zipfile.ZipInfo("../ada.ipynb"))
    (('ada/a6.ipynb', False), ('../ada.ipynb', True))
    """
    name = name_in_zip(entry).replace("\\", "/")
    outside = name.startswith("/") or ".." in name.split("/") or bool(re.match(r"[A-Za-z]:", name))
    return name, outside


def name_in_zip(entry: zipfile.ZipInfo) -> str:
    r"""The name of an entry; one that is not flagged as UTF-8 is taken for it where it can be.

    Programs that write UTF-8 often leave the flag out. A name in the old code page (437) with
    letters beyond ASCII is hardly ever UTF-8 by chance.

    >>> name_in_zip(zipfile.ZipInfo("m\u251c\u255dller.ipynb"))
    'm\xfcller.ipynb'
    """
    if entry.flag_bits & _FLAGGED_UTF8:
        return entry.filename
    try:
        return entry.filename.encode("cp437").decode("utf-8")
    except UnicodeError:
        return entry.filename


def is_link(entry: zipfile.ZipInfo) -> bool:
    """Whether an entry is a link to something else."""
    return stat.S_ISLNK(entry.external_attr >> 16)


def is_locked(entry: zipfile.ZipInfo) -> bool:
    """Whether an entry can be read with a password only."""
    return bool(entry.flag_bits & _LOCKED)


def read_entry(archive: zipfile.ZipFile, entry: zipfile.ZipInfo) -> tuple[bytes, str]:
    """The bytes of an entry of at most 5 MB, or nothing and why it is refused."""
    if is_link(entry):
        return b"", "it is a link, not a file"
    if is_locked(entry):
        return b"", "it is locked with a password"
    if entry.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        return b"", "it is packed in a way that is not read; zip it again"
    try:
        data = read_at_most(archive, entry, MOST_BYTES)
    except DAMAGE:
        return b"", "it is damaged in the zip"
    if data is None:
        return b"", too_large(max(entry.file_size, MOST_BYTES + 1))
    return data, ""


def read_at_most(archive: zipfile.ZipFile, entry: zipfile.ZipInfo, most: int) -> bytes | None:
    """The bytes of an entry; None where there are more than ``most``, whatever its head says.

    Raises one of `DAMAGE`.
    """
    if entry.file_size > most:
        return None
    with archive.open(entry) as stream:
        data = stream.read(most + 1)
    return None if len(data) > most else data


def too_large(size_bytes: int) -> str:
    """Why a file of this size is not read, and how to make it smaller."""
    return (
        f"it has {size_bytes / 1e6:.1f} MB, and at most {MOST_BYTES / 1e6:g} MB are read; clear "
        "its outputs in JupyterLab (Edit, Clear Outputs of All Cells), save it and hand it in again"
    )
