"""The guide's commands, as they stand there, in a clean folder: a class of thirty, then the rest.

The test puts there what the pages say that somebody has (a list, files that came in) and nothing
else. The first command of grading.md, collect, grade and the marks by hand are typed in a shell;
the others, and all that is done a second time, go through the same ``main`` in process.
"""

from __future__ import annotations

import csv
import itertools
import json
import re
import subprocess
import zipfile
from collections.abc import Mapping
from dataclasses import dataclass
from html.parser import HTMLParser
from pathlib import Path

import guide_class as thirty
import pytest
from form_view import FormView
from guide import GUIDE, Command, Saved, between, inline, pages, steps
from guide_class import ASSIGNMENT, IDS
from guide_walk import (
    Said,
    as_typed,
    clean_place,
    follow,
    in_process,
    leads_on,
    name_of,
    surroundings,
)
from lengthwise.classroom.answer_key import read_key
from lengthwise.classroom.class_folder import ClassFolder, open_class
from lengthwise.classroom.demo_class import filled_in
from lengthwise.classroom.demo_students import DemoStudent, answer_sources, careful
from lengthwise.classroom.new_class import ASSIGNMENTS
from lengthwise.classroom.own_cases import keep_case
from lengthwise.classroom.take_in import take_in
from lengthwise.marking.authored_cases import WET, Wish, author_case
from lengthwise.marking.misconceptions import MISCONCEPTIONS

pytestmark = pytest.mark.slow

TEXT = {page.name: page.read_text(encoding="utf-8") for page in pages()}
WALK = between(TEXT["grading.md"], "## 1. Make the class", "## Several assignments")
BY_HAND = 2.5
"""What the instructor gives for the answer that could not be read."""


@dataclass(frozen=True)
class Walked:
    """The way through grading.md: where, what every command said, and what it said again."""

    place: Path
    taught: ClassFolder
    said: list[Said]
    late: Said
    again: list[Said]
    changed: list[str]

    def of(self, name: str) -> Said:
        """What a command said the first time."""
        return next(one for one in self.said if name_of(one.command.arguments) == name)


@pytest.fixture(scope="module")
def walked(tmp_path_factory: pytest.TempPathFactory) -> Walked:
    place = clean_place(tmp_path_factory.mktemp("thirty"))
    root = place.parent / "seminar-1"
    (place / "roster.csv").write_text(thirty.ROSTER, encoding="utf-8")
    commands = [one for one in steps(WALK) if isinstance(one, Command)]
    of = {name_of(one.arguments): one for one in commands}
    at = commands.index(of["collect"])
    said = follow(commands[:1], place, as_typed) + follow(commands[1:at], place)
    lesson = next((GUIDE.parent / "course" / "lessons").glob("01_*.ipynb"))
    files = thirty.handed_in(open_class(root), lesson)
    put(place / "handed_in", files.first)
    said += follow([of["collect"]], place, as_typed)
    # As the page says: the right one of two is kept, late files are put there, collected again.
    (place / "handed_in" / files.withdrawn).unlink()
    put(place / "handed_in", files.late)
    late = in_process(of["collect"], place)
    said += follow([of["grade"]], place, as_typed)
    said += [marked_by_hand(of[""], place)]
    said += follow(commands[commands.index(of[""]) + 1 :], place)
    before = what_people_read(root)
    again = [in_process(one, place) for one in commands if name_of(one.arguments)]
    after = what_people_read(root)
    changed = [name for name in before.keys() | after.keys() if before[name] != after[name]]
    return Walked(place, open_class(root), said, late, again, changed)


def put(folder: Path, files: Mapping[str, bytes]) -> None:
    for where, data in files.items():
        (folder / where).parent.mkdir(parents=True, exist_ok=True)
        (folder / where).write_bytes(data)


def what_people_read(root: Path) -> dict[str, bytes]:
    """Tables, reports and pages that commands wrote."""
    kept = [*root.glob("*.csv"), *root.glob("*.html"), *(root / "feedback").rglob("*.html")]
    return {str(one): one.read_bytes() for one in kept}


def marked_by_hand(command: Command, place: Path) -> Said:
    """Open the class as the page says, give the answer that could not be read its points, leave."""
    program = subprocess.Popen(
        ["exec " + command.line], shell=True, cwd=place, text=True,
        env={**surroundings(), "BROWSER": "true"},  # the program true stands for the browser
        stdout=subprocess.PIPE, stderr=subprocess.PIPE,
    )  # fmt: skip
    assert program.stdout is not None
    try:
        said = program.stdout.readline()
        address = said.split()[-1]
        view = FormView(address.partition("/formgrader")[0])
        view.get(address.removeprefix(view.address))
        api = "/formgrader/api/"
        submitted = json.loads(view.get(f"{api}submitted_notebooks/{ASSIGNMENT}/{ASSIGNMENT}"))
        one = next(each for each in submitted if each["student"] == thirty.PROGRAM)
        waiting = [
            grade
            for grade in json.loads(view.get(f"{api}grades?submission_id={one['id']}"))
            if grade["needs_manual_grade"]
        ]
        assert len(waiting) == 1
        view.send(f"{api}grade/{waiting[0]['id']}", "PUT", {"manual_score": BY_HAND})
    finally:
        program.terminate()
        words = said + "".join(program.communicate(timeout=60))
    return Said(command, program.returncode, words)


# ---- every student is accounted for -----------------------------------------------------------


def test_every_file_is_taken_or_left_with_a_reason(walked: Walked) -> None:
    first, late = walked.of("collect").text, walked.late.text
    assert "25 files collected, 4 not taken." in first
    for student, reason in {
        thirty.CUT_OFF: "it is cut off, as if saving",
        thirty.OTHER_NOTEBOOK: "it holds nothing of a1_landmarks",
        thirty.TWICE: f"{thirty.TWICE} handed in more than one file",
    }.items():
        assert re.search(f"not taken +{student}.*: .*{reason}", first), student
    for student in IDS:
        assert student in first + late, student
    assert f"Nothing from: {thirty.LATE}, {thirty.MISSING}" in first
    assert f"Handed in, but not taken: {thirty.CUT_OFF}, {thirty.OTHER_NOTEBOOK}" in late
    assert f"Nothing from: {thirty.MISSING}" in late
    for student in (thirty.LATE, thirty.TWICE):
        assert re.search(f"{student} +new: ", late), student
    assert "taken by the id typed in it" in line(first, thirty.RENAMED)
    assert "no id typed in it; taken by its name" in line(first, thirty.EMPTY)


def line(text: str, student: str) -> str:
    return next(each for each in text.splitlines() if each.split()[:1] == [student])


def test_every_student_has_a_mark_or_a_reason(walked: Walked) -> None:
    said = walked.of("grade").text
    assert "27 graded, 0 failed." in said
    assert "was not run" in line(said, thirty.PROGRAM) or "unread" in line(said, thirty.PROGRAM)
    assert "put back" in line(said, thirty.DAMAGED)
    table = walked.taught.root / f"marks_{ASSIGNMENT}.csv"
    rows = {row["student"]: row for row in csv.DictReader(table.open(encoding="utf-8"))}
    assert list(rows) == list(IDS)
    totals = {one: float(row["total"]) for one, row in rows.items() if row["total"]}
    assert set(IDS) - set(totals) == thirty.NEVER_GRADED
    assert {rows[one]["remark"] for one in thirty.NEVER_GRADED} == {"nothing collected"}
    assert {totals[one] for one in thirty.ALL_RIGHT} == {20}
    assert {totals[one] for one in thirty.NEARLY} == {thirty.HALF_RIGHT}
    assert {totals[one] for one in (thirty.EMPTY,)} == {0}
    for wrong in (*thirty.BELIEVERS, *thirty.ERRATIC):
        assert 0 <= totals[wrong] < thirty.HALF_RIGHT, wrong
    by_hand = rows[thirty.PROGRAM]
    assert by_hand["needs_hand_marking"] == ""
    assert totals[thirty.PROGRAM] == pytest.approx(16 + BY_HAND)


def test_every_graded_student_has_one_page_of_their_own(walked: Walked) -> None:
    with zipfile.ZipFile(walked.taught.root / "feedback" / f"{ASSIGNMENT}.zip") as archive:
        held = {name: archive.read(name).decode("utf-8") for name in archive.namelist()}
    graded = sorted(set(IDS) - thirty.NEVER_GRADED)
    assert len(held) == len(graded)
    for student, (name, page) in zip(graded, sorted(held.items()), strict=True):
        assert student in name
        named = set(re.findall(r"student-\d\d", page))
        assert named <= {student}, name


class _Opened(HTMLParser):
    """A page as a browser takes it in: what it would load, and where its links lead."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.loads: list[str] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = dict(attrs)
        self.loads += [str(told[name]) for name in ("src", "href") if told.get(name)]


def test_the_report_opens_and_names_the_two_misconceptions(walked: Walked) -> None:
    page = (walked.taught.root / f"report_{ASSIGNMENT}.html").read_text(encoding="utf-8")
    assert all(one.startswith(("data:", "#")) for one in _Opened(page).loads)
    assert "27 of 30 students are graded." in page
    told = between(page.replace("<h2", "\n<h2"), "<h2", "<h2")
    assert "What the next session should take up" in told
    for belief in ("M2", "M3"):
        assert re.search(rf">[12]\. {belief}, ", told), told
        assert MISCONCEPTIONS[belief].belief in told


# ---- what comes next, and again ---------------------------------------------------------------


def test_each_command_says_the_one_that_the_guide_has_next(walked: Walked) -> None:
    for said, after in itertools.pairwise(walked.said):
        if name_of(said.command.arguments):
            assert leads_on(said, after.command, walked.place), (said.text, after.command.line)


def test_each_command_can_be_run_again_with_the_same_result(walked: Walked) -> None:
    first = [one for one in walked.said if name_of(one.command.arguments)]
    for before, again in zip(first, walked.again, strict=True):
        name = name_of(again.command.arguments)
        if name == "new-class":
            assert again.code == 1
            assert "is already there and stays as it is" in again.text
        elif name == "collect":
            assert again.code == 0
            assert again.text.count("unchanged: ") == 27
        else:
            assert again.code == 0
            assert said_in_the_end(again.text) == said_in_the_end(before.text), name
    assert walked.changed == []


def said_in_the_end(text: str) -> list[str]:
    """Lines but for those that say who still waits for a mark by hand, and the size of a zip."""
    told = re.sub(r"\d+ files, [\d.]+ MB", "", text)
    return [each for each in told.splitlines() if "by hand" not in each and each.strip()]


# ---- the checks can fail ----------------------------------------------------------------------


def test_a_command_that_is_changed_to_nonsense_is_noticed(walked: Walked) -> None:
    for one in walked.said:
        name = name_of(one.command.arguments)
        spoilt = one.command.line.replace(f"run {name} ", f"run {name}s ") if name else ""
        for changed in (spoilt, one.command.line.replace("seminar-1", "seminar-9")):
            if "run" in changed and "new-class seminar-9" not in changed:
                with pytest.raises(AssertionError, match=re.escape(changed)):
                    follow(steps(f"```\n{changed}\n```\n"), walked.place)


def test_a_command_at_the_wrong_place_is_noticed(walked: Walked) -> None:
    assert not leads_on(walked.of("pack"), walked.of("grade").command, walked.place)
    elsewhere = Command(("run", "collect", "handed_in", "--class", "../seminar-9"), "")
    assert not leads_on(walked.of("pack"), elsewhere, walked.place)


# ---- the other pages --------------------------------------------------------------------------

SERVED = {"", "demo"}
"""Not here: what opens a server (test_start, test_browser_workshop), and the demo (graded_demo)."""
SEVERAL = between(TEXT["grading.md"], "## Several assignments", "## When something goes wrong")


def commands_of(name: str) -> list[Command]:
    """Every command of a page, in blocks and in sentences, that is followed on the other pages."""
    found = [one for one in steps(TEXT[name]) if isinstance(one, Command)] + inline(TEXT[name])
    return [one for one in found if name_of(one.arguments) not in SERVED]


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, list[Said]]:
    """The three students of the printed list, with two assignments and a second grader."""
    place = clean_place(tmp_path_factory.mktemp("several"))
    of_three = [one for one in steps(TEXT["grading.md"]) if isinstance(one, Saved)]

    def hand_in() -> None:
        taught = open_class(place.parent / "seminar-2")
        put(place / "handed_in", reconciled_by(taught, ("student-01", "student-02")))

    there = [*of_three, *steps(SEVERAL)]
    second = [one for one in steps(TEXT["rubric.md"]) if isinstance(one, Saved)]
    said = follow(there, place, supplied={"collect": hand_in})
    in_sentences = inline(TEXT["grading.md"])
    follow([one for one in in_sentences if name_of(one.arguments) not in SERVED], place)
    return place, said + follow([*second, *inline(TEXT["rubric.md"])], place)


def reconciled_by(taught: ClassFolder, students: tuple[str, ...]) -> dict[str, bytes]:
    """What careful students hand in of a6."""
    name = "a6_reconcile"
    released = json.loads(taught.released_notebook(name).read_text(encoding="utf-8"))
    key = read_key(taught, name)
    made = {
        one: filled_in(released, answer_sources(DemoStudent(one, "careful", careful), key.of(one)))
        for one in students
    }
    return {f"{one}_{name}.ipynb": json.dumps(nb).encode() for one, nb in made.items()}


def test_a_class_with_several_assignments_goes_the_same_way(
    small: tuple[Path, list[Said]],
) -> None:
    place, said = small
    for one, after in itertools.pairwise(said[:-1]):
        assert leads_on(one, after.command, place), (one.text, after.command.line)
    root = place.parent / "seminar-2"
    table = (root / "marks_a6_reconcile.csv").read_text(encoding="utf-8")
    rows = {row["student"]: row for row in csv.DictReader(table.splitlines())}
    assert [rows[one]["total"] for one in ("student-01", "student-02")] == ["16", "16"]
    assert rows["student-03"]["remark"] == "nothing collected"
    page = (root / "report_a6_reconcile.html").read_text(encoding="utf-8")
    assert "Agreement among graders" in page


def test_a_class_of_one_gets_its_feedback(tmp_path: Path) -> None:
    """The page for those who learn alone; the zip is taken in as the start page's button does."""
    place = clean_place(tmp_path)

    def answer() -> None:
        zipped = place.parent / "my-cases" / "release" / "a6_reconcile.zip"
        assert take_in(zipped.read_bytes(), zipped.name, place / "course").assignment
        (mine,) = reconciled_by(open_class(place.parent / "my-cases"), ("me",)).values()
        (place / "course" / "a6_reconcile" / "a6_reconcile.ipynb").write_bytes(mine)

    said = follow(steps(TEXT["self_study.md"]), place, supplied={"collect": answer})
    assert open_class(place.parent / "my-cases").assignments == ASSIGNMENTS  # none was named
    assert "1 graded, 0 failed." in said[2].text
    shown = re.search(r"One of them to look at: (.+)", said[-1].text)
    assert shown
    assert "16.00 of 20 points" in Path(shown[1]).read_text(encoding="utf-8")


def test_what_a_workshop_gives_to_take_home_has_the_lessons_and_no_keys(tmp_path: Path) -> None:
    place = clean_place(tmp_path)
    made, packed = follow(steps(TEXT["workshop.md"])[-3:], place)
    assert leads_on(made, packed.command, place)
    (named,) = re.findall(r"Hand out `(\S+\.zip)`", TEXT["workshop.md"])
    with zipfile.ZipFile(place / named) as zipped:
        files = zipped.namelist()
    for part in ("course/lessons/", "course/practice/", "course/start.py", "README.md"):
        assert [one for one in files if f"/{part}" in one], part
    keys = ("/items/", "/answers/", "secret", "/source/", "instructor_guide")
    assert not [one for one in files if any(word in one for word in keys)]


def test_own_cases_and_files_of_evidence_as_the_guide_says(tmp_path: Path) -> None:
    place = clean_place(tmp_path)
    kept = place / "FOLDER" / "own_cases"
    kept.parent.mkdir()
    for name, wish in {"plain": Wish(), "wet": Wish("33", points=WET), "third": Wish("34")}.items():
        keep_case(kept, name, wish, 1, author_case(wish, 1, 0.5))
    lists = [one for one in steps(TEXT["grading.md"]) if isinstance(one, Saved)]
    text = TEXT["authoring.md"]
    of_three = [one for one in inline(text) if name_of(one.arguments)]
    said = follow([*lists, *steps(text), *of_three], place)
    told = {name_of(one.command.arguments): one.text for one in said}
    assert {"reconcile", "reconcile-class", "new-class", "own-cases"} == set(told)
    for name in ("new-class", "own-cases"):
        assert "every student gets your three cases" in told[name]
    assert "no working length" in said[0].text.lower()
    assert (place / "my_cases_reconciled.html").is_file()
    for again in (one for one in said if name_of(one.command.arguments) != "new-class"):
        assert in_process(again.command, place) == again


def test_a_session_with_teeth_as_the_guide_says(tmp_path: Path) -> None:
    place = clean_place(tmp_path)
    text = TEXT["extracted_teeth.md"]
    template = inline(text)[0]
    (made,) = follow([template], place)
    refused = in_process(template, place)
    assert refused.code == 1
    assert "is already there and stays as it is" in refused.text
    saved, teeth = steps(text)
    assert isinstance(teeth, Command)
    assert leads_on(made, teeth, place)
    (said,) = follow([saved, teeth], place)
    assert in_process(teeth, place) == said
    assert "student-02" in (place / "teeth_report.html").read_text(encoding="utf-8")


def test_every_page_with_commands_is_followed_here() -> None:
    """A page of the guide that comes by commands has to come into this file, too."""
    followed = {
        "grading.md", "rubric.md", "self_study.md", "authoring.md", "extracted_teeth.md",
        "workshop.md",
    }  # fmt: skip
    of_its_own = {"hub.md", "accessibility.md"}  # test_hub, test_browser_accessible
    assert {name for name in TEXT if commands_of(name)} - of_its_own == followed
