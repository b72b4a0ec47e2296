"""The report on a class: what it reads, whom it names, and that it stands whoever is missing."""

from __future__ import annotations

import itertools
import json
import re
from collections.abc import Mapping
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from grading_tools import class_with, letters, right, typed
from lengthwise.classroom.answer_key import StudentKey, read_key
from lengthwise.classroom.class_folder import ClassFolder
from lengthwise.classroom.collect import collect
from lengthwise.classroom.demo_class import filled_in
from lengthwise.classroom.demo_students import (
    Answer,
    believes_in_narrow,
    believes_the_mean,
    believes_the_root_end,
    careful,
    case_source,
)
from lengthwise.classroom.errors import ClassroomError
from lengthwise.classroom.grading_record import GradingRecord, write_record
from lengthwise.classroom.mark_cells import mark_cells
from lengthwise.classroom.marks_table import MarksRow, MarksTable
from lengthwise.classroom.report import class_report
from lengthwise.classroom.report_answers import Determined, Work, work_of
from lengthwise.classroom.report_beliefs import Count, count_beliefs, take_up
from lengthwise.classroom.report_conversations import (
    chance_of_at_most,
    conversations,
    missing_sentence,
    waiting_sentence,
)
from lengthwise.classroom.report_page import Picture
from lengthwise.classroom.report_parts import parts_of, parts_sheet
from lengthwise.classroom.roster import Student
from lengthwise.classroom.second_marks import graders_section, parse_second_marks
from lengthwise.classroom.workers import run_for_each
from lengthwise.cli import app
from lengthwise.marking.casebook import draw_assignment, student_generator
from lengthwise.marking.determination import Determination
from lengthwise.marking.exercise import Exercise
from lengthwise.marking.graded_case import GradedCase
from lengthwise.marking.items import read_items, shuffled
from lengthwise.marking.misconceptions import MISCONCEPTIONS
from lengthwise.marking.sheet import Sheet
from lengthwise.reconciliation import reconcile
from scipy import stats
from typer.testing import CliRunner

ROOT = Path(__file__).resolve().parents[2]


def key_of(assignment: str, student: str) -> StudentKey:
    rng = student_generator(b"of the tests", assignment, student)
    cases = draw_assignment(assignment, target_mm=0.5, rng=rng)
    items = read_items(ROOT / "course" / "items" / f"{assignment}.toml")
    return StudentKey(cases, {name: shuffled(item, rng) for name, item in items.items()})


def answers(key: StudentKey, how: Answer = careful, belief: str = "") -> dict[str, str]:
    """The answer cells of somebody who answers cases this way, and items with this belief."""
    cells = {name: typed({name: one}) for name, one in letters(key, belief).items()}
    for name, case in key.cases.items():
        if isinstance(case, GradedCase):
            result = reconcile(case.evidence, target_mm=case.target_mm)
            cells[name] = case_source(how(case, result))
        elif isinstance(case, Exercise):
            cells[name] = typed(right(case))
    return cells


def notebook_cells(key: StudentKey, sources: Mapping[str, str]) -> list[dict[str, Any]]:
    """The cells of a marked notebook: an answer and a check for every question."""
    made = []
    for name in (*key.cases, *key.items):
        answer = {"grade_id": name, "solution": True, "grade": False}
        check = {"grade_id": f"{name}_check", "solution": False, "grade": True, "points": 4}
        made += [
            {
                "cell_type": "code",
                "metadata": {"nbgrader": answer},
                "source": sources.get(name, ""),
            },
            {"cell_type": "code", "metadata": {"nbgrader": check}, "source": "", "outputs": []},
        ]
    return made


@pytest.fixture(scope="module")
def keys() -> dict[str, StudentKey]:
    return {f"s{n}": key_of("a6_reconcile", f"s{n}") for n in range(6)}


def a6_work(student: str, key: StudentKey, how: Answer, belief: str = "") -> Work:
    return work_of(student, notebook_cells(key, answers(key, how, belief)), key)


@pytest.fixture(scope="module")
def works(keys: dict[str, StudentKey]) -> list[Work]:
    """Two careful, two who take the root's end for the foramen, one averager, one too sure."""
    hows = (
        (careful, ""), (careful, ""), (believes_the_root_end, "M2"), (believes_the_root_end, "M2"),
        (believes_the_mean, "M7"), (believes_in_narrow, "M11"),
    )  # fmt: skip
    pairs = zip(keys.items(), hows, strict=True)
    return [a6_work(student, key, how, belief) for (student, key), (how, belief) in pairs]


def table_of(works: list[Work], **changes: MarksRow) -> MarksTable:
    maxima = dict.fromkeys((*works[0].kinds, *works[0].chosen), 4.0) | {"reason": 4.0}
    rows = [MarksRow(work.student, dict.fromkeys(maxima, 3.0), 24.0) for work in works]
    rows = [changes.get(row.student, row) for row in rows]
    return MarksTable("a6_reconcile", maxima, tuple(rows))


@pytest.fixture
def taught(tmp_path: Path) -> ClassFolder:
    return ClassFolder(tmp_path, "class", 0.5, ("a6_reconcile",), "0")


@pytest.mark.parametrize("assignment", ["a1_landmarks", "a4_point_trials", "a5_dry_again"])
def test_the_report_reads_what_was_marked_in_every_kind_of_assignment(assignment: str) -> None:
    key = key_of(assignment, "s1")
    cells = notebook_cells(key, answers(key, believes_the_root_end, "M4"))
    work = work_of("s1", cells, key)
    assert work.named == mark_cells(cells, key).named
    assert work.answered >= len(key.items)
    assert all(error == pytest.approx(0) for error in work.value_errors_mm)
    assert bool(work.value_errors_mm) == any(
        each.name.endswith("_mm")
        for case in key.cases.values()
        if isinstance(case, Exercise)
        for each in case.asked
    )


def test_errors_and_intervals_are_those_that_were_typed(keys: dict[str, StudentKey]) -> None:
    key = keys["s0"]
    name, case = next((n, c) for n, c in key.cases.items() if isinstance(c, GradedCase))
    source = "foramen_mm = 24,5\nworking_length_mm = 24\nlow_mm = 24\nhigh_mm = 25.25"
    work = work_of("s0", notebook_cells(key, {name: source}), key)
    assert work.errors_mm == pytest.approx([24.5 - case.foramen_mm])
    assert work.ends_mm[0] == pytest.approx((24 - case.foramen_mm, 25.25 - case.foramen_mm))
    assert next(one for one in work.determined if one.question == name).past == (
        case.foramen_mm < 24
    )
    source = "working_length_mm = 24.0"
    alone = work_of("s0", notebook_cells(key, {name: source}), key)
    assert alone.errors_mm == pytest.approx([24.5 - case.foramen_mm]), "the target added back"


def test_a_length_that_waits_for_the_instructor_is_in_no_figure(
    keys: dict[str, StudentKey],
) -> None:
    key = keys["s0"]
    cells = notebook_cells(key, answers(key))
    whole = work_of("s0", cells, key)
    waits = whole.determined[0].question
    work = work_of("s0", cells, key, waiting=(waits,))
    rest = [one for one in whole.determined[1:] if one.error_mm is not None]
    assert whole.determined[0].error_mm is not None
    assert work.errors_mm == [one.error_mm for one in rest]
    assert len(work.ends_mm) == len(whole.ends_mm) - 1
    assert work.determined[0].past is None
    key = key_of("a1_landmarks", "s1")
    cells = notebook_cells(key, answers(key))
    whole = work_of("s1", cells, key)
    none = work_of("s1", cells, key, waiting=tuple(key.cases))
    assert whole.value_errors_mm
    assert none.value_errors_mm == ()


def test_the_two_to_take_up_are_those_that_most_students_show(works: list[Work]) -> None:
    counts = count_beliefs(works)
    assert [one.about.id for one in counts[:2]] == ["M2", "M7"] or (
        counts[0].about.id == "M2" and counts[1].about.id in ("M7", "M11")
    )
    assert counts[0].named == ("s2", "s3")
    first, *_ = take_up(counts)
    assert "2 students" in first
    assert "lesson" in first
    assert "*" not in "".join(take_up(counts))
    assert take_up(()) == ("No misconception was seen in these answers.",)
    assert count_beliefs(works[:2]) == (), "the careful show none"


def test_one_student_each_is_too_little_to_take_up_and_ties_are_said() -> None:
    def count(belief: str, *students: str) -> Count:
        return Count(MISCONCEPTIONS[belief], (), students)

    (said,) = take_up((count("M1", "ada"), count("M2", "ben", "ben")))
    assert said.startswith("Too little to say: of the 2")
    (said,) = take_up((count("M1", "ada"),))
    assert said.startswith("Too little to say: only M1")
    first, _, tied = take_up([count(one, "ada", "ben") for one in ("M1", "M2", "M3")])
    assert "the reading, and whether its signal" in first
    assert tied == "Seen as often as the last of these: M3."


def test_the_chance_of_so_few_is_that_of_the_binomial_law() -> None:
    for n in range(1, 25):
        for held in range(n + 1):
            expected = stats.binom.cdf(held, n, 0.9)
            assert chance_of_at_most(held, n) == pytest.approx(expected)


DRAWN = 400


def drawn_alike(work: Work, holds: float, n: int) -> list[Work]:
    """Students with right lengths, and n intervals about them of which each holds so often."""
    one = work.determined[0]
    width_mm = {True: (-0.5, 0.5), False: (0.1, 1.1)}

    def interval(held: bool) -> Determined:
        low, high = (one.true_mm + end for end in width_mm[held])
        return replace(one, given=Determination(one.true_mm, one.true_mm - 0.5, low, high))

    every = np.random.default_rng(11).random((DRAWN, n)) < holds
    return [
        replace(work, student=f"d{i}", determined=tuple(interval(bool(held)) for held in mine))
        for i, mine in enumerate(every)
    ]


@pytest.mark.parametrize("n", [3, 5, 7, 10])
def test_of_careful_students_at_most_one_in_twenty_comes_on_the_list_by_bad_luck(
    taught: ClassFolder, works: list[Work], n: int
) -> None:
    """And of those whose intervals hold once in five nearly all."""

    def listed(holds: float) -> int:
        drawn = drawn_alike(works[0], holds, n)
        return len(conversations(taught, table_of(drawn), drawn))

    assert works[0].named == ()
    assert stats.binomtest(listed(0.9), DRAWN, 0.05, alternative="greater").pvalue > 0.01
    assert listed(0.2) > 0.85 * DRAWN


def test_each_reason_for_a_conversation_is_found_and_the_careful_are_left_alone(
    taught: ClassFolder, works: list[Work], keys: dict[str, StudentKey]
) -> None:
    blank = work_of("s0", notebook_cells(keys["s0"], {}), keys["s0"])
    unsafe_source = dict.fromkeys(keys["s1"].cases, 'next_step = "longer"')
    unsafe = work_of("s1", notebook_cells(keys["s1"], unsafe_source), keys["s1"])
    sure = {
        name: f"low_mm = {case.foramen_mm + 0.2}\nhigh_mm = {case.foramen_mm + 0.4}"
        for name, case in keys["s4"].cases.items()
        if isinstance(case, GradedCase)
    }
    too_sure = work_of("s4", notebook_cells(keys["s4"], sure), keys["s4"])
    poor = MarksRow("s4", {}, 9.0)
    missing = MarksRow("s5", {}, None, remark="nothing collected")
    table = table_of(works, s4=poor, s5=missing)
    write_record(taught, GradingRecord("s3", "a6_reconcile", typed_id="s2"))
    write_record(taught, GradingRecord("s2", "a6_reconcile", typed_id=" S2"))
    found = dict(conversations(taught, table, [blank, unsafe, *works[2:4], too_sure]))
    assert found["s0"] == ("answered nothing",)
    assert found["s1"][0].startswith("a step that could hurt somebody (q1")
    assert any("mean error +" in reason for reason in found["s2"])
    assert "typed another id: s2" in found["s3"]
    assert not any("another id" in reason for reason in found["s2"]), "capitals make no other id"
    assert found["s4"] == ("0 of 3 intervals hold the true length", "9 of 32 points")
    assert "s5" not in found, "one sentence for all of them"
    assert (
        missing_sentence(table)
        == "Nothing is collected of 1 student; named at the top of this page."
    )
    waiting = replace(poor, total=13.0, by_hand=("reason",))
    still = dict(conversations(taught, table_of(works, s4=waiting), works))
    assert "13 of 32 points" not in still.get("s4", ()), "the reason may still earn four"
    assert waiting_sentence(table) == ""
    assert "1 student still waits" in waiting_sentence(table_of(works, s4=waiting))
    certain = table_of(works, s4=replace(waiting, total=9.0))
    assert "9 of 32 points" in dict(conversations(taught, certain, works))["s4"]
    never = dict.fromkeys(keys["s0"].cases, 'next_step = "film"')
    timid = work_of("s0", notebook_cells(keys["s0"], never), keys["s0"])
    reasons = dict(conversations(taught, table, [timid, *works[1:]]))["s0"]
    assert any(one.startswith("“not yet” to all 3 cases") for one in reasons)
    lucky = [
        work
        for work in works[:2]
        if sum(low <= 0 <= high for low, high in work.ends_mm) == len(work.ends_mm)
    ]
    assert conversations(taught, table_of(lucky), lucky) == ()


def test_cases_stand_together_by_what_makes_them_hard(works: list[Work]) -> None:
    assert any(
        list(one.kinds.values()) != list(two.kinds.values())
        for one, two in itertools.pairwise(works)
    ), "students have their cases in different orders"
    points = {"case: plain": 4.0, "case: not yet": 1.0, "case: one source does not belong": 2.0}
    rows = []
    for number, work in enumerate(works):
        mine = {q: points[f"case: {_kind(kind)}"] for q, kind in work.kinds.items()}
        mine |= dict.fromkeys(work.chosen, 4.0 if number < 3 else 0.0)
        rows.append(MarksRow(work.student, {**mine, "reason": None}, 20.0))
    table = MarksTable("a6", table_of(works).maxima, tuple(rows))
    parts = parts_of(table, works)
    assert parts is not None
    assert parts.difficulty["case: plain"] == 1.0
    assert parts.difficulty["case: not yet"] == 0.25
    assert parts.difficulty["i1"] == 0.5
    assert parts.waiting == ("reason",)
    said = {row[0]: row[2:] for row in parts_sheet(parts).rows}
    assert said["i1"][0] == "1.00", "the four items go together perfectly"
    assert "hard" in said["case: not yet"][1]


def test_an_answer_that_waits_for_marks_by_hand_is_no_zero_in_any_figure(
    works: list[Work],
) -> None:
    """An answer that could not be read has 0 points until somebody has looked at it."""
    full = table_of(works)
    points = {**full.rows[0].points, "i1": 0.0}
    waits = MarksRow(works[0].student, points, 21.0, by_hand=("i1",))
    parts = parts_of(table_of(works, **{works[0].student: waits}), works)
    assert parts is not None
    assert parts.waiting == ("i1",)
    assert set(parts.difficulty.values()) == {0.75}
    zero = parts_of(table_of(works, **{works[0].student: replace(waits, by_hand=())}), works)
    assert zero is not None
    assert zero.difficulty["i1"] < 0.75, "marked 0 is 0"


def _kind(trap: str) -> str:
    return {"none": "plain", "not yet": "not yet"}.get(trap, "one source does not belong")


REASONS = MarksTable("a6", {"reason": 4.0}, tuple(
    MarksRow(f"s{n}", {"reason": float(n % 5)}, float(n % 5)) for n in range(12)
))  # fmt: skip


def test_two_graders_are_compared_where_both_gave_points() -> None:
    text = "Student;Points\n" + "".join(f"S{n};{min(n % 5 + (n == 1), 4)},0\n" for n in range(11))
    second = parse_second_marks(text + "s11;\n", REASONS)
    assert second["s1"] == 2.0
    assert "s11" not in second
    section = graders_section(REASONS, second)
    assert section is not None
    (sheet,) = section.shown
    assert isinstance(sheet, Sheet)
    figures = {row[0]: row[1] for row in sheet.rows}
    assert section.words[0].startswith("11 reasons have two marks")
    assert figures["same points"] == "91 %"
    assert float(figures["weighted kappa (squares)"]) == pytest.approx(0.98, abs=0.006)
    unmarked = MarksTable("a6", REASONS.maxima, (replace(REASONS.rows[0], by_hand=("reason",)),))
    section = graders_section(unmarked, second)
    assert section is not None
    assert "0 reasons with two marks: too few" in section.words[0]


@pytest.mark.parametrize("both", [2, 9])
def test_with_fewer_than_ten_reasons_no_figure_of_agreement_is_given(both: int) -> None:
    section = graders_section(REASONS, {f"s{n}": 4.0 for n in range(both)})
    assert section is not None
    assert not section.shown
    assert section.words[0].startswith(f"{both} reasons with two marks: too few")


def test_an_id_is_the_same_one_however_its_letters_are_stored() -> None:
    table = MarksTable("a6", {"reason": 4.0}, (MarksRow("m\u00fcller", {"reason": 1.0}, 1.0),))
    in_parts = "Mu\u0308ller"
    assert parse_second_marks(f"student,points\n{in_parts},3\n", table) == {"m\u00fcller": 3.0}
    assert GradingRecord("m\u00fcller", "a6", typed_id=in_parts).remarks == ()


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "row 1: allowed are the columns student and points"),
        ("student,mark\ns1,3", "row 1: allowed are the columns student and points"),
        ("student,points\ns99,3", "row 2, field student: got 's99'"),
        ("student,points\ns1,3\nS1,3", "row 3, field student: s1 stands twice"),
        ("student,points\ns1,5", "row 2, field points: got 5; allowed is 0 to 4"),
        ("student,points\ns1,-1", "row 2, field points: got -1"),
        ("student,points\ns1,three", "row 2, field points: got 'three'; allowed is a number"),
        ("student,points\ns1,3 mm", "row 2, field points: got '3 mm'"),
        ("student,points\ns1,3,5", "row 2: got 3 cells; allowed are 2"),
    ],
)
def test_a_mistake_in_second_marks_is_named_with_its_row(text: str, says: str) -> None:
    with pytest.raises(ClassroomError) as error:
        parse_second_marks(text, REASONS, "second.csv")
    assert says in str(error.value)


def test_marks_of_a_reason_that_nobody_writes_are_refused() -> None:
    with pytest.raises(ClassroomError, match="no written reason"):
        parse_second_marks("student,points\n", MarksTable("a1", {"q1": 4.0}, ()))
    assert graders_section(MarksTable("a1", {"q1": 4.0}, ()), None) is None


class Page(HTMLParser):
    """What a browser finds in a page: tags with their attributes, and the text."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str]]] = []
        self.text = ""
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, {name: value or "" for name, value in attrs}))

    def handle_data(self, data: str) -> None:
        self.text += data


def assert_holds_everything_in_itself(html: str) -> None:
    page = Page(html)
    assert not [tag for tag, _ in page.tags if tag in ("script", "link", "iframe", "object")]
    for tag, attributes in page.tags:
        for name in ("src", "href"):
            assert re.match(r"data:image/png|#|$", attributes.get(name, "")), (tag, attributes)
        assert not [name for name in attributes if name.startswith("on")]
        assert tag != "img" or len(attributes["alt"]) > 40
    ranks = [int(tag[1]) for tag, _ in page.tags if re.fullmatch("h[1-6]", tag)]
    assert ranks.count(1) == 1
    assert all(after <= before + 1 for before, after in itertools.pairwise(ranks))
    anchors = {attributes["id"] for tag, attributes in page.tags if tag == "section"}
    links = {attributes["href"][1:] for tag, attributes in page.tags if tag == "a"}
    assert links == anchors
    assert "url(" not in html
    assert "default-src 'none'" in html


@pytest.fixture(scope="module")
def graded(tmp_path_factory: pytest.TempPathFactory) -> ClassFolder:
    """Four on the class list: one careful, one with the root's end, one blank, one missing."""
    where = tmp_path_factory.mktemp("report")
    students = ("ada", "ben", "cal", "dee")
    taught = class_with("a6_reconcile", where, ROOT / "course", students)
    key = read_key(taught, "a6_reconcile")
    released = json.loads(taught.released_notebook("a6_reconcile").read_text(encoding="utf-8"))
    for student, how, belief in (
        ("ada", careful, ""), ("ben", believes_the_root_end, "M2"), ("cal", None, ""),
    ):  # fmt: skip
        cells = {"identity": f'student_id = "{student}"'}
        if how is not None:
            cells |= answers(key.of(student), how, belief) | {"reason": "<b>Because.</b>"}
        path = where / "in" / student / "a6_reconcile.ipynb"
        path.parent.mkdir(parents=True)
        path.write_text(json.dumps(filled_in(released, cells)), encoding="utf-8")
    with pytest.raises(ClassroomError, match="Nothing is graded for a6_reconcile yet"):
        class_report(taught, "a6_reconcile")
    done = collect(where / "in", taught, "a6_reconcile", tuple(map(Student, students)))
    assert len(done.taken) == 3
    outcomes = run_for_each("autograde", taught, "a6_reconcile", students[:3])
    assert not [one.failed for one in outcomes if one.failed]
    return taught


@pytest.mark.slow
def test_the_command_writes_a_page_that_holds_everything_in_itself(graded: ClassFolder) -> None:
    second = graded.root / "second.csv"
    second.write_text("student,points\nada,4\nben,1\n")
    asked = ["report", "--class", str(graded.root), "--second-marks", str(second)]
    done = CliRunner().invoke(app, asked)
    assert done.exit_code == 0, done.output
    assert "3 of 4 students are graded. Nothing collected: dee." in done.stdout
    assert "Keep it to yourself" in done.stdout
    assert "Next: open it in a browser" in done.stdout
    html = (graded.root / "report_a6_reconcile.html").read_text(encoding="utf-8")
    assert_holds_everything_in_itself(html)
    assert "For the instructor only" in Page(html).text
    again = class_report(graded, "a6_reconcile", {"ada": 4.0, "ben": 1.0})
    assert again.to_html() == html, "it can be run twice"


@pytest.mark.slow
def test_the_report_names_who_is_missing_and_who_is_off(graded: ClassFolder) -> None:
    page = class_report(graded, "a6_reconcile")
    tables = {each.caption: each for section in page.sections for each in section.shown
              if isinstance(each, Sheet)}  # fmt: skip
    why = {row[0]: row[1] for row in tables["To talk to"].rows}
    assert "dee" not in why
    talk = next(s for s in page.sections if s.title == "Who needs a conversation")
    assert any("Nothing is collected of 1 student" in words for words in talk.words)
    assert "answered nothing" in why["cal"]
    assert "mean error" in why["ben"]
    errors = next(s for s in page.sections if s.title == "Error and bias")
    assert "No length from: cal." in errors.words
    sheet = next(each for each in errors.shown if isinstance(each, Sheet))
    assert [row[0] for row in sheet.rows] == ["ada", "ben", "all together",
                                              "the same evidence, weighed"]  # fmt: skip
    place = sheet.heads.index("RMS error (mm)")
    for row in sheet.rows:
        n, bias, sd = int(row[1]), float(row[2].replace("−", "-")), float(row[3])
        root_mean_square = (bias**2 + sd**2 * (n - 1) / n) ** 0.5
        assert float(row[place]) == pytest.approx(root_mean_square, abs=0.011), row[0]
    pictures = [each for section in page.sections for each in section.shown
                if isinstance(each, Picture)]  # fmt: skip
    assert len(pictures) == 3
    assert all(re.search(r"\d", each.sentence) for each in pictures)


@pytest.mark.slow
def test_the_notebook_shows_the_same_when_it_lies_in_the_class_folder(
    graded: ClassFolder, monkeypatch: pytest.MonkeyPatch
) -> None:
    notebook = ROOT / "instructor_guide" / "class_report.ipynb"
    cells = json.loads(notebook.read_text(encoding="utf-8"))["cells"]
    (code,) = ("".join(cell["source"]) for cell in cells if cell["cell_type"] == "code")
    *before, last = code.strip().splitlines()
    names: dict[str, object] = {}
    exec("\n".join(before), names)
    monkeypatch.chdir(ROOT / "instructor_guide")
    assert "There is no class in ." in repr(eval(last, names)), "in words, not as a traceback"
    monkeypatch.chdir(graded.root)
    assert eval(last, names) == class_report(graded, "a6_reconcile")


@pytest.mark.slow
def test_a_class_of_one_who_answered_nothing_has_a_report(
    graded: ClassFolder, monkeypatch: pytest.MonkeyPatch
) -> None:
    import lengthwise.classroom.report as module

    whole = module.marks_table(graded, "a6_reconcile")
    for student in ("cal", "ada"):
        (row,) = (row for row in whole.rows if row.student == student)
        monkeypatch.setattr(module, "marks_table", lambda *_, r=row: replace(whole, rows=(r,)))
        page = class_report(graded, "a6_reconcile")
        assert_holds_everything_in_itself(page.to_html())
        assert page.opening[1].startswith("1 of 1 students")


def test_a_name_that_looks_like_a_program_stays_text(works: list[Work]) -> None:
    from lengthwise.classroom.report_beliefs import beliefs_sheet
    from lengthwise.classroom.report_page import ReportPage, Section

    renamed = [replace(work, student="<script>x</script>") for work in works]
    sheet = beliefs_sheet(count_beliefs(renamed))
    html = ReportPage("<b>", ("<i>",), (Section("A & B", ("<u>",), (sheet,)),)).to_html()
    assert "<script" not in html
    assert not re.search(r"<[biu]>", html)


def test_evenly_careless_graders_are_no_better_than_chance() -> None:
    rng = np.random.default_rng(3)
    rows = tuple(MarksRow(f"s{n}", {"reason": float(rng.integers(5))}, 0.0) for n in range(400))
    second = {row.student: float(rng.integers(5)) for row in rows}
    section = graders_section(MarksTable("a6", {"reason": 4.0}, rows), second)
    assert section is not None
    (sheet,) = section.shown
    assert isinstance(sheet, Sheet)
    assert abs(float(sheet.rows[2][1].replace("−", "-"))) < 0.15
