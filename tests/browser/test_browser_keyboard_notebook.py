"""An assignment answered by keyboard alone, as far as it is ours: cells, answers, checks."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from browser_tools import ROOT, SCREENSHOTS, Server, Watch
from lengthwise.classroom.new_class import make_class
from lengthwise.classroom.roster import Student

if TYPE_CHECKING:
    from playwright.sync_api import Page

pytestmark = [pytest.mark.slow, pytest.mark.browser]

ASSIGNMENT = "a4_point_trials"


@pytest.fixture
def taken_in(server: Server, tmp_path: Path) -> str:
    """The assignment of a class of one, where the start page would put it."""
    taught = make_class(
        "keys", (Student("student-01"),), target_mm=0.5, where=tmp_path, course=ROOT / "course",
        assignments=(ASSIGNMENT,), secret=b"of the tests",
    )  # fmt: skip
    there = server.folder / ASSIGNMENT
    shutil.copytree(taught.release_folder(ASSIGNMENT), there)
    return f"/notebooks/{ASSIGNMENT}/{ASSIGNMENT}.ipynb"


def into_the_cells(page: Page) -> None:
    """Go to the cells with Tab, as somebody without a mouse does where the view went elsewhere.

    The notebook view of this version gives its cells the keyboard in most openings, not in all.
    What it asks before it has a kernel is answered as it stands.
    """
    at_a_cell = "document.activeElement.closest('.jp-Cell') !== null"
    for _ in range(80):
        if page.evaluate(at_a_cell):
            return
        page.keyboard.press("Enter" if page.locator(".jp-Dialog").count() else "Tab")
        page.wait_for_timeout(50)
    raise AssertionError(f"no cell is reached with Tab; the keyboard is at {has_keys(page)}")


def has_keys(page: Page) -> str:
    return str(page.evaluate("document.activeElement.outerHTML.slice(0, 200)"))


def down_to(page: Page, text: str) -> None:
    """Go down cell by cell, as the arrow key does, until the code cell with the text is active.

    A cell that is drawn late is passed by; then back to the top, and once more, slowly.
    """
    active = page.locator(".jp-CodeCell.jp-mod-active")
    for key, times, pause_ms in (
        ("ArrowDown", 40, 50),
        ("ArrowUp", 60, 50),
        ("ArrowDown", 60, 300),
    ):
        for _ in range(times):
            if active.count() and text in active.inner_text():
                return
            into_the_cells(page)
            page.keyboard.press(key)
            page.wait_for_timeout(pause_ms)  # no faster than a person: the notebook scrolls
    raise AssertionError(f"no cell with {text!r} is reached; the keyboard is at {has_keys(page)}")


def opened(page: Page) -> None:
    """Run the first cells with the student id; again where the notebook had no kernel yet."""
    said = page.locator(".jp-CodeCell").filter(has_text="open_worksheet(student_id)")
    for _ in range(3):
        for _ in range(12):
            page.keyboard.press("ArrowUp")
        down_to(page, "from lengthwise.classroom.worksheet import")
        page.keyboard.press("Shift+Enter")
        answered(page, "student_id =", 'student_id = "student-01"')
        page.keyboard.press("Shift+Enter")
        try:
            said.get_by_text("Welcome, student-01").wait_for(timeout=20_000)
        except Exception as error:  # Playwright's own, which may not be installed
            if "Timeout" not in type(error).__name__:
                raise
            continue
        return
    raise AssertionError("three times run, and the worksheet did not open")


def answered(page: Page, text: str, typed: str) -> None:
    """Open the cell that holds the text, type over it, run it; the next cell is active then."""
    down_to(page, text)
    page.keyboard.press("Enter")
    page.locator(".jp-CodeCell.jp-mod-active .cm-focused").wait_for()
    page.keyboard.press("Control+A")
    page.keyboard.insert_text(typed)
    page.keyboard.press("Shift+Enter")


@pytest.mark.parametrize("width", ["desktop"])
def test_an_assignment_is_answered_and_checked_by_keyboard_alone(
    page: Page, server: Server, watch: Watch, width: str, taken_in: str
) -> None:
    page.goto(server.url(taken_in))
    page.get_by_role("heading", name="trials of your own").wait_for()
    page.locator(".jp-Notebook-ExecutionIndicator[data-status='idle']").wait_for()
    page.locator(".jp-Cell.jp-mod-active").wait_for()
    page.wait_for_timeout(1000)  # the view takes the keyboard, if at all, when all else is there
    into_the_cells(page)
    opened(page)
    down_to(page, 'show_case("q1")')
    page.keyboard.press("Shift+Enter")
    page.locator(".jp-OutputArea-output table").first.wait_for()
    lines = ["brief_met_mm = 24,1", "long_met_mm = 23.9", 'most_telling = "A"',
             'stuck_point_says = "nothing"']  # fmt: skip
    answered(page, "brief_met_mm = ...", "\n".join(lines))
    page.keyboard.press("Shift+Enter")
    said = (
        page.locator(".jp-CodeCell")
        .filter(has_text='check_values("q1"')
        .locator(".jp-OutputArea-output")
    )
    said.first.wait_for()
    page.screenshot(path=SCREENSHOTS / "assignment_by_keyboard.png")
    assert "24.1" in said.first.inner_text(), "a decimal comma is mended, and said"
    # Out of a cell that is being typed in, back to the cells, on with the arrow key: no trap.
    down_to(page, "longest_dry_mm = ...")
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.closest('.cm-content') !== null")
    page.keyboard.press("Escape")
    assert page.evaluate("document.activeElement.closest('.cm-content') === null")
    page.keyboard.press("ArrowDown")
    down_to(page, 'check_values("q2"')
    page.keyboard.press("Control+S")
    watch.assert_quiet()
