"""Lesson 04 in a real browser, at desktop and at phone width."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from conftest import WIDTHS, Server, Watch, keep_picture

if TYPE_CHECKING:
    from playwright.sync_api import Locator, Page

pytestmark = [pytest.mark.slow, pytest.mark.browser]

LESSON = "lessons/04_paper_tells_the_truth_briefly.ipynb"
CONTACT = "Left in contact for"
PLAY = "Play, second by second"


def committed(page: Page, server: Server) -> Locator:
    """Open the lesson and commit the prediction; gives the part of the page with the picture."""
    page.goto(server.url(f"/voila/render/{LESSON}"))
    page.get_by_role("button", name="Commit my number").wait_for()
    contact = page.get_by_role("slider", name=CONTACT, exact=True)
    assert not contact.is_visible()
    page.get_by_role("button", name="Commit my number").click()
    contact.wait_for()
    return contact.locator("xpath=ancestor::*[.//img][1]")


def changed(page: Page, panel: Locator, before: str) -> str:
    """Wait until the picture's words are others; gives them."""
    # The picture is another element after every change, so it is looked for anew.
    page.wait_for_function(
        "([panel, old]) => panel.querySelector('img').alt !== old",
        arg=[panel.element_handle(), before],
    )
    page.wait_for_timeout(500)
    return panel.locator("img").first.get_attribute("alt") or ""


def test_a_number_is_committed_and_the_point_answers_the_keyboard(
    page: Page, server: Server, watch: Watch, width: str
) -> None:
    panel = committed(page, server)
    assert page.get_by_text("You said 0.7 mm. It is 1.1 to 1.6 mm").is_visible()
    before = panel.locator("img").first.get_attribute("alt") or ""
    panel.get_by_role("slider", name=CONTACT, exact=True).focus()
    for _ in range(20):
        page.keyboard.press("ArrowRight")
    after = changed(page, panel, before)
    sentence = " ".join(panel.get_by_role("status").first.inner_text().split())
    assert after == sentence
    assert "After 5.0 s the mark is 1.1 to 1.6 mm long" in sentence
    keep_picture(page, f"lesson_04_{width}")
    assert page.evaluate("document.documentElement.scrollWidth") <= WIDTHS[width][0]
    assert page.locator("h1").count() == 1
    watch.assert_quiet()


def test_play_runs_by_keyboard_and_points_are_written_down(
    page: Page, server: Server, watch: Watch, width: str
) -> None:
    panel = committed(page, server)
    before = panel.locator("img").first.get_attribute("alt") or ""
    play = panel.get_by_role("button", name=PLAY, exact=True)
    box = play.bounding_box()
    assert box is not None
    assert box["height"] >= 44
    play.focus()
    page.keyboard.press("Enter")
    pause = panel.get_by_role("button", name="Pause", exact=True)
    pause.wait_for()
    changed(page, panel, before)
    pause.focus()
    page.keyboard.press("Enter")
    play.wait_for()
    page.wait_for_timeout(500)
    contact = panel.get_by_role("slider", name=CONTACT, exact=True)
    stopped = float(contact.input_value())
    assert 1.0 < stopped < 10.0
    page.wait_for_timeout(600)
    assert float(contact.input_value()) == stopped, "a paused clock stands still"
    sentence = panel.get_by_role("status").first.inner_text()
    assert f"After {stopped:.1f} s the mark is" in sentence

    for _ in range(3):
        page.get_by_role("button", name="Try this point").click()
    third = page.get_by_role("rowheader", name=f"3. 24.5 mm, size 20, {stopped:g} s")
    third.wait_for()
    assert page.get_by_text("First wet 24.5 mm, none dry yet.").first.is_visible()
    keep_picture(page, f"lesson_04_log_{width}")
    assert page.evaluate("document.documentElement.scrollWidth") <= WIDTHS[width][0]
    page.get_by_role("button", name="Start again").click()
    third.wait_for(state="detached")
    watch.assert_quiet()
