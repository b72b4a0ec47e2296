"""Lesson 02 in a real browser, at desktop and at phone width."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from conftest import WIDTHS, Server, Watch, keep_picture

if TYPE_CHECKING:
    from playwright.sync_api import Locator, Page

pytestmark = [pytest.mark.slow, pytest.mark.browser]

LESSON = "lessons/02_what_a_radiograph_can_tell.ipynb"
SOURCE = "Source moved to distal"
CANNOT_TELL = "It cannot be told from this picture."


def sliders(page: Page, name: str) -> Locator:
    return page.get_by_role("slider", name=name, exact=True)


def test_an_answer_is_committed_and_the_radiograph_answers_the_keyboard(
    page: Page, server: Server, watch: Watch, width: str
) -> None:
    page.goto(server.url(f"/voila/render/{LESSON}"))
    page.get_by_role("radio", name=CANNOT_TELL).first.wait_for()
    # By role only what can be seen is found: the panel further down, not yet the first one.
    sliders(page, SOURCE).wait_for()
    assert sliders(page, SOURCE).count() == 1
    page.get_by_role("radio", name=CANNOT_TELL).first.check()
    page.get_by_role("button", name="Check my answer").first.click()
    page.wait_for_function("document.querySelectorAll('img[alt*=\"ratio rule\"]').length === 2")
    source = sliders(page, SOURCE).first
    page.wait_for_timeout(500)
    assert sliders(page, SOURCE).count() == 2
    panel = source.locator("xpath=ancestor::*[.//img][1]")
    before = panel.locator("img").first.get_attribute("alt") or ""
    assert "in its middle" in before
    assert "foramen" not in before
    source.focus()
    for _ in range(20):
        page.keyboard.press("ArrowRight")
    page.wait_for_function(
        "panel => panel.querySelector('img').alt.includes('to the mesial side of its middle')",
        arg=panel.element_handle(),
    )
    panel.get_by_role("radio", name="shown", exact=True).check()
    page.wait_for_function(
        "panel => panel.querySelector('img').alt.includes('past the foramen')",
        arg=panel.element_handle(),
    )
    page.wait_for_timeout(500)
    sentence = " ".join(panel.get_by_role("status").first.inner_text().split())
    assert panel.locator("img").first.get_attribute("alt") == sentence
    keep_picture(page, f"lesson_02_{width}")
    assert page.evaluate("document.documentElement.scrollWidth") <= WIDTHS[width][0]
    assert page.locator("h1").count() == 1
    watch.assert_quiet()
