"""Assignment a7: what it is composed of, whom it tells apart, and its way through nbgrader."""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import a7_students as habits
import numpy as np
import pytest
from grading_tools import (
    class_with,
    feedback_of,
    hand_in_and_grade,
    letters,
    source_of_assignment,
    typed,
)
from lengthwise.classroom.answer_form import FIELDS
from lengthwise.classroom.answer_key import StudentKey, read_key
from lengthwise.classroom.case_views import view_of, view_of_shown
from lengthwise.classroom.read_answers import read_cell
from lengthwise.classroom.repair import label, source_of
from lengthwise.evidence import ElectronicReading, Evidence, PointTrial
from lengthwise.marking import a7_cases, marks
from lengthwise.marking.a7_kinds import KINDS, MOVES_MM
from lengthwise.marking.beliefs import implied_lengths_mm
from lengthwise.marking.believers import BELIEVERS, believers_answer, careful_answer, moved_mm
from lengthwise.marking.casebook import draw_assignment
from lengthwise.marking.determination import Determination
from lengthwise.marking.graded_case import GradedCase, case_from_json, shown_json
from lengthwise.marking.items import read_items
from lengthwise.reconciliation import NEXT_STEPS, Reconciliation, reconcile
from lengthwise.reconciliation.trace_quality import assess_trace

ASSIGNMENT = "a7_ten_canals"
TARGET_MM, MANY = 0.5, 20
QUESTIONS = [f"q{n}" for n in range(1, 11)]
ITEMS = ["i1", "i2", "i3", "i4"]

Drawn = dict[str, GradedCase]


class Weighed:
    """Weighs a case once, however often composing and marking ask."""

    def __init__(self) -> None:
        self.known: dict[int, tuple[Evidence, Reconciliation]] = {}

    def __call__(self, evidence: Evidence, *, target_mm: float) -> Reconciliation:
        if id(evidence) not in self.known:
            self.known[id(evidence)] = evidence, reconcile(evidence, target_mm=target_mm)
        return self.known[id(evidence)][1]


@pytest.fixture(scope="module")
def weighed() -> Iterator[Weighed]:
    once = Weighed()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(a7_cases, "reconcile", once)
        patch.setattr(marks, "reconcile", once)
        patch.setattr(marks, "explain", lambda *_: "")
        yield once


@pytest.fixture(scope="module")
def students(weighed: Weighed) -> list[Drawn]:
    return [a7_cases.draw_cases(TARGET_MM, np.random.default_rng(seed)) for seed in range(MANY)]


@pytest.fixture(scope="module")
def notebook(course: Path) -> dict[str, Any]:
    return source_of_assignment(course, ASSIGNMENT)


def trials(case: GradedCase) -> list[PointTrial]:
    return [one for one in case.evidence.records if isinstance(one, PointTrial)]


def in_items(course: Path) -> set[str]:
    items = read_items(course / "items" / f"{ASSIGNMENT}.toml").values()
    return {str(o.misconception) for item in items for o in item.options if not o.correct}


# --- what it is composed of -----------------------------------------------------------------------


def test_every_student_meets_every_kind_once_in_ten_teeth_and_an_order_of_their_own(
    students: list[Drawn],
) -> None:
    wanted = Counter(kind.trap for kind in KINDS)
    for cases in students:
        assert list(cases) == QUESTIONS
        assert Counter(case.trap for case in cases.values()) == wanted
        assert len({case.evidence.tooth for case in cases.values()}) == len(KINDS)
    for question in QUESTIONS:
        assert len({cases[question].trap for cases in students}) >= 5


def test_two_or_three_canals_are_not_to_be_measured_yet(
    students: list[Drawn], weighed: Weighed
) -> None:
    for cases in students:
        words = {
            case.trap: weighed(case.evidence, target_mm=TARGET_MM).next_step.word
            for case in cases.values()
        }
        unsaid = {trap for trap, word in words.items() if word != "confirm"}
        assert unsaid == {trap for trap in words if trap.startswith("not yet")}
        assert 2 <= len(unsaid) <= 3


def test_two_readings_are_steady_and_short_and_two_are_not_to_be_followed(
    students: list[Drawn],
) -> None:
    """By the signs and by the other sources, as a student sees them."""
    for cases in students:
        short = unstable = 0
        for case in cases.values():
            (trace,) = [
                one for one in case.evidence.records if isinstance(one, ElectronicReading)
            ] or [None]
            if trace is None:
                continue
            implied = implied_lengths_mm(case.evidence)
            others = [mm for kind, mm in implied.items() if kind != "electronic_reading"]
            apart = implied["electronic_reading"] - float(np.mean(others))
            holds = all(sign.holds for sign in assess_trace(trace).signs)
            short += holds and apart < -1.0 and not case.trap.startswith("not yet")
            unstable += not holds and assess_trace(trace).usable < 0.5
        assert short >= 2
        assert unstable >= 2


def test_the_named_traps_are_in_what_is_shown(students: list[Drawn]) -> None:
    for cases in students:
        by_trap = {case.trap: case for case in cases.values()}

        def one(beginning: str, by_trap: dict[str, GradedCase] = by_trap) -> GradedCase:
            return next(case for trap, case in by_trap.items() if trap.startswith(beginning))

        assert {each.contact_s for each in trials(one("points held"))} == {5.0}
        assert not any(each.wet_mm for each in trials(one("not yet: dry")))
        assert trials(one("not yet: a mark"))[-1].mark_site == "side"
        drift = [t.length_mm - t.wet_mm for t in trials(one("not yet: marks")) if t.wet_mm]
        assert drift[-1] - drift[0] >= 0.75
        assert one("none").evidence.context.near_nerve_or_sinus is True
        moved = {each.offset_mm for each in one("another reference").evidence.records}
        assert max(moved) == 0
        assert min(moved) <= -1.2
        stages = {each.stage for each in one("another reference").evidence.records}
        assert {"after_flare", "after_shaping"} <= stages


def test_every_belief_moves_two_canals_or_loses_an_item(
    students: list[Drawn], weighed: Weighed, course: Path
) -> None:
    """How many canals each belief moves: by 0.8 mm or more, or between a length and none.

    Held beside the rule: which beliefs have a single canal and need their item for it.
    """
    asked = in_items(course)
    assert {f"M{n}" for n in range(1, 17)} <= asked | set(BELIEVERS)
    fewest: dict[str, tuple[int, int]] = {}
    for belief in BELIEVERS:
        counts = []
        for cases in students:
            moved = [
                moved_mm(belief, weighed(case.evidence, target_mm=TARGET_MM))
                for case in cases.values()
            ]
            by_far = sum(np.isfinite(mm) and abs(mm) >= MOVES_MM for mm in moved)
            counts.append((by_far, by_far + sum(map(np.isinf, moved))))
        fewest[belief] = min(one for one, _ in counts), min(both for _, both in counts)
        assert fewest[belief][1] >= 2 or belief in asked, belief
    by_length = {belief for belief, (mm, _) in fewest.items() if mm >= 2}
    assert by_length >= {"M1", "M2", "M3", "M8", "M9"}
    either = {belief for belief, (_, both) in fewest.items() if both >= 2}
    assert either >= by_length | {"M7"}
    # One canal each; the second of the two is their item.
    single = {belief for belief, (_, both) in fewest.items() if both == 1}
    assert single == {"M5", "M6", "M13", "M15", "M16"}
    assert single <= asked


def test_a_believer_loses_at_least_half_of_the_canals_that_are_there_for_it(
    students: list[Drawn], weighed: Weighed
) -> None:
    there_for = {trap: kind.moves for kind in KINDS for trap in [kind.trap]} | {
        "not yet: marks that drift, and an unstable reading": ("M1", "M6"),
        "not yet: dry as far as a point may go": ("M13",),
        "not yet: a mark on the side": ("M16",),
        "none, near a nerve or the sinus": ("M9",),
    }
    for cases in students:
        for case in cases.values():
            result = weighed(case.evidence, target_mm=TARGET_MM)
            for belief in there_for[case.trap]:
                marked = marks.mark(believers_answer(belief, result), case)
                # Up to 0.5 mm short of the recommendation earns in full, and a little beyond.
                assert marked.share <= 0.65, (belief, case.trap)
                assert marked.safety_failure == (belief == "M13")
            assert marks.mark(careful_answer(result), case).share == pytest.approx(1, abs=1e-6)


def test_a_careful_student_is_above_who_averages_and_who_takes_the_longest_dry(
    students: list[Drawn], weighed: Weighed
) -> None:
    """With ten ordinary cases in only 81 % and 21 % of the students (course_plan)."""
    rng = np.random.default_rng(1)
    all_ten: dict[str, list[float]] = {}
    with_length: dict[str, list[float]] = {}
    policies = (
        habits.careful, habits.averager, habits.longest_dry, habits.longest_dry_less_target
    )  # fmt: skip
    for cases in students:
        for policy in policies:
            shares = {
                case.trap: marks.mark(policy(case, rng), case).share for case in cases.values()
            }
            all_ten.setdefault(policy.__name__, []).append(sum(shares.values()))
            with_length.setdefault(policy.__name__, []).append(
                sum(share for trap, share in shares.items() if not trap.startswith("not yet"))
            )
    careful = np.array(all_ten.pop("careful"))
    assert careful.min() >= 9.0
    for name, earned in all_ten.items():
        assert np.mean(careful > np.array(earned)) == 1.0, name
        assert np.min(careful - np.array(earned)) >= 2.0, name
    # And not by "not yet" alone: on the seven canals that are measured too.
    careful = np.array(with_length.pop("careful"))
    for name, earned in with_length.items():
        assert np.mean(careful > np.array(earned)) >= 0.95, name


def test_a_kind_that_cannot_be_met_ends_in_an_error(monkeypatch: pytest.MonkeyPatch) -> None:
    never = replace(KINDS[0], sources=lambda case, implied: False, trap="nothing fits")
    monkeypatch.setattr(a7_cases, "KINDS", (never,))
    monkeypatch.setattr(a7_cases, "MOST_ROUNDS", 2)
    with pytest.raises(RuntimeError, match="'nothing fits' in 2 rounds"):
        a7_cases.draw_cases(TARGET_MM, np.random.default_rng(1))


def test_the_same_generator_gives_the_same_canals(students: list[Drawn]) -> None:
    again = draw_assignment(ASSIGNMENT, target_mm=TARGET_MM, rng=np.random.default_rng(0))
    assert again == students[0]


def test_what_is_shown_holds_no_answer_and_no_truth(students: list[Drawn]) -> None:
    for cases in students[:3]:
        for name, case in cases.items():
            shown = shown_json(case)
            assert case_from_json(case.to_json()) == case
            assert view_of(name, case) == view_of_shown(name, json.loads(shown))
            assert '"trap"' not in shown
            assert '"foramen_mm"' not in shown
            assert f"{case.foramen_mm:.4f}"[:-1] not in shown
            lengths = re.findall(r"\d+\.\d+", shown)
            assert all(len(each.split(".")[1]) <= 2 for each in lengths)


# --- the notebook ---------------------------------------------------------------------------------


def test_ten_canals_share_twelve_points_beside_four_items_and_a_reason(
    notebook: dict[str, Any],
) -> None:
    cells = {label(cell): cell for cell in notebook["cells"]}
    points = {
        name: cell["metadata"]["nbgrader"]["points"]
        for name, cell in cells.items()
        if cell["metadata"]["nbgrader"]["grade"]
    }
    wanted = dict.fromkeys((f"{name}_check" for name in QUESTIONS), 1.2)
    assert points == {
        **wanted,
        **dict.fromkeys((f"{name}_check" for name in ITEMS), 1),
        "reason": 4,
    }
    assert sum(points.values()) == pytest.approx(20)
    for name in QUESTIONS:
        assert tuple(read_cell(source_of(cells[name])).values) == FIELDS
        assert source_of(cells[f"{name}_check"]) == f'check("{name}", {", ".join(FIELDS)})'
    rubric = source_of(cells["reason_text"])
    assert re.findall(r"^\| (\d(?: to \d)?) \|", rubric, re.MULTILINE) == ["4", "3", "1 to 2", "0"]
    told = source_of(cells["how_to_answer"])
    assert dict(re.findall(r'^\| `"(\w+)"` \| (.+) \|$', told, re.MULTILINE)) == NEXT_STEPS
    assert "a6" not in json.dumps(notebook)


# --- all the way through nbgrader -----------------------------------------------------------------


def cells_of(key: StudentKey, belief: str) -> dict[str, str]:
    cells = {name: typed({name: one}) for name, one in letters(key, belief).items()}
    for name, case in key.cases.items():
        assert isinstance(case, GradedCase)
        result = reconcile(case.evidence, target_mm=TARGET_MM)
        answer = as_typed(believers_answer(belief, result))
        cells[name] = typed(answer)
    return cells | {"reason": "In the canal of tooth 13 I trusted the reading least: it jumped."}


def as_typed(answer: Determination) -> dict[str, float | str | None]:
    values = {name: getattr(answer, name) for name in FIELDS}
    return {k: round(v, 2) if isinstance(v, float) else v for k, v in values.items()}


@pytest.mark.slow
def test_a_careful_student_earns_sixteen_before_the_reason_and_a_believer_what_is_left(
    tmp_path: Path, course: Path
) -> None:
    taught = class_with(ASSIGNMENT, tmp_path, course)
    key = read_key(taught, ASSIGNMENT)
    cells = {"ada": cells_of(key.of("ada"), "none"), "ben": cells_of(key.of("ben"), "M13")}
    earned = hand_in_and_grade(taught, ASSIGNMENT, tmp_path, cells)
    assert earned["ada"]["total"] == pytest.approx(16, abs=0.05)
    # By hand: whoever goes longer earns nothing for one canal, and the item says it again.
    dry = next(n for n, one in key.of("ben").cases.items() if one.trap.startswith("not yet: dry"))
    assert {one for one, points in earned["ben"].items() if points == 0} == {dry, "i2", "reason"}
    assert earned["ben"]["total"] == pytest.approx(16 - 1.2 - 1, abs=0.05)
    assert earned["ada"]["by_hand"] == earned["ben"]["by_hand"] == 1
    page = feedback_of(taught, ASSIGNMENT, "ben")
    assert "dry point always meant" in page
    assert "Strip chart" in page
    assert "look as if" not in feedback_of(taught, ASSIGNMENT, "ada")
    released = (taught.release_folder(ASSIGNMENT) / "cases.json").read_text(encoding="utf-8")
    for student in key.students.values():
        for case in student.cases.values():
            assert isinstance(case, GradedCase)
            assert str(case.foramen_mm) not in released
            assert case.trap not in released
