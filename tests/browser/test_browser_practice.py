"""Practice in a real browser: one case from opening to explanation, at both widths."""

from __future__ import annotations

import os
import tempfile
from typing import TYPE_CHECKING

import pytest
from conftest import WIDTHS, Server, Watch, keep_picture

if TYPE_CHECKING:
    from playwright.sync_api import Page

# Before the server starts: a test does not write into anybody's own log.
os.environ.setdefault("LENGTHWISE_DATA", tempfile.mkdtemp())

pytestmark = [pytest.mark.slow, pytest.mark.browser]

PRACTICE = "practice/practice.ipynb"


def do(page: Page, action: str, number: int) -> None:
    page.get_by_role("radio", name=action, exact=True).check()
    page.get_by_role("button", name="Do it").click()
    actions = "1 action." if number == 1 else f"{number} actions."
    own = f"by you: {number}."  # where others came before
    page.locator(f"img[alt^='{actions}'], img[alt*='{own}']").wait_for()


def test_a_case_is_measured_answered_and_explained(
    page: Page, server: Server, watch: Watch, width: str
) -> None:
    page.goto(server.url(f"/voila/render/{PRACTICE}"))
    page.get_by_role("button", name="Do it").wait_for()
    # At the second width the page goes on with a new case, or with the one a failed test left.
    line = page.locator("img[alt*='So far:']").first
    line.wait_for()
    word = (line.get_attribute("alt") or "").split("by you: ")[-1].split()[0].strip(".")
    begun = 0 if word in ("Nothing", "none") else int(word)
    keep_picture(page, f"practice_start_{width}")
    assert not page.get_by_role("slider", name="Working length").is_visible()
    for number, action in enumerate(("reading", "radiograph", "dry", "try a point"), begun + 1):
        do(page, action, number)
    assert page.get_by_role("img", name="electronic reading").first.is_visible()
    assert "In truth" not in page.locator("body").inner_text()
    page.get_by_role("radio", name="a working length, and the interval").check()
    slider = page.get_by_role("slider", name="Working length", exact=True)
    slider.wait_for()
    slider.focus()
    page.keyboard.press("ArrowLeft")
    page.locator("img[alt*='Your answer so far']").wait_for()
    keep_picture(page, f"practice_measured_{width}")
    page.get_by_role("button", name="Commit", exact=True).click()
    page.get_by_text("In truth the foramen of this invented tooth lies at").wait_for()
    page.get_by_text("Every source of this case on its own landmark").wait_for()
    page.get_by_text("of 100. Your level is").wait_for()
    assert page.evaluate("document.activeElement.textContent").strip() == "Committed"
    page.wait_for_timeout(500)
    keep_picture(page, f"practice_answered_{width}")
    with page.expect_download() as saved:
        page.get_by_role("link", name="Save all cases as a table").click()
    assert saved.value.path().read_text("utf-8").startswith("case,kind,tooth,")
    assert page.evaluate("document.documentElement.scrollWidth") <= WIDTHS[width][0]
    assert page.locator("h1").count() == 1
    page.get_by_role("button", name="Next case").first.click()
    page.locator("img[alt*='So far: 0 minutes']").wait_for()
    page.get_by_text("In truth").first.wait_for(state="hidden")
    watch.assert_quiet()
