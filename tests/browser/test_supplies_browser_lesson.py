"""Lesson 07 in a real browser, at desktop and at phone width."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from conftest import WIDTHS, Server, Watch, keep_picture

if TYPE_CHECKING:
    from playwright.sync_api import Locator, Page

pytestmark = [pytest.mark.slow, pytest.mark.browser]

LESSON = "lessons/07_the_length_meets_the_tooth.ipynb"
PLACE = "This tooth, of 100 in order of length, is number"
END = "The filling ends short of the foramen by (less than 0: past it)"


def moved_by_keyboard(page: Page, handle: Locator, key: str, times: int) -> str:
    """Move a slider with the arrow keys; gives the new sentence, which the picture says too."""
    panel = handle.locator("xpath=ancestor::*[.//img][1]")
    before = panel.locator("img").first.get_attribute("alt") or ""
    handle.focus()
    for _ in range(times):
        page.keyboard.press(key)
    # The picture is another element after every change, so it is looked for anew.
    page.wait_for_function(
        "([panel, old]) => panel.querySelector('img').alt !== old",
        arg=[panel.element_handle(), before],
    )
    page.wait_for_timeout(500)
    sentence = " ".join(panel.get_by_role("status").first.inner_text().split())
    assert panel.locator("img").first.get_attribute("alt") == sentence != before
    return sentence


def test_both_pictures_wait_for_an_answer_and_follow_the_keyboard(
    page: Page, server: Server, watch: Watch, width: str
) -> None:
    page.goto(server.url(f"/voila/render/{LESSON}"))
    page.get_by_role("button", name="Commit my number").wait_for()
    place = page.get_by_role("slider", name=PLACE, exact=True)
    end = page.get_by_role("slider", name=END, exact=True)
    assert not place.is_visible()
    assert not end.is_visible()

    page.get_by_role("button", name="Commit my number").click()
    place.wait_for()
    assert page.get_by_text("You said 10 of 100. It is").is_visible()
    said = moved_by_keyboard(page, place, "ArrowLeft", 60)
    assert "The shortest file that reaches is 28 mm" in said

    page.get_by_role("radio", name="The one past the foramen.").check()
    page.get_by_role("button", name="Check my answer").first.click()
    end.wait_for()
    said = moved_by_keyboard(page, end, "ArrowLeft", 3)
    assert "count it as past the apex" in said
    page.get_by_role("group", name="Nerve or sinus near").get_by_role("radio", name="yes").check()
    page.get_by_text("This course's loss counts 5.5").first.wait_for()

    keep_picture(page, f"lesson_07_{width}")
    assert page.evaluate("document.documentElement.scrollWidth") <= WIDTHS[width][0]
    assert page.locator("h1").count() == 1
    watch.assert_quiet()
