"""The demo class, graded by real nbgrader: every mark as expected, from every way in."""

from __future__ import annotations

import csv
import itertools
import json
import re
import shutil
import sqlite3
import subprocess
import sys
import zipfile
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from form_view import FormView, form_view
from grading_tools import GradedDemo, run_lengthwise
from lengthwise.classroom.class_folder import ClassFolder, open_class
from lengthwise.classroom.demo_class import WAS_RUN
from lengthwise.classroom.marks_table import marks_table
from lengthwise.evidence import Evidence
from lengthwise.marking.a6_cases import NOT_YET, ODD_ONE, PLAIN
from lengthwise.marking.items import read_items
from lengthwise.reconciliation import reconcile

ASSIGNMENT = "a6_reconcile"
CASES = ("q1", "q2", "q3")
ITEMS = ("i1", "i2", "i3", "i4")
pytestmark = pytest.mark.slow

Marks = dict[str, dict[str, str]]


def marks_of(taught: ClassFolder) -> Marks:
    text = marks_table(taught, ASSIGNMENT).to_csv()
    return {row["student"]: row for row in csv.DictReader(text.splitlines())}


# ---- the rule of the marks, worked out here once more and not taken from the library ----------


def expected_points(typed: dict[str, str], evidence: Evidence, target_mm: float) -> float:
    """Four points: half for the length, half for the interval, or "not yet" and its next step."""
    result = reconcile(evidence, target_mm=target_mm)
    step = typed.get("next_step", "").strip('"')
    recommended = result.working_length_mm
    if recommended is None:
        if "working_length_mm" in typed or step in ("", "confirm"):
            return 0.0
        return 4.0 if step in (result.next_step.word, *result.next_step.also) else 2.0
    if "working_length_mm" not in typed and step not in ("", "confirm"):
        return 0.0
    length = interval = 0.0
    if "working_length_mm" in typed:
        error = float(typed["working_length_mm"]) - recommended
        if -0.5 <= error <= 0.25:
            length = 1.0
        elif -1.0 < error < -0.5:
            length = (error + 1.0) / 0.5
        elif 0.25 < error < 0.5:
            length = (0.5 - error) / 0.25
    if "low_mm" in typed and "high_mm" in typed:
        best = expected_score(result, *result.interval_mm(0.90))
        interval = best / expected_score(result, float(typed["low_mm"]), float(typed["high_mm"]))
    return 2.0 * length + 2.0 * min(interval, 1.0)


def expected_score(result: object, low: float, high: float) -> float:
    """Gneiting & Raftery 2007, interval score at 90 %, averaged over the posterior."""
    grid = np.asarray(result.grid_mm)  # type: ignore[attr-defined]
    weight = np.asarray(result.density_per_mm)  # type: ignore[attr-defined]
    score = high - low + 20.0 * np.where(grid < low, low - grid, 0.0)
    score += 20.0 * np.where(grid > high, grid - high, 0.0)
    return float(np.average(score, weights=weight))


def what_was_typed(notebook: dict[str, object], name: str) -> dict[str, str]:
    """What stands after the equals signs of the filled-in copy of an answer, commas mended."""
    texts = ["".join(cell["source"]) for cell in notebook["cells"]]  # type: ignore[attr-defined]
    check = next(i for i, text in enumerate(texts) if text.startswith(f'check("{name}"'))
    found = re.findall(r"^(\w+) = ([\d.,]+|\"\w+\")$", texts[check - 1], re.MULTILINE)
    return {field: value.replace(",", ".") for field, value in found if value != "..."}


def handed_in(root: Path, student: str) -> dict[str, object]:
    for path in (root / "handed_in").rglob("*.ipynb"):
        notebook = json.loads(path.read_text("utf-8"))
        sources = ["".join(cell["source"]) for cell in notebook["cells"]]
        if student in path.as_posix() or f'student_id = "{student}"' in sources:
            return dict(notebook)
    raise LookupError(student)


def test_every_mark_is_what_the_rule_gives(graded_demo: GradedDemo) -> None:
    stored = json.loads(graded_demo.taught.answers_path(ASSIGNMENT).read_text("utf-8"))
    marks = marks_of(graded_demo.taught)
    assert len(marks) == 12
    for student, row in marks.items():
        notebook = handed_in(graded_demo.root, student)
        if student == "student-11":  # its check of q3 was deleted; only the test needs it to look
            cells = notebook["cells"]
            at = next(i for i, c in enumerate(cells) if c["id"] == "items_text")  # type: ignore[arg-type,index]
            cells.insert(at, {"source": 'check("q3")'})  # type: ignore[attr-defined]
        for name in CASES:
            case = stored["students"][student]["cases"][name]
            evidence = Evidence.from_json(json.dumps(case["evidence"]))
            wanted = expected_points(what_was_typed(notebook, name), evidence, 0.5)
            assert float(row[name]) == pytest.approx(wanted, abs=0.0051), (student, name)


def questions_by_kind(taught: ClassFolder) -> dict[str, dict[str, str]]:
    """For every student, which question holds the plain case, the odd one out, and "not yet"."""
    stored = json.loads(taught.answers_path(ASSIGNMENT).read_text("utf-8"))
    return {
        student: {case["trap"].split(":")[0]: name for name, case in one["cases"].items()}
        for student, one in stored["students"].items()
    }


def test_what_each_invented_student_earns(graded_demo: GradedDemo) -> None:
    """By hand: what must come out whatever the cases are, and wherever they stand."""
    marks = marks_of(graded_demo.taught)
    asked = questions_by_kind(graded_demo.taught)

    def earned(student: str, kind: str) -> float:
        return float(marks[student][asked[student][kind]])

    careful = {"q1": "4", "q2": "4", "q3": "4", "i1": "1", "i2": "1", "i3": "1", "i4": "1"}
    for student in ("student-01", "student-09", "student-10", "student-12"):
        row = marks[student]
        assert {part: row[part] for part in careful} == careful, student
        assert row["total"] == "16", student
    # Written reasons wait for their instructor; an untouched one earns nothing and does not wait.
    assert all(row["needs_hand_marking"] for name, row in marks.items() if name != "student-07")
    blank = marks["student-07"]
    assert {blank[part] for part in (*CASES, *ITEMS, "reason", "total")} == {"0"}
    assert blank["needs_hand_marking"] == ""
    # 0.75 mm short is half of the length half, and the wider interval loses a little more.
    for student in ("student-02", "student-11"):
        assert 1.0 < earned(student, PLAIN) < 3.0
        assert earned(student, NOT_YET) == 2.0
    # Always "not yet": nothing where a length could be taken.
    assert earned("student-06", PLAIN) == earned("student-06", ODD_ONE) == 0.0
    assert earned("student-06", NOT_YET) >= 2.0
    # The program in place of a working length costs that half, and is shown to the instructor.
    first = min(asked["student-08"][kind] for kind in (PLAIN, ODD_ONE))
    assert marks["student-08"][first] == "2"
    assert marks["student-08"]["total"] == "14"
    assert marks["student-08"]["needs_hand_marking"] == f"{first} reason"
    # An interval a tenth of a millimetre wide keeps the length half only, and little more.
    assert 2.0 <= earned("student-05", PLAIN) < 3.2
    # Where the sources disagree most, the believers lose most.
    for student in ("student-03", "student-04"):
        assert earned(student, ODD_ONE) < 1.5
        assert earned(student, NOT_YET) == 0.0
    assert {row["max"] for row in marks.values()} == {"20"}


def test_wrong_options_are_the_ones_their_believers_choose(graded_demo: GradedDemo) -> None:
    items = read_items(graded_demo.taught.items_path(ASSIGNMENT))
    marks = marks_of(graded_demo.taught)
    for student, belief in (("student-03", "M2"), ("student-04", "M7"), ("student-05", "M11")):
        for name, item in items.items():
            fell_for_it = any(option.misconception == belief for option in item.options)
            assert marks[student][name] == ("0" if fell_for_it else "1"), (student, name)


def test_the_believers_are_told_what_their_answers_look_like(graded_demo: GradedDemo) -> None:
    said = {
        "student-03": "the end of the root on the radiograph were the foramen",
        "student-04": "the plain mean of all sources",
        "student-05": "a narrow interval showed competence",
    }
    for student, sentence in said.items():
        page = graded_demo.taught.root / "feedback" / student / ASSIGNMENT / f"{ASSIGNMENT}.html"
        assert sentence in page.read_text("utf-8"), student
    careful = graded_demo.taught.root / "feedback/student-01" / ASSIGNMENT / f"{ASSIGNMENT}.html"
    assert "look as if" not in careful.read_text("utf-8")


# ---- nothing of a student's is executed ------------------------------------------------------


def test_nothing_of_a_students_was_executed(graded_demo: GradedDemo) -> None:
    text = json.dumps(handed_in(graded_demo.root, "student-08"))
    assert WAS_RUN in text
    assert not list(graded_demo.root.rglob(WAS_RUN))
    assert not list(Path.cwd().rglob(WAS_RUN))


def test_the_same_cells_write_their_file_when_they_are_run(
    graded_demo: GradedDemo, tmp_path: Path
) -> None:
    """The proof above can fail."""
    notebook = handed_in(graded_demo.root, "student-08")
    texts = ["".join(cell["source"]) for cell in notebook["cells"]]  # type: ignore[attr-defined]
    programs = [text for text in texts if WAS_RUN in text]
    assert len(programs) == 2
    for number, program in enumerate(programs):
        target = tmp_path / f"run-{number}"
        moved = program.replace(str(graded_demo.root.resolve() / WAS_RUN), str(target))
        subprocess.run([sys.executable, "-c", moved], check=True)
        assert target.exists()


# ---- what the commands say -------------------------------------------------------------------


def test_grading_says_what_it_repaired_and_could_not_read(graded_demo: GradedDemo) -> None:
    lines = {
        line.split()[0]: line for line in graded_demo.said["grade"].splitlines() if "graded" in line
    }
    assert lines["student-01"].split() == ["student-01", "graded"]
    assert "working_length_mm could not be read" in lines["student-08"]
    assert "was read as" in lines["student-09"]
    assert "more than once" in lines["student-10"]
    assert "q3_check was missing, put back" in lines["student-11"]
    assert "label of identity, q1" in lines["student-12"]
    assert "12 graded, 0 failed." in graded_demo.said["grade"]


def test_collecting_says_how_it_knew_whose_file_it_was(graded_demo: GradedDemo) -> None:
    said = graded_demo.said["collect"]
    assert "12 files collected, 0 not taken." in said
    assert "a6_reconcile (1).ipynb (taken by the id typed in it)" in said


def test_each_command_from_the_demo_to_its_pages_says_what_comes_next(
    graded_demo: GradedDemo,
) -> None:
    assert set(graded_demo.said) == {"demo", "collect", "grade", "marks", "feedback"}
    silent = [name for name, said in graded_demo.said.items() if "\nNext" not in said]
    assert silent == []


def test_the_marks_on_screen_are_the_marks_in_the_file(graded_demo: GradedDemo) -> None:
    path = graded_demo.taught.root / f"marks_{ASSIGNMENT}.csv"
    rows = list(csv.DictReader(path.read_text("utf-8").splitlines()))
    assert list(rows[0]) == [
        *("student", *CASES, *ITEMS, "reason", "total", "max", "needs_hand_marking", "remark")
    ]
    for row in rows:
        line = next(x for x in graded_demo.said["marks"].splitlines() if row["student"] in x)
        shown = line.split()
        assert [float(x) for x in shown[1:8]] == [float(row[part]) for part in (*CASES, *ITEMS)]
        assert float(shown[9]) == float(row["total"])


def test_the_readme_shows_what_really_comes_out(graded_demo: GradedDemo, repo_root: Path) -> None:
    readme = (repo_root / "README.md").read_text("utf-8")
    shown = re.findall(r"^ (student-\d\d +[\d.]+ .*)$", readme, re.MULTILINE)
    made = re.findall(r"^ (student-\d\d +[\d.]+ .*)$", graded_demo.said["marks"], re.MULTILINE)
    for old, new in zip(shown, made, strict=True):
        for was, now in zip(old.split(), new.split(), strict=True):
            if re.fullmatch(r"[\d.]+", now):  # a hundredth here or there is no news
                assert float(was) == pytest.approx(float(now), abs=0.1), (old, new)
            else:
                assert was == now, (old, new)
    said = [
        " ".join(line.split())
        for line in (graded_demo.said["collect"] + graded_demo.said["grade"]).splitlines()
    ]
    section = readme.split("## The demo class")[1].split("```")[3]
    for line in re.split(r"\n(?=  student|\d)", section.strip("\n")):
        shown_line = " ".join(line.split())
        assert any(same_but_for_a_hundredth(shown_line, one) for one in said), line


def same_but_for_a_hundredth(text: str, other: str) -> bool:
    """The same words; lengths may move by a hundredth from one version to the next."""
    number = r"\d+[.,]\d+"
    if re.sub(number, "#", text) != re.sub(number, "#", other):
        return False
    lengths = zip(re.findall(number, text), re.findall(number, other), strict=True)
    return all(
        float(one.replace(",", ".")) == pytest.approx(float(two.replace(",", ".")), abs=0.0101)
        for one, two in lengths
    )


def test_a_length_that_moved_by_more_than_a_hundredth_is_noticed() -> None:
    assert same_but_for_a_hundredth("24,50 was read as 24.5", "24,49 was read as 24.49")
    assert not same_but_for_a_hundredth("24,44 was read as 24.44", "24,50 was read as 24.5")
    assert not same_but_for_a_hundredth("24,50 was read", "24,50 was seen")


# ---- feedback --------------------------------------------------------------------------------


def test_a_feedback_page_loads_nothing_and_runs_nothing(graded_demo: GradedDemo) -> None:
    archive = graded_demo.taught.root / "feedback" / f"{ASSIGNMENT}.zip"
    with zipfile.ZipFile(archive) as pages:
        assert len(pages.namelist()) == 12
        for name in pages.namelist():
            page = pages.read(name).decode("utf-8")
            assert "<script" not in page.lower()
            assert "default-src 'none'" in page
            assert not re.search(r"""(?:src|href)=["']https?:""", page)
            assert "url(http" not in page
            assert ranks_are_in_order(page)


def ranks_are_in_order(page: str) -> bool:
    ranks = [int(rank) for rank in re.findall(r"<h([1-6])\b", page)]
    return ranks.count(1) == 1 and all(b <= a + 1 for a, b in itertools.pairwise(ranks))


def test_a_feedback_page_shows_the_case_the_points_and_the_reasons(graded_demo: GradedDemo) -> None:
    page = graded_demo.taught.root / "feedback" / "student-02" / ASSIGNMENT / f"{ASSIGNMENT}.html"
    text = page.read_text("utf-8")
    marks = marks_of(graded_demo.taught)["student-02"]
    assert f"{float(marks['q1']):.2f} of 4<" in text
    assert f"{float(marks['total']):.2f} of 20 points" in text
    assert "The canal most likely ends at" in text
    assert "Paper point trials, in order" in text
    assert "Still to be marked by your instructor: reason." in text
    assert text.index("of 20 points") < text.index("What to look at again") < text.index("<details")
    assert "student-01" not in text.replace('student_id = "student-01"', "")


def test_a_feedback_page_holds_no_other_options_feedback(graded_demo: GradedDemo) -> None:
    page = graded_demo.taught.root / "feedback" / "student-01" / ASSIGNMENT / f"{ASSIGNMENT}.html"
    text = page.read_text("utf-8")
    for item in read_items(graded_demo.taught.items_path(ASSIGNMENT)).values():
        for option in item.options:
            assert (option.feedback[:40] in text) is option.correct


# ---- again, and from the other side ----------------------------------------------------------


@pytest.fixture
def copied(graded_demo: GradedDemo, tmp_path: Path) -> ClassFolder:
    shutil.copytree(graded_demo.taught.root, tmp_path / "demo-class")
    return open_class(tmp_path / "demo-class")


def test_grading_twice_gives_the_same_marks(copied: ClassFolder, graded_demo: GradedDemo) -> None:
    again = run_lengthwise("grade", cwd=copied.root)
    assert again.returncode == 0, again.stderr
    assert again.stdout.replace(str(copied.root), "") == graded_demo.said["grade"].replace(
        str(graded_demo.taught.root), ""
    )
    assert marks_of(copied) == marks_of(graded_demo.taught)


def test_collecting_twice_changes_nothing(copied: ClassFolder, graded_demo: GradedDemo) -> None:
    before = {path: path.read_bytes() for path in (copied.root / "submitted").rglob("*.*")}
    done = run_lengthwise("collect", graded_demo.root / "handed_in", cwd=copied.root)
    assert done.stdout.count(" unchanged: ") == 12
    assert {path: path.read_bytes() for path in (copied.root / "submitted").rglob("*.*")} == before


@pytest.fixture
def served(copied: ClassFolder, tmp_path: Path) -> Iterator[FormView]:
    settings = tmp_path / "settings"
    settings.mkdir()
    with form_view(copied.root, settings) as view:
        yield view


def forget_marks(taught: ClassFolder) -> None:
    with sqlite3.connect(taught.root / "gradebook.db") as gradebook:
        gradebook.execute("UPDATE grade SET auto_score = NULL, needs_manual_grade = 1")


def test_the_form_views_own_button_gives_the_same_marks(
    copied: ClassFolder, served: FormView, graded_demo: GradedDemo
) -> None:
    wanted = marks_of(graded_demo.taught)
    forget_marks(copied)
    assert marks_of(copied) != wanted
    for student in wanted:
        answer = served.press_autograde(ASSIGNMENT, student)
        assert answer["success"], answer
    assert marks_of(copied) == wanted
    assert not list(graded_demo.root.rglob(WAS_RUN))


def test_feedback_written_from_the_form_view_is_sealed_too(
    copied: ClassFolder, served: FormView
) -> None:
    page = copied.root / "feedback" / "student-02" / ASSIGNMENT / f"{ASSIGNMENT}.html"
    page.unlink()
    path = f"/formgrader/api/assignment/{ASSIGNMENT}/student-02/generate_feedback"
    assert served.send(path)["success"]
    text = page.read_text("utf-8")
    assert "default-src 'none'" in text
    assert "<script" not in text.lower()


def test_a_hand_mark_stays_done_until_the_answer_under_it_changes(
    copied: ClassFolder, served: FormView
) -> None:
    def reason_of(student: str, kind: str = "grades") -> dict[str, object]:
        submissions = served.get(f"/formgrader/api/submitted_notebooks/{ASSIGNMENT}/{ASSIGNMENT}")
        one = next(x for x in json.loads(submissions) if x["student"] == student)
        listed = json.loads(served.get(f"/formgrader/api/{kind}?submission_id={one['id']}"))
        return next(dict(one) for one in listed if one["name"] == "reason")

    for student in ("student-01", "student-02"):
        grade = reason_of(student)
        assert grade["needs_manual_grade"]
        comment = reason_of(student, "comments")["id"]
        said = {"manual_comment": f"For {student}: which film?"}
        served.send(f"/formgrader/api/comment/{comment}", "PUT", said)
        served.send(f"/formgrader/api/grade/{grade['id']}", "PUT", {"manual_score": 3})
    changed = copied.submission_folder("student-02", ASSIGNMENT) / f"{ASSIGNMENT}.ipynb"
    text = changed.read_text("utf-8")
    changed.write_text(text.replace("I weighed", "On second thoughts I weighed"), "utf-8")
    assert run_lengthwise("grade", cwd=copied.root).returncode == 0
    marks = marks_of(copied)
    assert (marks["student-01"]["reason"], marks["student-01"]["total"]) == ("3", "19")
    assert marks["student-01"]["needs_hand_marking"] == ""
    assert marks["student-02"]["needs_hand_marking"] == "reason"
    assert "reason changed after 3 points by hand" in marks["student-02"]["remark"]
    assert (reason_of("student-02")["manual_score"], marks["student-02"]["reason"]) == (3, "3")
    served.press_autograde(ASSIGNMENT, "student-01")
    assert marks_of(copied)["student-01"]["needs_hand_marking"] == ""
    for student in ("student-01", "student-02"):
        path = f"/formgrader/api/assignment/{ASSIGNMENT}/{student}/generate_feedback"
        assert served.send(path)["success"]
        page = copied.root / "feedback" / student / ASSIGNMENT / f"{ASSIGNMENT}.html"
        assert f"For {student}: which film?" in page.read_text("utf-8")


def test_the_form_view_shows_the_explanation_and_no_html_of_a_student(
    copied: ClassFolder, served: FormView
) -> None:
    path = copied.submission_folder("student-01", ASSIGNMENT) / f"{ASSIGNMENT}.ipynb"
    text = path.read_text("utf-8")
    path.write_text(text.replace("I trusted", "<script>alert(1)</script> I trusted"), "utf-8")
    assert served.press_autograde(ASSIGNMENT, "student-01")["success"]
    listed = json.loads(
        served.get(f"/formgrader/api/submitted_notebooks/{ASSIGNMENT}/{ASSIGNMENT}")
    )
    one = next(x for x in listed if x["student"] == "student-01")
    page = served.get(f"/formgrader/submissions/{one['id']}/?index=0")
    assert "The canal most likely ends at" in page
    rubric = page.index("names the source that does not belong")
    assert rubric < page.index('id="reason"') < rubric + 2000, "the rubric stands by its answer"
    assert not re.search(r"""<script[^>]+src=["']https?:""", page)
    assert "<script>alert(1)" not in page
    assert "&lt;script&gt;alert(1)" in page
