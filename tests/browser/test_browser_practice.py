"""Practice in a real browser: one case from opening to explanation, a reload, and the next case."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from browser_tools import Server, Watch, keep_picture
from lesson_steps import assert_whole, open_page, slider

if TYPE_CHECKING:
    from playwright.sync_api import Page

pytestmark = [pytest.mark.slow, pytest.mark.browser]

PRACTICE = "practice/practice.ipynb"
TRUTH = "In truth the foramen of this invented tooth lies at"


def do(page: Page, action: str, number: int) -> None:
    page.get_by_role("radio", name=action, exact=True).check()
    page.get_by_role("button", name="Do it", exact=True).click()
    actions = "1 action." if number == 1 else f"{number} actions."
    own = f"by you: {number}."  # where others came before
    page.locator(f"img[alt^='{actions}'], img[alt*='{own}']").wait_for()


def assert_warned(page: Page) -> None:
    """A double click on what goes too far does nothing; another button would do it."""
    minutes = page.locator("img[alt*='So far:']").first.get_attribute("alt")
    length = slider(page, "Length")
    length.focus()
    page.keyboard.press("End")
    page.get_by_role("button", name="Do it", exact=True).dblclick()
    page.get_by_text("Warning: not done yet.").wait_for()
    all_the_same = page.get_by_role("button", name="Do it all the same")
    all_the_same.wait_for()
    keep_picture(page, "practice_warned_phone")
    length.focus()
    page.keyboard.press("ArrowLeft")
    all_the_same.wait_for(state="hidden")
    assert page.locator("img[alt*='So far:']").first.get_attribute("alt") == minutes


@pytest.mark.parametrize("width", ["phone"])
def test_a_case_is_measured_answered_and_explained(
    page: Page, server: Server, watch: Watch, width: str
) -> None:
    open_page(page, server, PRACTICE)
    page.get_by_role("button", name="Do it", exact=True).wait_for()
    page.locator("img[alt*='So far:']").first.wait_for()
    assert_whole(page, "practice_start")
    page.set_viewport_size({"width": 390, "height": 844})
    assert not slider(page, "Working length").is_visible()
    for number, action in enumerate(("reading", "radiograph", "dry", "try a point"), start=1):
        do(page, action, number)
    assert_warned(page)
    assert page.get_by_role("img", name="electronic reading").first.is_visible()
    assert "In truth" not in page.locator("body").inner_text()
    page.get_by_role("radio", name="a working length, and the interval").check()
    length = slider(page, "Working length")
    length.wait_for()
    length.focus()
    page.keyboard.press("ArrowLeft")
    page.locator("img[alt*='Your answer so far']").wait_for()
    for end in ("The canal ends between", "and"):
        slider(page, end).focus()
        page.keyboard.press("ArrowLeft")
    keep_picture(page, "practice_measured_phone")
    page.get_by_role("button", name="Commit", exact=True).click()
    page.get_by_text(TRUTH).wait_for()
    page.get_by_text("Every source of this case on its own landmark").wait_for()
    page.get_by_text("1 case answered").wait_for()
    assert page.evaluate("document.activeElement.textContent").strip() == "Committed"
    with page.expect_download() as saved:
        page.get_by_role("link", name="Save all cases as a table").click()
    assert saved.value.path().read_text("utf-8").startswith("case,kind,tooth,")
    assert_whole(page, "practice_answered")

    page.reload()
    page.get_by_text(TRUTH).wait_for()
    page.get_by_text("Every source of this case on its own landmark").wait_for()
    page.get_by_role("button", name="Next case").first.click()
    page.locator("img[alt*='So far: 0 minutes']").wait_for()
    page.get_by_text("In truth").first.wait_for(state="hidden")
    page.wait_for_function("document.activeElement.textContent === 'Case 2'")
    watch.assert_quiet()
