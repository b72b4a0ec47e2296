"""What a7 is composed of, and whom it tells apart: its variants, and simulated students of them.

Twenty variants here, three students of every kind on each. `by_hand` at the end does it with two
hundred others, prints the figures and writes the matrix into the instructor's guide:

    python tests/grading/test_simulated_students.py
"""

from __future__ import annotations

import json
import re
import sys
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

import a7_students as habits
import numpy as np
import pytest
import simulated_students as simulated
from a7_variants import TARGET_MM, Once, Variant, compose, quick_marks
from lengthwise.classroom.case_views import view_of, view_of_shown
from lengthwise.evidence import ElectronicReading, PointTrial
from lengthwise.marking import a7_cases, marks
from lengthwise.marking.a7_kinds import KINDS, MOVES_MM
from lengthwise.marking.beliefs import implied_lengths_mm
from lengthwise.marking.believers import BELIEVERS, believers_answer, careful_answer
from lengthwise.marking.casebook import draw_assignment
from lengthwise.marking.graded_case import GradedCase, case_from_json, shown_json
from lengthwise.marking.items import Item, read_items
from lengthwise.marking.misconceptions import MISCONCEPTIONS
from lengthwise.reconciliation import Reconciliation
from lengthwise.reconciliation.trace_quality import assess_trace
from misconception_matrix import GUIDE, Matrix, as_markdown, matrix_in, matrix_of, with_matrix
from scipy.stats import binomtest
from simulated_students import BELIEFS, BY_HAND, CAREFUL, ERRATIC, GUESSER, Outcome

ASSIGNMENT = "a7_ten_canals"
MANY, OF_EACH, READINGS = 20, 3, 12
QUESTIONS = [f"q{n}" for n in range(1, 11)]

Drawn = dict[str, GradedCase]
Outcomes = dict[str, list[list[Outcome]]]
"""By kind: for every variant the students of this kind."""


@pytest.fixture(scope="module")
def variants() -> list[Variant]:
    return compose(range(MANY))


@pytest.fixture(scope="module")
def weighed(variants: list[Variant]) -> Iterator[Once[Reconciliation]]:
    with pytest.MonkeyPatch.context() as patch:
        yield quick_marks(patch, variants)


@pytest.fixture(scope="module")
def students(variants: list[Variant]) -> list[Drawn]:
    return [{q: case for q, (case, _) in one.items()} for one in variants]


@pytest.fixture(scope="module")
def items(course: Path) -> dict[str, Item]:
    return read_items(course / "items" / f"{ASSIGNMENT}.toml")


@pytest.fixture(scope="module")
def outcomes(
    variants: list[Variant], weighed: Once[Reconciliation], items: dict[str, Item]
) -> Outcomes:
    return simulate(variants, items, OF_EACH)


def trials(case: GradedCase) -> list[PointTrial]:
    return [one for one in case.evidence.records if isinstance(one, PointTrial)]


def in_items(items: dict[str, Item]) -> set[str]:
    return {str(o.misconception) for one in items.values() for o in one.options if not o.correct}


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
    students: list[Drawn], weighed: Once[Reconciliation]
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


def moved_mm(misconception: str, result: Reconciliation) -> float:
    """How far the belief moves the working length (mm, positive is longer).

    Infinite where it takes a length that a careful student does not take, or the other way round,
    and where it goes on longer; 0 where it changes nothing.
    """
    believed, careful = believers_answer(misconception, result), careful_answer(result)
    lengths = believed.working_length_mm, careful.working_length_mm
    if lengths[0] is not None and lengths[1] is not None:
        return lengths[0] - lengths[1]
    return 0.0 if believed == careful else np.inf


def test_every_belief_moves_two_canals_or_loses_an_item(
    students: list[Drawn], weighed: Once[Reconciliation], items: dict[str, Item]
) -> None:
    """How many canals each belief moves: by 0.8 mm or more, or between a length and none.

    Held beside the rule: which beliefs have a single canal and need their item for it.
    """
    asked = in_items(items)
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
    students: list[Drawn], weighed: Once[Reconciliation]
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
    students: list[Drawn], weighed: Once[Reconciliation]
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
    assert careful.min() >= 8.75
    for name, earned in all_ten.items():
        assert np.mean(careful > np.array(earned)) == 1.0, name
        assert np.min(careful - np.array(earned)) >= 2.0, name
    # And not by "not yet" alone: on the seven canals that are measured too.
    careful = np.array(with_length.pop("careful"))
    for name, earned in with_length.items():
        assert np.mean(careful > np.array(earned)) >= 0.85, name
        assert np.mean(careful - np.array(earned)) >= 0.7, name


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


# --- whom it tells apart --------------------------------------------------------------------------

ITEMS_ONLY = sorted(set(BELIEFS) - set(BELIEVERS))
SURE = 0.01
"""A share is said to be missed only where chance alone would give it once in a hundred times."""


def simulate(variants: Sequence[Variant], items: dict[str, Item], of_each: int) -> Outcomes:
    """Students of every kind on every variant."""
    rng = np.random.default_rng(7)
    return {
        kind: [
            [
                simulated.outcome_of(simulated.sheet_of(kind, one, items, rng), one, items)
                for _ in range(of_each)
            ]
            for one in variants
        ]
        for kind in simulated.KINDS
    }


def all_of(outcomes: Outcomes, kind: str) -> list[Outcome]:
    return [one for on_variant in outcomes[kind] for one in on_variant]


def outranked(outcomes: Outcomes, kind: str) -> float:
    """The share of pairs on one variant in which the careful one has more points."""
    pairs = [
        careful.points > other.points
        for together, others in zip(outcomes[CAREFUL], outcomes[kind], strict=True)
        for careful in together
        for other in others
    ]
    return float(np.mean(pairs))


def test_a_careful_student_outranks_every_other_on_the_same_variant(outcomes: Outcomes) -> None:
    for kind in (*BELIEFS, ERRATIC, GUESSER):
        assert outranked(outcomes, kind) >= 0.99, kind
    assert outranked(outcomes, CAREFUL) < 0.5  # the figure can be missed


def test_a_belief_that_shows_in_items_only_loses_its_items(
    outcomes: Outcomes, items: dict[str, Item]
) -> None:
    assert ITEMS_ONLY == ["M10", "M12", "M14"]
    careful = np.mean([one.points for one in all_of(outcomes, CAREFUL)])
    for belief in ITEMS_ONLY:
        asked = [
            n for n, one in items.items() if any(o.misconception == belief for o in one.options)
        ]
        assert len(asked) == 2
        held = all_of(outcomes, belief)
        lost = [sum(1 - one.shares[name] for name in asked) for one in held]
        assert np.mean(lost) >= 1.9
        assert careful - np.mean([one.points for one in held]) == pytest.approx(2, abs=0.25)


def test_every_belief_is_named_to_nine_of_ten_who_hold_it(outcomes: Outcomes) -> None:
    named = {
        belief: [belief in one.named for one in all_of(outcomes, belief)] for belief in BELIEFS
    }
    for belief, told in named.items():
        missed = binomtest(sum(told), len(told), 0.9, alternative="less").pvalue < SURE
        assert not missed, (belief, sum(told), len(told))
    assert np.mean(list(named.values())) >= 0.95


def test_a_careful_student_is_told_no_belief(outcomes: Outcomes) -> None:
    """Neither who goes by the library nor who does by hand what the lessons teach."""
    for kind in (CAREFUL, BY_HAND):
        told = [bool(one.named) for one in all_of(outcomes, kind)]
        assert binomtest(sum(told), len(told), 0.05, alternative="greater").pvalue >= SURE, kind
        assert np.mean(told) <= 0.05, kind


def test_a_careful_student_who_reads_badly_and_slips_often_is_told_no_belief(
    variants: list[Variant],
    weighed: Once[Reconciliation],
    items: dict[str, Item],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(simulated, "SLIPS", 3 * simulated.SLIPS)
    monkeypatch.setattr(simulated, "READS_MM", 2 * simulated.READS_MM)
    rng = np.random.default_rng(13)
    told = [
        bool(simulated.outcome_of(simulated.sheet_of(kind, one, items, rng), one, items).named)
        for kind in (CAREFUL, BY_HAND)
        for one in variants
    ]
    assert np.mean(told) <= 0.05


def test_who_answers_at_random_is_seldom_told_a_belief(outcomes: Outcomes) -> None:
    for kind in (ERRATIC, GUESSER):
        assert np.mean([bool(one.named) for one in all_of(outcomes, kind)]) <= 0.15, kind


def test_holders_are_hardly_ever_told_another_belief_than_theirs(outcomes: Outcomes) -> None:
    others = [set(one.named) - {belief} for belief in BELIEFS for one in all_of(outcomes, belief)]
    assert np.mean([bool(one) for one in others]) <= 0.03


def test_the_matrix_of_the_guide_is_what_comes_out(outcomes: Outcomes, repo_root: Path) -> None:
    printed = matrix_in((repo_root / GUIDE).read_text("utf-8"))
    made = matrix_of({kind: all_of(outcomes, kind) for kind in simulated.KINDS})
    assert list(printed) == list(made)
    assert not unlike(printed, made, MANY * OF_EACH)
    wrong = {**printed, "M4": {**printed["M4"], "M4": 0.5, "M16": 0.5}}
    assert unlike(wrong, made, MANY * OF_EACH) == [("M4", "M4"), ("M4", "M16")]


def unlike(printed: Matrix, made: Matrix, number: int) -> list[tuple[str, str]]:
    """Cells further apart than three standard errors of a share of so many, and 5 %."""
    found = []
    for kind, row in printed.items():
        for name, share in row.items():
            near = min(max(share, 0.02), 0.98)
            apart = 0.05 + 3 * float(np.sqrt(near * (1 - near) / number))
            if abs(made[kind][name] - share) > apart:
                found.append((kind, name))
    return found


def test_the_guide_says_what_students_are_told_and_where_each_belief_is_asked(
    items: dict[str, Item], repo_root: Path
) -> None:
    guide = (repo_root / GUIDE).read_text("utf-8")
    for name, one in MISCONCEPTIONS.items():
        section = guide.split(f"### {name}: {one.belief}\n")[1].split("\n### ")[0]
        assert f"your answers look as if {one.look_as_if}. Look again at {one.again}." in section
        asked = [item for item, each in items.items() if name in in_items({item: each})]
        shows = section.split("**Shows in a7:**")[1].split("**The student")[0]
        assert re.findall(r"\bi\d\b", shows) == asked, name


# --- equal difficulty, and reliability ------------------------------------------------------------


def test_lengths_are_known_about_as_well_in_every_variant(variants: list[Variant]) -> None:
    """A band for every canal that is measured, and for the mean of a variant's seven."""
    means = []
    for one in variants:
        spread = [r.foramen_sd_mm for _, r in one.values() if r.working_length_mm is not None]
        assert len(spread) == 7
        assert 0.15 <= min(spread) <= max(spread) <= 0.40
        means.append(np.mean(spread))
    assert max(means) - min(means) <= 0.08


def test_a_careful_student_may_expect_the_same_points_in_every_variant(
    variants: list[Variant], weighed: Once[Reconciliation], items: dict[str, Item]
) -> None:
    """Within one point of twenty, from the easiest variant to the hardest."""
    rng = np.random.default_rng(11)
    for kind in (CAREFUL, BY_HAND):
        expected = expected_points(kind, variants, items, rng)
        assert max(expected) - min(expected) <= 1.0, (kind, min(expected), max(expected))


def expected_points(
    kind: str, variants: Sequence[Variant], items: dict[str, Item], rng: np.random.Generator
) -> list[float]:
    """The mean of the ten canals' points over many readings; items are the same for everybody."""
    return [
        float(
            np.mean(
                [
                    simulated.canal_points(simulated.sheet_of(kind, one, items, rng), one)
                    for _ in range(READINGS)
                ]
            )
        )
        for one in variants
    ]


def test_the_points_of_a_class_are_reliable(outcomes: Outcomes) -> None:
    """Cronbach's alpha by a library, over canals by their trap and the four items."""
    alpha = alpha_of(outcomes)
    assert alpha >= 0.8, alpha
    careful_only = dict.fromkeys(simulated.KINDS, outcomes[CAREFUL])
    assert alpha_of(careful_only) < 0.5  # where nobody differs there is nothing to rely on


def alpha_of(outcomes: Outcomes) -> float:
    """Of a class: 40 % careful, 40 % with one belief, 10 % erratic, 10 % guessing."""
    from pandas import DataFrame
    from pingouin import cronbach_alpha

    number = len(all_of(outcomes, CAREFUL))
    holders = [all_of(outcomes, BELIEFS[n % len(BELIEFS)])[n] for n in range(number)]
    shares = {CAREFUL: 0.4, ERRATIC: 0.1, GUESSER: 0.1}
    a_class = holders[: round(0.4 * number)]
    for kind, share in shares.items():
        a_class += all_of(outcomes, kind)[: round(share * number)]
    return float(cronbach_alpha(data=DataFrame([one.points_by_trap for one in a_class]))[0])


# --- by hand --------------------------------------------------------------------------------------


def figures(variants: Sequence[Variant], items: dict[str, Item]) -> list[str]:
    """All figures, and the guide's matrix, with one student of every kind on every variant."""
    lines = []
    with pytest.MonkeyPatch.context() as patch:
        quick_marks(patch, variants)
        outcomes = simulate(variants, items, 1)
        rng = np.random.default_rng(11)
        for kind in (CAREFUL, BY_HAND):
            expected = expected_points(kind, variants, items, rng)
            lines.append(f"{kind}: expected {min(expected):.2f} to {max(expected):.2f} of 12")
    spread = np.array(
        [
            [r.foramen_sd_mm for _, r in one.values() if r.working_length_mm is not None]
            for one in variants
        ]
    )
    means = spread.mean(axis=1)
    lines.append(f"posterior spread of a canal {spread.min():.2f} to {spread.max():.2f} mm")
    lines.append(f"mean of a variant's seven {means.min():.2f} to {means.max():.2f} mm")
    for kind in simulated.KINDS:
        points = [one.points for one in all_of(outcomes, kind)]
        above = 100 * outranked(outcomes, kind)
        lines.append(
            f"{kind:16} {np.mean(points):5.2f} ± {np.std(points):.2f} of 16; "
            f"the careful one is above in {above:.1f} % of pairs"
        )
    lines.append(f"alpha {alpha_of(outcomes):.3f}")
    for part in (0.7, 0.5):
        shares = half_hearted_named(part, variants[:40], items)
        told = ", ".join(f"{belief} {share:.0%}" for belief, share in shares.items())
        lines.append(f"who follows a belief in {part:.0%} of the questions is told it: {told}")
    made = matrix_of({kind: all_of(outcomes, kind) for kind in simulated.KINDS})
    return [*lines, as_markdown(made)]


def half_hearted_named(
    part: float, variants: Sequence[Variant], items: dict[str, Item]
) -> dict[str, float]:
    """How many of those who follow a belief only in part are told it, by belief."""
    rng, named = np.random.default_rng(17), {}
    with pytest.MonkeyPatch.context() as patch:
        quick_marks(patch, variants)
        for belief in BELIEFS:
            told = [
                simulated.outcome_of(
                    simulated.half_hearted(belief, part, one, items, rng), one, items
                ).named
                for one in variants
            ]
            named[belief] = float(np.mean([belief in each for each in told]))
    return named


def by_hand(many: int = 200) -> None:
    """The figures of two hundred variants that no test has seen; the table goes into the guide.

    Eight minutes of one core.
    """
    root = Path(__file__).parents[2]
    items = read_items(root / "course" / "items" / f"{ASSIGNMENT}.toml")
    *lines, table = figures(compose(range(1000, 1000 + many)), items)
    sys.stdout.write("\n".join([*lines, ""]))
    guide = root / GUIDE
    guide.write_text(with_matrix(guide.read_text("utf-8"), table), "utf-8")


if __name__ == "__main__":
    by_hand()
