"""An assignment filled in, checked and handed in: the way of a student, in a real browser."""

from __future__ import annotations

import csv
import json
import re
import subprocess
import sysconfig
import zipfile
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from browser_tools import ROOT, SCREENSHOTS, WIDTHS, Server, Watch, keep_picture, run_all_cells
from lengthwise.classroom.answer_key import StudentKey, read_key
from lengthwise.classroom.class_folder import open_class
from lengthwise.marking.graded_case import GradedCase
from lengthwise.reconciliation import reconcile

if TYPE_CHECKING:
    from playwright.sync_api import Locator, Page

pytestmark = [pytest.mark.slow, pytest.mark.browser]

ASSIGNMENT = "a6_reconcile"
STUDENTS = {"desktop": "student-01", "phone": "student-02"}
POINTS_WITHOUT_REASON = 16.0  # three cases of 4 and four questions of 1; a person marks the reason
REASON = "The reading came early; I gave it little weight, and the interval became wider."


def lengthwise(*arguments: str | Path) -> str:
    program = Path(sysconfig.get_path("scripts")) / "lengthwise"
    done = subprocess.run(
        [str(program), *map(str, arguments)], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


@pytest.fixture(scope="session")
def taught(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A class of two, made from the command line."""
    place = tmp_path_factory.mktemp("classes")
    roster = place / "roster.csv"
    roster.write_text("student\n" + "\n".join(STUDENTS.values()) + "\n", encoding="utf-8")
    course = ROOT / "course"
    options = ["--roster", roster, "--in", place, "--course", course, "--assignment", ASSIGNMENT]
    lengthwise("new-class", "evening", *options)
    return place / "evening"


def careful_answers(key: StudentKey) -> list[str]:
    """What somebody types who weighs the evidence as the library does, cell by cell."""
    typed = []
    for case in key.cases.values():
        assert isinstance(case, GradedCase)
        result = reconcile(case.evidence, target_mm=case.target_mm)
        low, high = result.interval_mm()
        length = result.working_length_mm
        lengths = (result.foramen_mm, length, low, high) if length is not None else (None,) * 4
        names = ("foramen_mm", "working_length_mm", "low_mm", "high_mm")
        lines = [
            f"{name} = {'...' if value is None else format(value, '.2f')}"
            for name, value in zip(names, lengths, strict=True)
        ]
        typed.append("\n".join([*lines, f'next_step = "{result.next_step.word}"']))
    for name, item in key.items.items():
        letter = next(one for one, option in item.lettered.items() if option.correct)
        typed.append(f'{name} = "{letter}"')
    return typed


def type_into(page: Page, cell: Locator, text: str) -> None:
    cell.scroll_into_view_if_needed()
    cell.locator(".cm-content").click()
    page.keyboard.press("Control+A")
    page.keyboard.insert_text(text)


def brought_to_view(page: Page, what: Locator) -> None:
    """Scroll until it stays in view: cells nearby are drawn when they come near, and move it."""
    for _ in range(20):
        what.scroll_into_view_if_needed()
        page.wait_for_timeout(700)
        box, size = what.bounding_box(), page.viewport_size
        if box and size and 0 <= box["y"] < size["height"] - box["height"]:
            return
    raise AssertionError("does not stay in view")


def cells_asking(page: Page, beginning: str) -> Locator:
    return page.locator(".jp-CodeCell").filter(has_text=f"{beginning} = ...")


def fill_in(page: Page, student: str, answers: Sequence[str]) -> None:
    type_into(page, cells_asking(page, "student_id").first, f'student_id = "{student}"')
    for text in answers:
        # Each answered cell stops asking for its last value ("not yet" leaves the lengths open), so
        # the first one that still asks is the next.
        last = text.splitlines()[-1].split(" = ")[0]
        type_into(page, cells_asking(page, last).first, text)


def saved(path: Path) -> tuple[str, str]:
    """What the saved notebook holds: everything typed, and everything answered to it.

    Nothing while it is being written.
    """
    try:
        cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
    except json.JSONDecodeError:
        return "", ""
    outputs = [output for cell in cells for output in cell.get("outputs", [])]
    said = ["".join(output.get("text", "")) for output in outputs]
    assert not [output for output in outputs if output["output_type"] == "error"]
    return "\n".join("".join(cell["source"]) for cell in cells), "\n".join(said)


def got_from_start_page(start: Page, server: Server, release: Path) -> str:
    """Get the assignment with the first button; the address of the link to open it."""
    start.goto(server.url("/voila/render/index.ipynb"))
    with start.expect_file_chooser() as chooser:
        start.get_by_role("button", name="Get an assignment").click()
    chooser.value.set_files(release)
    start.get_by_text(re.compile("is here now, for class evening|now it is")).wait_for()
    return str(
        start.get_by_role("link", name=f"Open {ASSIGNMENT}").first.evaluate("link => link.href")
    )


def file_from_start_page(start: Page, folder: Path, picture: str) -> str:
    """Make the file with the second button and save it; its name."""
    start.get_by_role("button", name="Make my file to hand in").click()
    start.get_by_text("All 8 answers are there and can be read.").wait_for()
    keep_picture(start, picture)
    with start.expect_download() as download:
        start.get_by_role("link", name="to my downloads").click()
    name = download.value.suggested_filename
    download.value.save_as(folder / name)
    return name


@pytest.mark.parametrize("width", ["phone"])
def test_on_a_phone_an_assignment_opens_and_a_question_is_answered(
    page: Page, server: Server, watch: Watch, width: str, taught: Path
) -> None:
    student = STUDENTS[width]
    with zipfile.ZipFile(taught / "release" / f"{ASSIGNMENT}.zip") as release:
        release.extractall(server.folder / "on_a_phone")
    (opened,) = (server.folder / "on_a_phone").rglob(f"{ASSIGNMENT}.ipynb")
    answers = careful_answers(read_key(open_class(taught), ASSIGNMENT).of(student))
    page.goto(server.url(f"/notebooks/{opened.relative_to(server.folder).as_posix()}"))
    page.get_by_role("heading", name="Putting it on one ruler").first.wait_for()
    page.screenshot(path=SCREENSHOTS / f"assignment_opened_{width}.png")
    fill_in(page, student, answers[:1])
    run_all_cells(page, page.get_by_text("q1: the form is right"))
    brought_to_view(page, page.get_by_text("q1: the form is right"))
    page.screenshot(path=SCREENSHOTS / f"assignment_checked_{width}.png")
    assert page.evaluate("document.documentElement.scrollWidth") <= WIDTHS[width][0]
    watch.assert_quiet()


@pytest.mark.parametrize("width", ["desktop"])
def test_an_assignment_is_filled_in_checked_and_handed_in(
    page: Page, server: Server, watch: Watch, width: str, taught: Path, tmp_path: Path
) -> None:
    student = STUDENTS[width]
    start = page.context.new_page()
    address = got_from_start_page(start, server, taught / "release" / f"{ASSIGNMENT}.zip")
    answers = careful_answers(read_key(open_class(taught), ASSIGNMENT).of(student))

    page.goto(address)
    page.get_by_role("heading", name="Putting it on one ruler").first.wait_for()
    page.screenshot(path=SCREENSHOTS / f"assignment_opened_{width}.png")
    fill_in(page, student, answers)
    reason = page.locator(".jp-MarkdownCell").filter(has_text="Write your two or three sentences")
    reason.dblclick()
    type_into(page, reason, REASON)
    # The view runs along; where it stops, the last answer has been looked at.
    run_all_cells(page, page.get_by_text("i4: the form is right"))
    first_check = page.locator(".jp-CodeCell").filter(has_text='check("q1"')
    brought_to_view(page, first_check.get_by_text("the form is right"))
    page.screenshot(path=SCREENSHOTS / f"assignment_checked_{width}.png")

    page.get_by_role("menuitem", name="File", exact=True).click()
    page.get_by_role("menuitem", name="Save Notebook Ctrl+S").click()
    mine = server.folder / ASSIGNMENT / f"{ASSIGNMENT}.ipynb"
    for _ in range(100):
        typed, said = saved(mine)
        if answers[-1] in typed and "i4" in said:
            break
        page.wait_for_timeout(100)
    assert all(text in typed for text in [*answers, REASON])
    assert f"Welcome, {student}" in said
    assert said.count("the form is right") == len(answers)
    watch.assert_quiet()

    handed_in = tmp_path / "handed_in"
    name = file_from_start_page(start, handed_in, f"start_page_made_{width}")
    assert name == f"{ASSIGNMENT}_{student}.ipynb"
    assert start.evaluate("document.documentElement.scrollWidth") <= WIDTHS[width][0]
    lengthwise("collect", handed_in, "--class", taught)
    lengthwise("grade", ASSIGNMENT, "--class", taught)
    lengthwise("marks", ASSIGNMENT, "--class", taught)
    (table,) = taught.rglob("marks*.csv")
    rows = {row["student"]: row for row in csv.DictReader(table.open(encoding="utf-8"))}
    assert float(rows[student]["total"]) == pytest.approx(POINTS_WITHOUT_REASON, abs=0.05)
