"""Simulated students of a7 through real notebooks: typed, repaired, read, marked, and told.

Two of every kind here, in this process. `by_hand` at the end hands in ten of every kind, and lets
`lengthwise collect`, `grade` and `feedback` work on them with real nbgrader:

    python tests/grading/test_simulated_notebooks.py
"""

from __future__ import annotations

import copy
import json
import sys
import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
import simulated_students as simulated
from a7_variants import TARGET_MM, Variant, compose
from grading_tools import class_with, feedback_of, hand_in_and_grade, typed
from lengthwise.classroom.answer_form import FIELDS
from lengthwise.classroom.answer_key import StudentKey, read_key
from lengthwise.classroom.class_folder import ClassFolder
from lengthwise.classroom.demo_class import filled_in
from lengthwise.classroom.mark_cells import Marked, mark_cells
from lengthwise.classroom.repair import repair
from lengthwise.evidence import Evidence
from lengthwise.marking import casebook, marks
from lengthwise.marking.items import LETTERS, Item, read_items
from lengthwise.reconciliation import Reconciliation
from simulated_students import BELIEFS, BY_HAND, CAREFUL, KINDS, Outcome, Sheet

ASSIGNMENT = "a7_ten_canals"
OF_EACH = 2
LOOK = "look as if"


@dataclass(frozen=True)
class HandedIn:
    """What one student typed, and what it would come to without a notebook."""

    kind: str
    cells: Mapping[str, str]
    expected: Outcome


def name_of(kind: str, number: int) -> str:
    return f"{kind.lower().replace(' ', '-')}-{number}"


def a_class(variants: Sequence[Variant], where: Path, course: Path) -> ClassFolder:
    """A released class with one student of every kind on each of the variants."""
    names = {name_of(kind, n): one for kind in KINDS for n, one in enumerate(variants)}
    in_order = iter(names.values())
    with pytest.MonkeyPatch.context() as patch:
        patch.setitem(
            casebook.COMPOSERS,
            ASSIGNMENT,
            lambda *_: {q: case for q, (case, _) in next(in_order).items()},
        )
        return class_with(ASSIGNMENT, where, course, tuple(names))


def handed_in(
    taught: ClassFolder, variants: Sequence[Variant], items: Mapping[str, Item]
) -> dict[str, HandedIn]:
    """The answers of everybody, by student."""
    rng, key = np.random.default_rng(21), read_key(taught, ASSIGNMENT)
    everybody = {}
    for kind in KINDS:
        for number, variant in enumerate(variants):
            sheet = simulated.sheet_of(kind, variant, items, rng)
            name = name_of(kind, number)
            everybody[name] = HandedIn(
                kind, cells_of(sheet, key.of(name)), simulated.outcome_of(sheet, variant, items)
            )
    return everybody


def cells_of(sheet: Sheet, key: StudentKey) -> dict[str, str]:
    """The answer cells as they are typed; an option stands at another letter for everybody."""
    cells = {
        question: typed({name: as_typed(getattr(given, name)) for name in FIELDS})
        for question, given in sheet.determinations.items()
    }
    letters = {
        name: LETTERS[key.items[name].order.index(option)] for name, option in sheet.options.items()
    }
    return cells | {name: typed({name: letter}) for name, letter in letters.items()}


def as_typed(value: float | str | None) -> float | str | None:
    """A plain number of two decimals; a NumPy number would be typed with its name."""
    return round(float(value), 2) if isinstance(value, float) else value


@pytest.fixture(scope="module")
def graded(
    tmp_path_factory: pytest.TempPathFactory, course: Path
) -> dict[str, tuple[HandedIn, Marked]]:
    variants = compose(range(500, 500 + OF_EACH))
    items = read_items(course / "items" / f"{ASSIGNMENT}.toml")
    taught = a_class(variants, tmp_path_factory.mktemp("simulated"), course)
    weighed = {case.evidence.to_json(): r for one in variants for case, r in one.values()}

    def once(evidence: Evidence, *, target_mm: float) -> Reconciliation:
        """The same canals for every kind: each is weighed once."""
        assert target_mm == TARGET_MM
        return weighed[evidence.to_json()]

    released = json.loads(taught.released_notebook(ASSIGNMENT).read_text(encoding="utf-8"))
    key = read_key(taught, ASSIGNMENT)
    found = {}
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(marks, "reconcile", once)
        for name, one in handed_in(taught, variants, items).items():
            notebook = filled_in(released, {"identity": f'student_id = "{name}"', **one.cells})
            repaired = repair(notebook, copy.deepcopy(released))
            found[name] = one, mark_cells(repaired.cells, key.of(name), repaired.lost)
    return found


@pytest.mark.slow
def test_a_notebook_earns_and_is_told_what_its_answers_are(
    graded: dict[str, tuple[HandedIn, Marked]],
) -> None:
    assert len(graded) == OF_EACH * len(KINDS)
    for name, (one, marked) in graded.items():
        points = sum(mark.points for mark in marked.marks.values())
        assert points == pytest.approx(one.expected.points, abs=0.08), name  # rounded by cell
        assert tuple(each.misconception for each in marked.named) == one.expected.named, name
        assert not marked.unread
        assert (LOOK in marked.summary) == bool(one.expected.named)


@pytest.mark.slow
def test_holders_are_told_their_belief_once_with_what_shows_it_and_the_careful_nothing(
    graded: dict[str, tuple[HandedIn, Marked]],
) -> None:
    told = []
    for one, marked in graded.values():
        if one.kind in (CAREFUL, BY_HAND):
            assert marked.summary == ""
        if one.kind not in BELIEFS:
            continue
        told.append(one.kind in {each.misconception for each in marked.named})
        for each in marked.named:
            assert len(set(each.questions)) >= 2
            assert all(f"\n- {sentence}" in marked.summary for sentence in each.evidence[:3])
            assert all(question in marked.summary for question in each.questions)
        shown = [question for each in marked.named for question in set(each.questions)]
        assert len(shown) == len(set(shown)) or one.kind == "M11"  # an answer shows one belief
        single = "".join(mark.explanation for mark in marked.marks.values())
        assert LOOK not in single
    assert np.mean(told) >= 0.9


def by_hand(of_each: int = 10) -> None:
    """Ten of every kind through collecting, grading with nbgrader, and feedback."""
    course = Path(__file__).parents[2] / "course"
    variants = compose(range(500, 500 + of_each))
    items = read_items(course / "items" / f"{ASSIGNMENT}.toml")
    with tempfile.TemporaryDirectory() as folder:
        taught = a_class(variants, Path(folder), course)
        everybody = handed_in(taught, variants, items)
        cells = {name: one.cells for name, one in everybody.items()}
        earned = hand_in_and_grade(taught, ASSIGNMENT, Path(folder), cells)
        off, told = [], []
        for name, one in everybody.items():
            off.append(abs(earned[name]["total"] - one.expected.points))
            page = feedback_of(taught, ASSIGNMENT, name)
            told.append((LOOK in page) == bool(one.expected.named))
        sys.stdout.write(
            f"{len(everybody)} notebooks; points differ by {max(off):.3f} at most; pages that say "
            f"a belief exactly where one is named: {np.mean(told):.1%}\n"
        )


if __name__ == "__main__":
    by_hand()
