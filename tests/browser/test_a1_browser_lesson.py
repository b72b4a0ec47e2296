"""Lesson 01 in a real browser, at desktop and at phone width."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from conftest import WIDTHS, Server, Watch, keep_picture

if TYPE_CHECKING:
    from playwright.sync_api import Page

pytestmark = [pytest.mark.slow, pytest.mark.browser]

LESSON = "lessons/01_where_a_canal_ends.ipynb"
PLACE = "This tooth, of 100 in order of length, is number"


def test_a_number_is_committed_and_the_tooth_answers_the_keyboard(
    page: Page, server: Server, watch: Watch, width: str
) -> None:
    page.goto(server.url(f"/voila/render/{LESSON}"))
    page.get_by_role("button", name="Commit my number").wait_for()
    place = page.get_by_role("slider", name=PLACE, exact=True)
    assert not place.is_visible()
    page.get_by_role("button", name="Commit my number").click()
    place.wait_for()
    assert page.get_by_text("You said 50 of 100").is_visible()
    panel = place.locator("xpath=ancestor::*[.//img][1]")
    picture = panel.locator("img").first
    before = picture.get_attribute("alt") or ""
    place.focus()
    for _ in range(5):
        page.keyboard.press("ArrowRight")
    # The picture is another element after every change, so it is looked for anew.
    page.wait_for_function(
        "([panel, old]) => panel.querySelector('img').alt !== old",
        arg=[panel.element_handle(), before],
    )
    page.wait_for_timeout(500)
    sentence = " ".join(panel.get_by_role("status").first.inner_text().split())
    assert picture.get_attribute("alt") == sentence != before
    keep_picture(page, f"lesson_01_{width}")
    assert page.evaluate("document.documentElement.scrollWidth") <= WIDTHS[width][0]
    assert page.locator("h1").count() == 1
    watch.assert_quiet()


def test_another_tooth_is_chosen(page: Page, server: Server, watch: Watch, width: str) -> None:
    page.goto(server.url(f"/voila/render/{LESSON}"))
    page.get_by_role("button", name="Commit my number").click()
    group = page.get_by_role("group", name="Tooth")
    group.get_by_role("radio", name="upper first molar, palatal (16, Universal 3)").check()
    page.get_by_text("the average, 20.1 mm").first.wait_for()
    watch.assert_quiet()
