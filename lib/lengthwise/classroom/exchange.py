"""The grader's side of nbgrader's exchange on a hub: hand out, collect, give back.

Its layout and its buttons are nbgrader's. Three steps are ours, put in by `grading_config`: cases
go out with the notebook; what is collected belongs to the user who owns the file, whatever its
name says, and is one regular notebook (nbgrader itself only warns, and follows links); and a page
of feedback is given to those alone who handed in through the exchange.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path

from nbgrader.exchange.default import (
    ExchangeCollect,
    ExchangeReleaseAssignment,
    ExchangeReleaseFeedback,
)
from nbgrader.utils import temp_attrs

from lengthwise.classroom.class_folder import open_class
from lengthwise.classroom.collect import TIMESTAMP
from lengthwise.classroom.inbound import INBOUND, SECRET, collect_inbound
from lengthwise.classroom.roster import class_list


class HandOut(ExchangeReleaseAssignment):
    """nbgrader's release, with the cases that the class keeps out of everything else."""

    def do_copy(self, src: str, dest: str, log: object = None) -> None:
        """Copy the released notebook and its cases."""
        shutil.copytree(src, dest, ignore=shutil.ignore_patterns(".*"))


class Collect(ExchangeCollect):
    """nbgrader's collecting, by the owner of the file."""

    def init_src(self) -> None:
        """Find the folder; the names in it are not trusted, so they are not read here."""
        self.inbound_path = os.path.join(self.root, self.coursedir.course_id, INBOUND)

    def copy_files(self) -> None:
        """Take in what is new; what was left is said in nbgrader's log."""
        taught = open_class(Path(self.coursedir.root))
        done = collect_inbound(
            Path(self.inbound_path), taught, self.coursedir.assignment_id, class_list(taught)
        )
        for one in done.left:
            self.log.warning("Not taken: %s: %s", one.where, one.reason)
        self.log.info("%s submissions collected", len(done.taken))


class GiveBack(ExchangeReleaseFeedback):
    """nbgrader's release of feedback, for those who have a secret that leads to their page."""

    def copy_files(self) -> None:
        """Put each page under the name that its student alone can work out."""
        pages = Path(self.coursedir.root) / "feedback"
        without = ",".join(_without_secret(pages, self.coursedir.assignment_id))
        with temp_attrs(self.coursedir, student_id_exclude=without):
            super().copy_files()
        for page in Path(self.dest_path).glob("*.html"):
            if page.stat().st_uid == os.getuid():
                page.chmod(0o644)  # the class keeps its own pages from everybody else


def _without_secret(pages: Path, assignment: str) -> Iterator[str]:
    for folder in sorted(pages.glob(f"*/{assignment}")):
        if not all((folder / name).is_file() for name in (TIMESTAMP, SECRET)):
            yield folder.parent.name
