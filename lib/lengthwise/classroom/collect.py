"""Bring handed-in files into a class: one clean notebook a student.

A file is admitted when its owner is clear: the name of the file, where it names somebody on the
class list, else the id typed in it. The two must not contradict each other; two files of one
student that are not the same are a conflict, and neither takes the other's place.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from lengthwise.classroom.class_folder import ClassFolder
from lengthwise.classroom.file_owner import NameBook, name_book, owner_of, students_named
from lengthwise.classroom.handed_in import NOT_A_NOTEBOOK, Found, notebooks_in
from lengthwise.classroom.notebook_file import clean_copy, parsed_notebook, typed_id
from lengthwise.classroom.roster import Student
from lengthwise.classroom.which_assignment import looks_like, signs_of
from lengthwise.whole_file import making

TIMESTAMP = "timestamp.txt"


@dataclass(frozen=True)
class Taken:
    """A file that is now in the class: whose, from where, and how (new, replaced, unchanged)."""

    student: str
    where: str
    how: str
    remark: str = ""


@dataclass(frozen=True)
class Left:
    """A file that was not taken, and why."""

    where: str
    reason: str


@dataclass(frozen=True)
class Elsewhere:
    """Files of another assignment of the class: which, how many, and whose as far as is clear."""

    assignment: str
    files: int
    students: tuple[str, ...]


@dataclass(frozen=True)
class Collection:
    """What collecting did, of whom nothing is in the class, and what belongs to other assignments.

    ``untaken``: those of ``missing`` whose files came and are among ``left``.
    """

    taken: tuple[Taken, ...]
    left: tuple[Left, ...]
    missing: tuple[str, ...]
    elsewhere: tuple[Elsewhere, ...] = ()
    untaken: tuple[str, ...] = ()


@dataclass(frozen=True)
class _Claim:
    """A notebook whose owner is clear (its clean copy), or of which assignment it is."""

    student: str | None
    where: str
    data: bytes
    remark: str
    assignment: str
    stamp: str


def collect(
    place: Path, into: ClassFolder, assignment: str, students: Iterable[Student]
) -> Collection:
    """Take every clear file in ``place`` into the class; running it again changes nothing.

    Parameters
    ----------
    place : folder or zip of handed-in files, as a learning platform makes it. It stays as it is.
    into : the class.
    assignment : which one is collected; files of another one are left and counted.
    students : the class list; names and e-mail addresses help to find the owner of a file.

    Raises
    ------
    ClassroomError
        Where ``place`` is neither folder nor zip, or holds more than a class can hand in.
    """
    return collect_found(notebooks_in(place), into, assignment, students)


def collect_found(
    handed_in: Iterable[Found], into: ClassFolder, assignment: str, students: Iterable[Student]
) -> Collection:
    """Take every clear one of these files into the class, as `collect` does."""
    roster = tuple(students)
    book = name_book(roster, into.assignments)
    signs = {one: signs_of(into.released_notebook(one)) for one in into.assignments}
    claims: dict[str, list[_Claim]] = {}
    others: dict[str, list[_Claim]] = {}
    left: list[Left] = []
    not_notebooks: list[Left] = []
    for found in handed_in:
        if found.refused == NOT_A_NOTEBOOK:
            not_notebooks.append(Left(found.where, found.refused))
            continue
        claim = _claim(found, assignment, book, signs)
        if isinstance(claim, Left):
            left.append(claim)
        elif claim.assignment != assignment:
            others.setdefault(claim.assignment, []).append(claim)
        elif claim.student is None:
            left.append(Left(claim.where, claim.remark))
        else:
            claims.setdefault(claim.student, []).append(claim)
    taken, torn = [], set()
    for student, rivals in sorted(claims.items()):
        if len({claim.data for claim in rivals}) > 1:
            left += [_conflict(student, claim, rivals) for claim in rivals]
            torn.add(student)
            continue
        how = _put(rivals[0], into.submission_folder(student, assignment))
        taken.append(Taken(student, rivals[0].where, how, rivals[0].remark))
    there = set(into.submitted_students(assignment))
    missing = tuple(one.id for one in roster if one.id not in there)
    left += [one for one in not_notebooks if students_named(one.where, book) & set(missing)]
    elsewhere = tuple(_elsewhere(name, those) for name, those in sorted(others.items()))
    came = torn.union(*(students_named(one.where, book) for one in left))
    untaken = tuple(one for one in missing if one in came)
    return Collection(tuple(taken), tuple(left), missing, elsewhere, untaken)


def _claim(
    found: Found, assignment: str, book: NameBook, signs: dict[str, frozenset[str]]
) -> _Claim | Left:
    if found.refused:
        return Left(found.where, found.refused)
    try:
        notebook = parsed_notebook(found.data)
    except ValueError as reason:
        return Left(found.where, str(reason))
    alike = looks_like(notebook, signs)
    if alike is None and signs[assignment]:
        return Left(found.where, f"it holds nothing of {assignment}: it is another notebook")
    owner = owner_of(found.where, typed_id(notebook), book)
    data = clean_copy(notebook)
    return _Claim(owner.student, found.where, data, owner.remark, alike or assignment, found.stamp)


def _elsewhere(assignment: str, claims: list[_Claim]) -> Elsewhere:
    students = {claim.student for claim in claims if claim.student is not None}
    return Elsewhere(assignment, len(claims), tuple(sorted(students)))


def _conflict(student: str, claim: _Claim, claims: list[_Claim]) -> Left:
    others = [other.where for other in claims if other is not claim]
    return Left(
        claim.where,
        f"{student} handed in more than one file (also {', '.join(others)}); "
        "keep the right one in the folder and collect again",
    )


def stamp_text(at: datetime) -> str:
    """A time as nbgrader reads it from the file beside a submission.

    >>> stamp_text(datetime(2026, 3, 7, 9, 0, tzinfo=UTC))
    '2026-03-07 09:00:00.000000 UTC'
    """
    return at.astimezone(UTC).strftime("%Y-%m-%d %H:%M:%S.%f UTC")


def _put(claim: _Claim, folder: Path) -> str:
    """Write a submission; an unchanged one keeps its time stamp, if it has one."""
    target, stamp = folder / f"{claim.assignment}.ipynb", folder / TIMESTAMP
    there = target.read_bytes() if target.is_file() else None
    how = "new" if there is None else "unchanged" if there == claim.data else "replaced"
    folder.mkdir(parents=True, exist_ok=True)
    # The stamp first: what is stopped in between is done again, with the stamp of that time.
    if how != "unchanged" or not stamp.is_file():
        at = claim.stamp or stamp_text(datetime.now(UTC))
        with making(stamp) as draft:
            draft.write_bytes(at.encode("ascii"))
    if how != "unchanged":
        with making(target) as draft:
            draft.write_bytes(claim.data)
    return how
