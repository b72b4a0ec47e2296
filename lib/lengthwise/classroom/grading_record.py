"""What grading found in one student's file, kept in the class's ``records`` folder.

nbgrader's gradebook holds the points; this holds the words: what was repaired, what could not be
read, which id was typed. It also remembers a digest of every answer, so that a hand mark stays
done for as long as the answer under it is the same.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable
from dataclasses import asdict, dataclass, field
from typing import TYPE_CHECKING

from lengthwise.classroom.class_folder import ClassFolder
from lengthwise.whole_file import write_whole

if TYPE_CHECKING:  # marking takes a second to import, and reading a record needs none of it
    from lengthwise.classroom.mark_cells import Marked


@dataclass(frozen=True)
class GradingRecord:
    """One student, one assignment, one run of grading.

    ``by_hand`` are the labels that an instructor should look at, because something in the answer
    could not be used; ``waiting`` are the parts that were still to be marked when this run ended;
    ``outdated`` says in sentences which hand marks stand on an answer that has changed since;
    ``misconceptions`` are the beliefs that the answers look like, such as ``M7``.
    """

    student: str
    assignment: str
    repaired: tuple[str, ...] = ()
    mended: tuple[str, ...] = ()
    unread: tuple[str, ...] = ()
    by_hand: tuple[str, ...] = ()
    waiting: tuple[str, ...] = ()
    outdated: tuple[str, ...] = ()
    misconceptions: tuple[str, ...] = ()
    typed_id: str | None = None
    digests: dict[str, str] = field(default_factory=dict)

    @classmethod
    def of(
        cls, student: str, assignment: str, repaired: Iterable[str], marked: Marked
    ) -> GradingRecord:
        """The record of a marked notebook; ``repaired`` is what the repair said."""
        return cls(
            student=student,
            assignment=assignment,
            repaired=tuple(repaired),
            mended=marked.mended,
            unread=marked.unread,
            by_hand=marked.by_hand,
            misconceptions=tuple(one.misconception for one in marked.named),
            typed_id=marked.typed_id,
            digests={
                name: hashlib.sha256(text.encode("utf-8", "replace")).hexdigest()
                for name, text in marked.answers.items()
            },
        )

    @property
    def remarks(self) -> tuple[str, ...]:
        """What an instructor should know, shortest first: repairs, mended answers, unread ones."""
        said = list(self.repaired)
        if self.mended:
            more = f" and {len(self.mended) - 1} more" if len(self.mended) > 1 else ""
            said.append(f"mended {self.mended[0]}{more}")
        said += [f"unread {sentence}" for sentence in self.unread]
        said += self.outdated
        if self.typed_id is not None and not _same_id(self.typed_id, self.student):
            said.append(f"another id was typed in it: {self.typed_id[:40]}")
        return tuple(said)

    def unchanged_since(self, before: GradingRecord | None) -> frozenset[str]:
        """Labels of the marks whose answers are the same as when they were last graded."""
        if before is None:
            return frozenset()
        return frozenset(
            name for name, digest in self.digests.items() if before.digests.get(name) == digest
        )


def _same_id(one: str, other: str) -> bool:
    from lengthwise.marking.student_id import folded_id  # with marking around it: see above

    return folded_id(one) == folded_id(other)


def read_record(taught: ClassFolder, student: str, assignment: str) -> GradingRecord | None:
    """The record of the last grading, or None where there is none that can be read."""
    try:
        text = taught.record_path(student, assignment).read_text(encoding="utf-8")
        told = json.loads(text)
        for name, value in told.items():
            if isinstance(value, list):
                told[name] = tuple(value)
        return GradingRecord(**told)
    except (OSError, ValueError, TypeError, KeyError, AttributeError):
        return None


def write_record(taught: ClassFolder, record: GradingRecord) -> None:
    """Keep a record in the class folder, all of it or nothing."""
    path = taught.record_path(record.student, record.assignment)
    path.parent.mkdir(parents=True, exist_ok=True)
    text = json.dumps(asdict(record), indent=1, ensure_ascii=True)
    write_whole(path, text + "\n")
