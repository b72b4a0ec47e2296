"""Feedback pages: nbgrader's own, sealed so that they load nothing and run nothing.

nbgrader's page fetches scripts from the network and shows a student's text. A page that goes to
students must work offline and keep to itself, so its scripts are taken out and a content security
policy tells the browser to run and fetch nothing.
"""

from __future__ import annotations

import re
import zipfile
from collections.abc import Iterable
from pathlib import Path

from lengthwise.classroom.class_folder import ClassFolder, open_class

_SCRIPT = re.compile(r"<script\b.*?</script\s*>", re.IGNORECASE | re.DOTALL)
_POLICY = (
    '<meta http-equiv="Content-Security-Policy" '
    "content=\"default-src 'none'; img-src data:; style-src 'unsafe-inline'; font-src data:\">"
)
_PHONE = '<meta name="viewport" content="width=device-width, initial-scale=1">'


def page_path(taught: ClassFolder, student: str, assignment: str) -> Path:
    """Where a student's feedback page is."""
    return taught.root / "feedback" / student / assignment / f"{assignment}.html"


def sealed(page: str) -> str:
    """The page without scripts, with the policy, a language and a title bar that fits a phone.

    >>> "script" in sealed("<html><head><script>x</script></head></html>")
    False
    """
    page = _SCRIPT.sub("", page)
    if _POLICY not in page:
        page = page.replace("<head>", f"<head>\n{_POLICY}\n{_PHONE}", 1)
    return page.replace("<html>", '<html lang="en">', 1)


def seal_pages(assignment: str, student: str, notebooks: Iterable[str]) -> None:
    """Called by nbgrader after it wrote a student's feedback, whichever way it was asked to."""
    for notebook in notebooks:
        path = Path(notebook)
        taught = open_class(path.parent)
        seal_page(page_path(taught, path.parts[-3], path.parts[-2]))


def seal_page(path: Path) -> None:
    """Seal one page in its place."""
    path.write_text(sealed(path.read_text(encoding="utf-8")), encoding="utf-8")


def zip_pages(taught: ClassFolder, assignment: str, students: Iterable[str]) -> Path:
    """Put every student's page into one zip and return its path."""
    target = taught.root / "feedback" / f"{assignment}.zip"
    making = target.with_suffix(".making")
    with zipfile.ZipFile(making, "w", zipfile.ZIP_DEFLATED) as archive:
        for student in sorted(students):
            archive.write(page_path(taught, student, assignment), f"{student}/{assignment}.html")
    making.replace(target)
    return target
