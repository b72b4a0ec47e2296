"""Lesson 03 in a real browser, at desktop and at phone width."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest
from conftest import Server, Watch, keep_picture
from lesson_steps import commit_number, press_and_compare

if TYPE_CHECKING:
    from playwright.sync_api import Page

pytestmark = [pytest.mark.slow, pytest.mark.browser]

LESSON = "lessons/03_reading_a_reading.ipynb"
DEPTH = "Tip against the foramen, on the way in"


def test_a_number_is_committed_and_the_file_answers_the_keyboard(
    page: Page, server: Server, watch: Watch, width: str
) -> None:
    slider = commit_number(page, server, LESSON, DEPTH, "You said 0.0 mm")
    press_and_compare(page, slider, "ArrowLeft", f"lesson_03_{width}", width)
    watch.assert_quiet()


def test_what_disturbs_is_chosen_changed_and_played(
    page: Page, server: Server, watch: Watch, width: str
) -> None:
    page.goto(server.url(f"/voila/render/{LESSON}"))
    page.get_by_role("button", name="Commit my number").wait_for()
    page.get_by_role("button", name="Commit my number").click()
    disturbs = page.get_by_role("group", name="What disturbs")
    disturbs.get_by_role("radio", name="the chamber is flooded").check()
    page.get_by_text("not true:").first.wait_for()
    change = page.get_by_role("group", name="What would you change?")
    change.get_by_role("radio", name="dry crown, chamber and shaft").check()
    page.get_by_role("button", name="Play the motion").click()
    page.get_by_role("button", name="Pause").wait_for()
    # A busy kernel may leave moments out, so any early one will do.
    page.get_by_text(re.compile(r"^After [0-9]\.\d s")).first.wait_for()
    page.get_by_role("button", name="Pause").click()
    keep_picture(page, f"lesson_03_changed_{width}")
    watch.assert_quiet()
