"""One entry of a zip: what its name says, and its bytes within limits. Nothing is unpacked."""

from __future__ import annotations

import re
import stat
import zipfile
import zlib

MOST_BYTES = 5_000_000
_LOCKED = 0x1


def where_in_zip(entry: zipfile.ZipInfo) -> tuple[str, bool]:
    """The name of an entry with plain slashes, and whether it points outside of the zip.

    >>> where_in_zip(zipfile.ZipInfo("ada/a6.ipynb")), where_in_zip(zipfile.ZipInfo("../ada.ipynb"))
    (('ada/a6.ipynb', False), ('../ada.ipynb', True))
    """
    name = entry.filename.replace("\\", "/")
    outside = name.startswith("/") or ".." in name.split("/") or bool(re.match(r"[A-Za-z]:", name))
    return name, outside


def read_entry(archive: zipfile.ZipFile, entry: zipfile.ZipInfo) -> tuple[bytes, str]:
    """The bytes of an entry of at most 5 MB, or nothing and why it is refused."""
    if stat.S_ISLNK(entry.external_attr >> 16):
        return b"", "it is a link, not a file"
    if entry.flag_bits & _LOCKED:
        return b"", "it is locked with a password"
    if entry.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        return b"", "it is packed in a way that is not read; zip it again"
    if entry.file_size > MOST_BYTES:
        return b"", too_large(entry.file_size)
    try:
        with archive.open(entry) as stream:
            data = stream.read(MOST_BYTES + 1)
    except (zipfile.BadZipFile, zlib.error, RuntimeError, NotImplementedError, OSError, EOFError):
        return b"", "it is damaged in the zip"
    return (b"", too_large(len(data))) if len(data) > MOST_BYTES else (data, "")


def too_large(size_bytes: int) -> str:
    """Why a file of this size is not read, and how to make it smaller."""
    return (
        f"it has {size_bytes / 1e6:.1f} MB, and at most {MOST_BYTES / 1e6:g} MB are read; clear "
        "its outputs in JupyterLab (Edit, Clear Outputs of All Cells), save it and hand it in again"
    )
