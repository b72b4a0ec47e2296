"""Steps that the browser tests of several lessons take."""

from __future__ import annotations

from typing import TYPE_CHECKING

from conftest import WIDTHS, Server, keep_picture

if TYPE_CHECKING:
    from playwright.sync_api import Locator, Page


def commit_number(page: Page, server: Server, lesson: str, slider: str, said: str) -> Locator:
    """Open a lesson as a page and commit a number: only then the slider of its panel is there."""
    page.goto(server.url(f"/voila/render/{lesson}"))
    commit = page.get_by_role("button", name="Commit my number")
    commit.wait_for()
    found = page.get_by_role("slider", name=slider, exact=True)
    assert not found.is_visible()
    commit.click()
    found.wait_for()
    assert page.get_by_text(said).is_visible()
    return found


def press_and_compare(page: Page, slider: Locator, key: str, picture_name: str, width: str) -> None:
    """Move a slider by keyboard: picture and sentence change, and say the same; the page fits."""
    panel = slider.locator("xpath=ancestor::*[.//img][1]")
    before = panel.locator("img").first.get_attribute("alt") or ""
    slider.focus()
    for _ in range(5):
        page.keyboard.press(key)
    # The picture is another element after every change, so it is looked for anew.
    page.wait_for_function(
        "([panel, old]) => panel.querySelector('img').alt !== old",
        arg=[panel.element_handle(), before],
    )
    page.wait_for_timeout(500)
    sentence = " ".join(panel.get_by_role("status").first.inner_text().split())
    assert panel.locator("img").first.get_attribute("alt") == sentence != before
    keep_picture(page, picture_name)
    assert page.evaluate("document.documentElement.scrollWidth") <= WIDTHS[width][0]
    assert page.locator("h1").count() == 1
