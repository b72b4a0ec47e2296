"""Lesson 03 in a real browser, at desktop and at phone width."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest
from conftest import WIDTHS, Server, Watch, keep_picture

if TYPE_CHECKING:
    from playwright.sync_api import Page

pytestmark = [pytest.mark.slow, pytest.mark.browser]

LESSON = "lessons/03_reading_a_reading.ipynb"
DEPTH = "Tip against the foramen, on the way in"


def test_a_number_is_committed_and_the_file_answers_the_keyboard(
    page: Page, server: Server, watch: Watch, width: str
) -> None:
    page.goto(server.url(f"/voila/render/{LESSON}"))
    page.get_by_role("button", name="Commit my number").wait_for()
    depth = page.get_by_role("slider", name=DEPTH, exact=True)
    assert not depth.is_visible()
    page.get_by_role("button", name="Commit my number").click()
    depth.wait_for()
    assert page.get_by_text("You said 0.0 mm").is_visible()
    panel = depth.locator("xpath=ancestor::*[.//img][1]")
    picture = panel.locator("img").first
    before = picture.get_attribute("alt") or ""
    depth.focus()
    for _ in range(5):
        page.keyboard.press("ArrowLeft")
    # The picture is another element after every change, so it is looked for anew.
    page.wait_for_function(
        "([panel, old]) => panel.querySelector('img').alt !== old",
        arg=[panel.element_handle(), before],
    )
    page.wait_for_timeout(500)
    sentence = " ".join(panel.get_by_role("status").first.inner_text().split())
    assert picture.get_attribute("alt") == sentence != before
    keep_picture(page, f"lesson_03_{width}")
    assert page.evaluate("document.documentElement.scrollWidth") <= WIDTHS[width][0]
    assert page.locator("h1").count() == 1
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
