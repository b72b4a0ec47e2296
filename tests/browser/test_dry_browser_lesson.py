"""Lesson 05 in a real browser, at desktop and at phone width."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from conftest import WIDTHS, Server, Watch, keep_picture

if TYPE_CHECKING:
    from playwright.sync_api import Page

pytestmark = [pytest.mark.slow, pytest.mark.browser]

LESSON = "lessons/05_when_the_canal_will_not_stay_dry.ipynb"


def test_an_action_is_chosen_and_done_by_keyboard_and_the_time_line_grows(
    page: Page, server: Server, watch: Watch, width: str
) -> None:
    page.goto(server.url(f"/voila/render/{LESSON}"))
    commit = page.get_by_role("button", name="Commit my number")
    commit.wait_for()
    do = page.get_by_role("button", name="Do it")
    assert not do.is_visible()
    commit.click()
    do.wait_for()
    picture = page.locator("img[alt^='Canal A: 3 actions, 3 points.']")
    picture.wait_for()
    keep_picture(page, f"lesson_05_start_{width}")
    first = page.get_by_role("radio", name="try a paper point at the length below")
    first.focus()
    page.keyboard.press("ArrowDown")  # to the next action, which dries
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")  # past the slider's range to its number
    page.keyboard.press("Tab")
    assert do.evaluate("button => button === document.activeElement")
    page.keyboard.press("Enter")
    page.locator("img[alt^='Canal A: 4 actions, 3 points.']").wait_for()
    assert page.get_by_text("3 points; the last one came out").is_visible()
    first.focus()
    page.keyboard.press("Space")
    do.focus()
    page.keyboard.press("Space")
    page.locator("img[alt^='Canal A: 5 actions, 4 points.']").wait_for()
    page.get_by_role("radio", name="Liquid was left in it, and the points take it away.").check()
    page.get_by_role("button", name="Commit, and look inside").click()
    page.locator("img[alt*='In truth the foramen lies at 24.2 mm']").wait_for()
    page.wait_for_timeout(500)
    panel = do.locator("xpath=ancestor::*[.//img][1]")
    sentence = " ".join(panel.get_by_role("status").first.inner_text().split())
    assert panel.locator("img").first.get_attribute("alt") == sentence
    keep_picture(page, f"lesson_05_{width}")
    assert page.evaluate("document.documentElement.scrollWidth") <= WIDTHS[width][0]
    assert page.locator("h1").count() == 1
    watch.assert_quiet()
