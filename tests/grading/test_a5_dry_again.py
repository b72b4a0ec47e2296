"""Assignment a5: every course of its rounds, what a course costs, its way through nbgrader."""

from __future__ import annotations

import copy
import json
import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from hashlib import sha256
from pathlib import Path
from typing import Any

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
from lengthwise.anatomy.canals import draw_canals
from lengthwise.bench import point_actions as do
from lengthwise.bench.canal_state import draw_state
from lengthwise.bench.points import step
from lengthwise.classroom import worksheet
from lengthwise.classroom.answer_form import FIELDS
from lengthwise.classroom.answer_key import AnswerKey, StudentKey, read_key, write_key
from lengthwise.classroom.case_views import view_of, view_of_shown
from lengthwise.classroom.cells import label, source_of
from lengthwise.classroom.class_folder import ClassFolder
from lengthwise.classroom.errors import ClassroomError
from lengthwise.classroom.read_answers import read_cell
from lengthwise.classroom.rounds_check import rounds_in_words
from lengthwise.evidence import Context, Evidence, PointTrial, PreoperativeFilm
from lengthwise.marking import rounds_marks
from lengthwise.marking.casebook import draw_assignment
from lengthwise.marking.determination import Determination
from lengthwise.marking.graded_case import Case, case_from_json, shown_json
from lengthwise.marking.into_blood import INTO_BLOOD
from lengthwise.marking.items import read_items
from lengthwise.marking.marks import mark
from lengthwise.marking.point_sittings import as_written
from lengthwise.marking.rounds import ROUND_NAMES, Rounds, Seen, followed, seen_from
from lengthwise.marking.rounds_marks import case_of, course_of, mark_rounds, steps_that_fit
from lengthwise.marking.rounds_rules import RULES
from lengthwise.marking.rounds_signs import signs, why_not_dry
from lengthwise.marking.wet_canals import ACTIONS, Bench, happens, open_rounds
from lengthwise.reconciliation import reconcile

ASSIGNMENT = "a5_dry_again"
ENDS = {"ask", "rebook", "longer", "syringe"}
SEEDS = (0, 1, 2, 6, 14)
"""Students who between them meet every kind of canal, and one that bleeds briskly."""
Values = dict[str, float | str | None]


@pytest.fixture(scope="module")
def students() -> list[dict[str, Case]]:
    return [
        draw_assignment(ASSIGNMENT, target_mm=0.5, rng=np.random.default_rng(seed))
        for seed in SEEDS
    ]


@pytest.fixture(scope="module")
def all_rounds(students: list[dict[str, Case]]) -> list[Rounds]:
    cases = [case for one in students for case in one.values()]
    return [case for case in cases if isinstance(case, Rounds)]


@pytest.fixture(scope="module")
def notebook(course: Path) -> dict[str, Any]:
    return source_of_assignment(course, ASSIGNMENT)


def nodes(seen: Seen, before: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], Seen]]:
    """Every course with what is seen at its end, the empty one first."""
    yield before, seen
    for word, one in seen.then.items():
        yield from nodes(one, (*before, word))


# --- every course is there, and none tells the truth ----------------------------------------------


def test_all_courses_of_three_rounds_are_there(all_rounds: list[Rounds]) -> None:
    for rounds in all_rounds:
        count = 0
        for words, seen in nodes(rounds.happens):
            count += 1
            if seen.over or len(words) == len(ROUND_NAMES):
                assert not seen.then
            else:
                assert set(seen.then) == set(ACTIONS)
            if words:
                assert seen.over == (words[-1] in ENDS or seen.refused)
        # Where an opening shows from the first, two of the five that go on are refused.
        assert 1 + 9 + 27 + 81 <= count <= 1 + 9 + 45 + 225


def test_the_causes_vary_and_every_student_gets_one_canal_of_each_kind(
    students: list[dict[str, Case]],
) -> None:
    traps = [{case.trap for case in cases.values()} for cases in students]
    back = {"bleeding that settles", "a remnant of tissue", "a blocked canal"}
    assert all(len(two) == len(two & back) + 1 == 2 for two in traps)
    assert len(set().union(*traps)) >= 4


def test_what_is_shown_holds_no_truth(all_rounds: list[Rounds]) -> None:
    for rounds in all_rounds:
        shown = shown_json(rounds)
        assert case_from_json(rounds.to_json()) == rounds
        assert view_of("q1", rounds) == view_of_shown("q1", json.loads(shown))
        assert str(rounds.foramen_mm) not in shown
        assert all(len(each) <= 2 for each in re.findall(r"\d\.(\d+)", shown))
        for telling in ("foramen_mm", '"cause"', '"trap"', "misconception", "safety"):
            assert telling not in shown
        untold = json.dumps([rounds.told, *(seen.said for _, seen in nodes(rounds.happens))])
        if rounds.trap not in ("an opening in the side", "a resorbed end"):
            assert not re.search("opening|resorb|remnant|seep", untold)


def test_what_is_counted_of_a_course_is_what_its_words_say(all_rounds: list[Rounds]) -> None:
    shown = {"brisk": "It bleeds.", "oozing": "oozes blood|bloody", "none": ""}
    found = Counter[str]()
    for _, seen in (each for rounds in all_rounds for each in nodes(rounds.happens)):
        found.update([seen.bleeding, f"refused: {seen.refused}"])
        assert seen.refused == seen.said.startswith("Refused")
        assert re.search(shown[seen.bleeding], seen.said)
        assert seen.bleeding != "none" or not re.search("bleeds|blood", seen.said)
    assert min(found[each] for each in (*shown, "refused: True")) > 0


def test_other_words_of_the_bench_change_no_mark(all_rounds: list[Rounds]) -> None:
    def reworded(seen: Seen) -> Seen:
        then = {word: reworded(one) for word, one in seen.then.items()}
        return replace(seen, said="Done.", then=then)

    answer = Determination(next_step="points")
    for rounds in all_rounds:
        other = replace(rounds, happens=reworded(rounds.happens))
        for words, _ in nodes(rounds.happens):
            broken_by = [
                [rule.name for rule in RULES if rule.broken(course_of(each, list(words), answer))]
                for each in (rounds, other)
            ]
            assert broken_by[0] == broken_by[1], words


# --- classes made before refusals and bleeding were kept ------------------------------------------


def five_items(packed: list[Any]) -> list[Any]:
    """What was seen, as it was packed then."""
    said, trials, found, over, then, *_ = packed
    return [said, trials, found, over, {word: five_items(one) for word, one in then.items()}]


def test_an_old_row_says_by_its_sentence_whether_it_was_refused_and_how_it_bled() -> None:
    for said, shown in (
        ("Refused: perforation suspected; peroxide could reach the tissues.", (True, "none")),
        ("Rinsed with hypochlorite; the canal is full. It bleeds. 6 points.", (False, "brisk")),
        ("6 points; the last one came out bloody.", (False, "oozing")),
        ("6 points; the last one came out dry.", (False, "none")),
    ):
        seen = seen_from([0, [], {}, 0, {}], [said])
        assert (seen.refused, seen.bleeding) == shown


def test_an_old_class_is_read_and_earns_what_it_earned(
    all_rounds: list[Rounds], tmp_path: Path, course: Path
) -> None:
    """The file as it was written then: shorter rows, and a digest of what was shown then."""
    taught = ClassFolder(tmp_path, "old", 0.5, (ASSIGNMENT,), "0")
    items = taught.items_path(ASSIGNMENT)
    items.parent.mkdir(parents=True)
    items.write_bytes((course / "items" / f"{ASSIGNMENT}.toml").read_bytes())
    cases = {f"q{number}": rounds for number, rounds in enumerate(all_rounds[:2], 1)}
    write_key(taught, AnswerKey("old", ASSIGNMENT, {"ada": StudentKey(dict(cases), {})}))
    path = taught.answers_path(ASSIGNMENT)
    told = json.loads(path.read_text(encoding="utf-8"))
    ada = told["students"]["ada"]
    for name, rounds in cases.items():
        shown = {**rounds.shown(), "happens": five_items(rounds.shown()["happens"])}
        ada["cases"][name]["happens"] = shown["happens"]
        ada["evidence_digest"][name] = sha256(json.dumps(shown).encode()).hexdigest()
    path.write_text(json.dumps(told), encoding="utf-8")
    assert read_key(taught, ASSIGNMENT).of("ada").cases == cases

    ada["cases"]["q1"]["happens"][3] = 1
    path.write_text(json.dumps(told) + "\n", encoding="utf-8")
    with pytest.raises(ClassroomError, match="was changed after the class was made"):
        read_key(taught, ASSIGNMENT)


def test_a_class_of_thirty_stays_small(all_rounds: list[Rounds]) -> None:
    """About 45 kB a student, 1.4 MB a class."""
    sizes = [len(shown_json(rounds)) for rounds in all_rounds]
    assert 2 * max(sizes) < 70_000
    assert 30 * 2 * np.mean(sizes) < 2_000_000


def test_a_course_is_what_the_bench_does_when_it_is_replayed() -> None:
    """Dry, three times: by hand, with the same generator, action by action."""
    rng = np.random.default_rng(11)
    state = draw_state(draw_canals("13", 1, rng).one(0), rng)
    bench, _ = open_rounds(Bench(state, round(state.canal.foramen_mm * 2) / 2 - 0.5), rng)
    again = copy.deepcopy(rng)
    tree = Seen("", then=happens(bench, 3, rng))
    state = bench.state
    for _, seen in followed(tree, ["dry"] * 3):
        inside = state.longest_dry_mm or bench.estimated_mm - 1.0
        state, dried = step(state, do.Dry(inside, 6), again)
        assert dried.sentence == seen.said
        length = state.longest_dry_mm or bench.estimated_mm - 0.5
        for trial in seen.trials:
            state, tried = step(state, do.TryPoint(length, point_length_mm=35.0), again)
            assert tried.trial is not None
            assert as_written(tried.trial) == trial
            if trial.wet_mm == 0:
                length = min(length + 0.5, bench.estimated_mm + 1.0)


def test_no_point_of_a_safe_course_goes_too_far(all_rounds: list[Rounds]) -> None:
    for rounds in all_rounds:
        limit = float(re.findall(r"no point goes further than ([\d.]+) mm", rounds.told)[0])
        for words, seen in nodes(rounds.happens):
            for trial in seen.trials:
                assert trial.length_mm <= limit + ("longer" in words)


def test_a_radiograph_from_another_angle_changes_nothing_in_the_canal(
    all_rounds: list[Rounds],
) -> None:
    for rounds in all_rounds:
        then = rounds.happens.then
        found = bool(then["film"].found)
        for word in ("dry", "rebook") if found else ("dry", "rinse", "rebook"):
            assert then["film"].then[word].said == then[word].said
            assert then["film"].then[word].trials == then[word].trials
        assert found == (rounds.trap in ("an opening in the side", "a resorbed end"))
        after = [
            seen
            for words, seen in nodes(rounds.happens)
            if words[-2:] in (("film", "peroxide"), ("film", "rinse"))
        ]
        assert not found or all("suspected" in seen.said for seen in after)


# --- what a course costs: by hand -----------------------------------------------------------------


def point(length: float, wet: float = 0.0, **more: Any) -> PointTrial:
    site = more.pop("mark_site", "tip_straight" if wet else "none")
    told = {"liquid": "clear" if wet else None, "liquid_in_canal": "dry", "ran_freely": True}
    return PointTrial(
        length_mm=length, contact_s=1.0, wet_mm=wet, mark_site=site, **{**told, **more}
    )


GOOD = (point(22.0), point(22.5, 0.6), point(22.5, 0.7), point(22.5, 0.6))
DRIFTING = tuple(point(22.0, wet) for wet in (2.2, 1.7, 1.2, 0.9))
BLOODY = tuple(point(22.0, 1.4, liquid="blood", liquid_in_canal="blood") for _ in range(4))
SIDE = (point(22.0, 1.2, mark_site="side", liquid="blood", liquid_in_canal="blood"),)
STUCK = tuple(point(mm, ran_freely=False) for mm in (22.0, 22.5, 23.0, 23.0))
OPENING = {"communication": "perforation_suspected"}

SEEN = {
    "good": Seen("6 points; the last one came out dry.", GOOD),
    "drift": Seen("6 points; the last one came out dry.", DRIFTING),
    "blood": Seen("6 points; the last one came out bloody.", BLOODY),
    "brisk": Seen("Rinsed; the canal is full.", BLOODY, bleeding="brisk"),
    "side": Seen("6 points; the last one came out dry.", SIDE),
    "stuck": Seen("6 points; the last one came out dry.", STUCK),
    "nothing": Seen("The radiograph from another angle was read: nothing."),
    "opening": Seen("The radiograph: an opening is suspected.", found=OPENING),
    "ended": Seen("Ended.", over=True),
    "refused": Seen("Stay at least 1 mm short.", over=True, refused=True),
    "blocked": Seen("A small file stops; the canal is blocked.", found={"obstruction": "block"}),
}
LENGTH = Determination(22.3, 21.75, 21.7, 22.9, "confirm")
POINTS, ASK = Determination(next_step="points"), Determination(next_step="ask")


def told(first: str, *steps: tuple[str, str]) -> Rounds:
    """A question in which one course is possible: words and what is seen, by name."""
    then: dict[str, Seen] = {}
    for word, what in reversed(steps):
        then = {word: replace(SEEN[what], then=then)}
    root = replace(SEEN[first], then=then)
    film = PreoperativeFilm(tooth_length_mm=24.5, technique="paralleling")
    before = Evidence(
        tooth="22", canal="single", reference_point="incisal edge",
        context=Context(apex="closed", crown="intact"), records=(film, *SEEN[first].trials),
    )  # fmt: skip
    return Rounds("", (), ACTIONS, before, root, 0.5, 22.3, "by hand")


def broken(first: str, steps: str, concluded: Determination) -> list[str]:
    """The rules that a course breaks; steps are like "dry:blood rebook:ended"."""
    pairs = [(step.split(":")[0], step.split(":")[1]) for step in steps.split()]
    rounds = told(first, *pairs)
    course = course_of(rounds, [word for word, _ in pairs], concluded)
    assert len(course.words) == len(pairs)
    return [rule.name for rule in RULES if rule.broken(course)]


@pytest.mark.parametrize(
    ("first", "steps", "concluded", "rule"),
    [
        ("blood", "syringe:ended", POINTS, "no peroxide from a syringe"),
        ("side", "peroxide:refused", ASK, "no dampened point where the canal may be open"),
        ("blood", "film:opening peroxide:refused", ASK, "no dampened point where the canal may be"),
        ("stuck", "longer:ended", ASK, "no going longer"),
        ("brisk", "rinse:blood rebook:ended", POINTS, "ask for the cause of bleeding"),
        ("blood", "dry:blood rinse:blood rebook:ended", POINTS, "ask for the cause of bleeding"),
        ("side", "dry:blood ask:ended", ASK, "stop where an opening is suspected"),
        ("drift", "film:opening rinse:drift", ASK, "stop where an opening is suspected"),
        ("stuck", "dry:stuck rinse:stuck", POINTS, "see whether the canal is open"),
        ("drift", "dry:stuck dry:stuck", LENGTH, "see whether the canal is open"),
        ("blood", "film:nothing dry:blood", LENGTH, "no length from blood"),
        ("drift", "dry:drift", LENGTH, "no length from a canal that is not dry"),
        ("drift", "dry:drift rebook:ended", LENGTH, "no length from a canal that is not dry"),
        ("drift", "peroxide:refused", POINTS, "a refused action is chosen anew"),
    ],
)
def test_each_rule_is_broken_by_somebody(
    first: str, steps: str, concluded: Determination, rule: str
) -> None:
    assert any(name.startswith(rule) for name in broken(first, steps, concluded))


def test_every_rule_is_tried_and_says_what_to_look_at() -> None:
    tried = [mark.args[1] for mark in test_each_rule_is_broken_by_somebody.pytestmark]
    names = {case[3] for case in tried[0]}
    for rule in RULES:
        assert any(rule.name.startswith(name) for name in names), rule.name
        assert "lesson 0" in rule.again or not rule.misconception
        assert rule.cost > 0


@pytest.mark.parametrize(
    ("first", "steps", "concluded"),
    [
        ("drift", "dry:good", LENGTH),
        ("drift", "dry:drift dry:good", LENGTH),
        ("drift", "dry:drift rinse:drift dry:drift", POINTS),
        ("blood", "rinse:good", LENGTH),
        ("blood", "peroxide:good", LENGTH),
        ("blood", "rebook:ended", POINTS),
        ("blood", "dry:blood rebook:ended", POINTS),
        ("blood", "dry:blood rinse:blood rebook:ended", ASK),
        ("brisk", "film:nothing rinse:good", LENGTH),
        ("brisk", "rinse:good film:nothing", LENGTH),
        ("brisk", "rebook:ended", ASK),
        ("brisk", "ask:ended", ASK),
        ("side", "ask:ended", ASK),
        ("side", "film:opening rebook:ended", ASK),
        ("stuck", "patency:good", LENGTH),
        ("stuck", "dry:stuck patency:blocked rebook:ended", POINTS),
        ("stuck", "ask:ended", ASK),
        ("stuck", "rebook:ended", POINTS),
    ],
)
def test_any_safe_course_earns_in_full(first: str, steps: str, concluded: Determination) -> None:
    assert broken(first, steps, concluded) == []
    pairs = [(each.split(":")[0], each.split(":")[1]) for each in steps.split()]
    rounds = told(first, *pairs)
    words = [word for word, _ in pairs]
    course = course_of(rounds, words, concluded)
    if not steps_that_fit(course):
        result = reconcile(case_of(rounds, course).evidence, target_mm=0.5)
        length = result.working_length_mm
        concluded = Determination(result.foramen_mm, length, *result.interval_mm(), "confirm")
    assert mark_rounds(rounds, words, concluded).share == pytest.approx(1.0, abs=0.01)


def test_what_could_hurt_earns_nothing_and_a_broken_rule_half_of_its_half() -> None:
    unsafe = mark_rounds(told("blood", ("syringe", "ended")), ["syringe"], POINTS)
    assert (unsafe.share, unsafe.safety_failure) == (0.0, True)
    assert "gas into the tissues" in unsafe.explanation
    longer = Determination(next_step="longer")
    unsafe = mark_rounds(told("drift", ("dry", "drift")), ["dry"], longer)
    assert (unsafe.share, unsafe.safety_failure) == (0.0, True)
    steps = (("dry", "blood"), ("rinse", "blood"), ("rebook", "ended"))
    washed = mark_rounds(told("blood", *steps), [word for word, _ in steps], POINTS)
    assert washed.share == pytest.approx((0.5 + 1.0) / 2)
    assert "asks for its cause, and nobody looked for one" in washed.explanation
    averaged = mark_rounds(told("drift", ("dry", "drift")), ["dry"], LENGTH)
    assert averaged.share == pytest.approx((0.5 + 0.0) / 2)
    assert "The mean of repeats from a wet canal moves" in averaged.explanation
    assert "marks moved by 1.3 mm" in averaged.explanation


def test_the_conclusion_is_held_against_what_was_seen() -> None:
    ended = told("drift", ("rebook", "ended"))
    assert mark_rounds(ended, ["rebook"], POINTS).share == 1.0
    assert mark_rounds(ended, ["rebook"], Determination(next_step="film")).share == 0.75
    side = told("side", ("ask", "ended"))
    assert mark_rounds(side, ["ask"], ASK).share == 1.0
    assert mark_rounds(side, ["ask"], POINTS).share == 0.75
    dry = told("drift", ("dry", "good"))
    course = course_of(dry, ["dry"], LENGTH)
    trials = [r for r in case_of(dry, course).evidence.records if isinstance(r, PointTrial)]
    assert tuple(trials) == GOOD  # what was measured in the wet canal is set aside
    conclusion = mark(LENGTH, case_of(dry, course)).share
    assert mark_rounds(dry, ["dry"], LENGTH).share == pytest.approx((1 + conclusion) / 2)


@pytest.mark.parametrize(
    ("first", "steps", "warned"),
    [
        ("blood", "rinse:good film:nothing", True),
        ("brisk", "dry:blood rinse:good ask:ended", True),
        ("drift", "dry:blood rinse:good", True),
        ("brisk", "film:nothing rinse:good", False),
        ("drift", "rinse:blood film:nothing", False),
        ("blood", "peroxide:good", False),
        ("blood", "rinse:refused", False),
    ],
)
def test_hypochlorite_into_blood_before_its_cause_was_looked_for_is_told_and_not_charged(
    monkeypatch: pytest.MonkeyPatch, first: str, steps: str, warned: bool
) -> None:
    pairs = [(each.split(":")[0], each.split(":")[1]) for each in steps.split()]
    rounds, words = told(first, *pairs), [word for word, _ in pairs]
    marks = mark_rounds(rounds, words, ASK)
    assert (INTO_BLOOD in marks.explanation) == warned
    monkeypatch.setattr(rounds_marks, "told_of_course", lambda course: "")
    untold = mark_rounds(rounds, words, ASK)
    assert (untold.share, untold.clues) == (marks.share, marks.clues)


def test_a_briskly_bleeding_end_that_is_rinsed_first_earns_its_course_and_hears_why_not(
    students: list[dict[str, Case]],
) -> None:
    rounds = students[-1]["q1"]
    assert isinstance(rounds, Rounds)
    assert (rounds.trap, rounds.happens.bleeding) == ("a resorbed end", "brisk")
    marks = mark_rounds(rounds, ["rinse", "film", "ask"], ASK)
    assert marks.share == 1.0
    assert INTO_BLOOD in marks.explanation


def test_no_action_at_all_earns_nothing() -> None:
    marks = mark_rounds(told("drift", ("dry", "good")), [None, "dry", None], POINTS)
    assert marks.share == 0.0
    assert "chose no action" in marks.explanation


def test_a_canal_is_called_dry_only_by_repeats_that_agree() -> None:
    assert why_not_dry(GOOD) == ""
    assert "moved by 1.3 mm" in why_not_dry(DRIFTING)
    assert "bloody" in why_not_dry(BLOODY)
    assert "on its side" in why_not_dry(SIDE)
    assert "fewer than two" in why_not_dry(STUCK)
    assert "fewer than two" in why_not_dry(GOOD[:2])
    moist = tuple(each.model_copy(update={"liquid_in_canal": "moist"}) for each in GOOD)
    assert "drying point" in why_not_dry(moist)
    assert "wet all along" in why_not_dry((*GOOD, point(22.5, 22.5, mark_site="whole")))
    long = (point(22.0), point(22.5, 2.4), point(22.5, 2.3))
    assert "contradict a point that was dry at 22 mm" in why_not_dry(long)


# --- students -------------------------------------------------------------------------------------


def careful(rounds: Rounds) -> Values:
    """Reads what is shown, and nothing else: asks, looks, dries, and takes a length or none."""
    words: list[str] = []
    for _ in ROUND_NAMES:
        course = course_of(rounds, words, Determination())
        shown = frozenset().union(*(signs(seen) for seen in course.seen))
        if shown & {"side", "suspected"}:
            words.append("ask")
            break
        if "stuck" in signs(course.last):
            words.append("patency")
        elif "blood" in shown and "film" not in words:
            words.append("film")
        elif not course.why_wet and words:
            break
        else:
            words.append("dry" if "rinse" in words else "rinse")
    course = course_of(rounds, words, Determination())
    fits = steps_that_fit(course)
    values: Values = dict(zip(ROUND_NAMES, [*words, None, None, None], strict=False))
    values |= dict.fromkeys(FIELDS)
    if fits:
        return values | {"next_step": "ask" if "ask" in fits else min(fits)}
    result = reconcile(case_of(rounds, course).evidence, target_mm=rounds.target_mm)
    if result.working_length_mm is None:
        return values | {"next_step": result.next_step.word}
    lengths = (result.foramen_mm, result.working_length_mm, *result.interval_mm())
    return values | dict(zip(FIELDS, (*(round(mm, 2) for mm in lengths), "confirm"), strict=True))


def taken(rounds: Rounds, words: list[str], met: str) -> Values:
    """Goes these rounds and takes a length: the mean of where marks begin, or the first wet."""
    trials = course_of(rounds, words, Determination()).last.trials
    wet = [each for each in trials if each.wet_mm > 0] or list(trials)
    mean = float(np.mean([each.length_mm - each.wet_mm for each in wet]))
    foramen = round(mean if met == "mean" else wet[0].length_mm, 2)
    lengths = (foramen, foramen - rounds.target_mm, foramen - 0.4, foramen + 0.4)
    values = dict(zip(ROUND_NAMES, words, strict=True))
    return values | dict(zip(FIELDS, (*lengths, "confirm"), strict=True))


def never_asks(rounds: Rounds) -> Values:
    words: Values = dict(zip(ROUND_NAMES, ("rinse", "rinse", "rinse"), strict=True))
    return words | dict.fromkeys(FIELDS) | {"next_step": "points"}


STUDENTS = {
    "none": careful,
    "M6": lambda rounds: taken(rounds, ["dry", "dry", "dry"], "mean"),
    "M10": never_asks,
    "M13": lambda rounds: careful(rounds) | {"round_1": "longer"},
    "M16": lambda rounds: taken(rounds, ["dry", "dry", "dry"], "first"),
}


def share(rounds: Rounds, values: Values) -> float:
    words = [None if values[name] is None else str(values[name]) for name in ROUND_NAMES]
    concluded = Determination(**{name: values[name] for name in FIELDS})  # type: ignore[arg-type]
    return mark_rounds(rounds, words, concluded).share


def test_a_careful_student_earns_everything_and_no_belief_does(all_rounds: list[Rounds]) -> None:
    """A belief may do no harm in one canal; over all of them it costs."""
    means = {
        belief: np.mean([share(rounds, student(rounds)) for rounds in all_rounds])
        for belief, student in STUDENTS.items()
    }
    assert [share(rounds, careful(rounds)) for rounds in all_rounds] == pytest.approx(
        [1.0] * len(all_rounds), abs=0.01
    )
    assert means["M13"] == 0
    assert means["M6"] < 0.6
    assert means["M16"] < 0.6
    assert means["M10"] < 0.9


def test_some_careful_courses_end_with_a_length_and_some_without(all_rounds: list[Rounds]) -> None:
    ends = [careful(rounds)["working_length_mm"] is not None for rounds in all_rounds]
    assert 0 < sum(ends) < len(ends)


# --- the notebook ---------------------------------------------------------------------------------


def test_every_case_asks_for_what_is_marked(notebook: dict[str, Any]) -> None:
    cells = {label(cell): source_of(cell) for cell in notebook["cells"]}
    names = [*ROUND_NAMES, *FIELDS]
    for name in ("q1", "q2"):
        assert list(read_cell(cells[name]).values) == names
        call = re.sub(r"\s+", " ", cells[f"{name}_check"]).replace("( ", "(").replace(" )", ")")
        assert call == f'check_rounds("{name}", {", ".join(names)})'


# --- what the check says --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("given", "says"),
    [
        ((...,) * 8, "no action yet"),
        (("dry", *(...,) * 7), "Round 1, dry:"),
        (("dry", *(...,) * 7), "type the next action after round_2"),
        (("dryy", *(...,) * 7), "did you mean 'dry'"),
        ((" Dry", *(...,) * 7), "Round 1, dry:"),
        (
            ("points", *(...,) * 7),
            'points is a word for next_step, at the end; in a round it is "dry"',
        ),
        (("confirm", *(...,) * 7), "confirm is a word for next_step, at the end."),
        (
            ("rebook", *(...,) * 6, "Dry"),
            'dry is a word for a round; as a next step it is "points"',
        ),
        (("rebook", *(...,) * 6, "rinse"), "rinse is a word for a round."),
        ((..., "dry", *(...,) * 6), "still to choose: round_1"),
        (("rebook", *(...,) * 7), "the rounds are over"),
        (("rebook", "dry", *(...,) * 6), "the rounds are over"),
        (("rebook", *(...,) * 6, "points"), '"not yet", next step points'),
        (("dry", "dry", "dry", 22, 21.5, 23, 21, "confirm"), "low has to be the smaller"),
        (("dry", "dry", "dry", 22, 21.5, 21, 23, "confirm"), "all five answers can be read"),
        (("syringe", *(...,) * 7), "Refused"),
    ],
)
def test_the_check_says_what_came_of_the_rounds(
    all_rounds: list[Rounds], given: tuple[object, ...], says: str
) -> None:
    case = json.loads(shown_json(all_rounds[0]))
    assert says in rounds_in_words("q1", case, given)


def test_the_check_shows_what_the_course_holds(all_rounds: list[Rounds]) -> None:
    for rounds in all_rounds[:4]:
        case = json.loads(shown_json(rounds))
        for words, seen in nodes(rounds.happens):
            if not words:
                continue
            said = rounds_in_words("q1", case, (*words, *[...] * (8 - len(words))))
            assert seen.said in re.sub(r"\s+", " ", said)
            for trial in seen.trials:
                assert f"point set to {trial.length_mm:g} mm" in said


# --- all the way through nbgrader, and in a shell -------------------------------------------------


def cells_of(key: StudentKey, belief: str) -> dict[str, str]:
    rounds = {name: case for name, case in key.cases.items() if isinstance(case, Rounds)}
    cells = {name: typed(STUDENTS[belief](case)) for name, case in rounds.items()}
    return cells | {name: typed({name: one}) for name, one in letters(key, belief).items()}


@pytest.fixture(scope="module")
def taught(tmp_path_factory: pytest.TempPathFactory, course: Path) -> ClassFolder:
    where = tmp_path_factory.mktemp("dry")
    return class_with(ASSIGNMENT, where, course, ("ada", "ben", "cal", "dee"))


@pytest.mark.slow
class TestWithNbgrader:
    def test_careless_words_in_a_shell_do_no_harm(
        self, taught: ClassFolder, capsys: pytest.CaptureFixture[str]
    ) -> None:
        from IPython.core.interactiveshell import InteractiveShell

        folder = taught.release_folder(ASSIGNMENT)
        call = f'check_rounds("q1", {", ".join([*ROUND_NAMES, *FIELDS])})'
        shell = InteractiveShell.instance()
        try:
            shell.run_cell("from lengthwise.classroom.worksheet import *")
            shell.run_cell(f'open_worksheet("ada", {str(folder)!r})')
            assert "2 cases and 4 questions" in capsys.readouterr().out
            for cell, says in (
                ("", "no action yet"),
                ("round_1 = dry", "Round 1, dry:"),
                ("round_1 = drie", "'drie' is not one of the words"),
                ('round_1 = "flim"', "did you mean 'film'"),
                ("round_1 = rebook\nnext_step = points", '"not yet", next step points'),
            ):
                shell.run_cell(cell)
                capsys.readouterr()
                shell.run_cell(call)
                assert says in capsys.readouterr().out
            shell.run_cell(f'open_worksheet("ada", {str(folder)!r})')
            assert shell.user_ns["round_1"] == "rebook"
        finally:
            shell.events.unregister("post_run_cell", worksheet._after_cell)
            worksheet._Open.stopped, worksheet._Open.watched = "", None
            worksheet._Open.worksheet = None
            InteractiveShell.clear_instance()

    def test_a_right_student_earns_twenty_and_holders_of_a_belief_lose_what_it_costs(
        self, taught: ClassFolder, course: Path, tmp_path: Path
    ) -> None:
        believed = {"ada": "none", "ben": "M6", "cal": "M10", "dee": "M16"}
        key = read_key(taught, ASSIGNMENT)
        cells = {who: cells_of(key.of(who), belief) for who, belief in believed.items()}
        marks = hand_in_and_grade(taught, ASSIGNMENT, tmp_path, cells)
        assert marks["ada"]["total"] == pytest.approx(20, abs=0.05)
        assert "by_hand" not in marks["ada"]
        items = read_items(course / "items" / f"{ASSIGNMENT}.toml")
        for who, belief in believed.items():
            for name, case in key.of(who).cases.items():
                assert isinstance(case, Rounds)
                earned = 8 * share(case, STUDENTS[belief](case))
                assert marks[who][name] == pytest.approx(earned, abs=0.006)
            lost = sum(any(o.misconception == belief for o in i.options) for i in items.values())
            assert sum(marks[who][f"i{n}"] for n in (1, 2, 3, 4)) == 4 - lost
            assert marks[who]["total"] < 17 or belief == "none"
        page = feedback_of(taught, ASSIGNMENT, "ben")
        assert page.count("look as if") == 1, "said once, over all answers"
        assert "Your rounds" in page
        assert "One action a round" in page
        released = (taught.release_folder(ASSIGNMENT) / "cases.json").read_text(encoding="utf-8")
        for one in key.students.values():
            for case in one.cases.values():
                assert isinstance(case, Rounds)
                assert str(case.foramen_mm) not in released
