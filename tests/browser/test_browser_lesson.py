"""Lesson 06 in a real browser, as a page and as a notebook, at desktop and at phone width."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from conftest import WIDTHS, Server, Watch, keep_picture, run_all_cells

if TYPE_CHECKING:
    from playwright.sync_api import Locator, Page

pytestmark = [pytest.mark.slow, pytest.mark.browser]

LESSON = "lessons/06_one_ruler.ipynb"
REPEATS = "Wet points with the same result"
LEAST_TOUCH_PX = 44


def open_as_page(page: Page, server: Server) -> None:
    page.goto(server.url(f"/voila/render/{LESSON}"))
    slider_named(page, REPEATS).wait_for()


def slider_named(page: Page, name: str) -> Locator:
    return page.get_by_role("slider", name=name, exact=True)


def panel_of(slider: Locator) -> Locator:
    """The innermost box that holds the slider and its picture."""
    return slider.locator("xpath=ancestor::*[.//img][1]")


def shown(panel: Locator) -> tuple[str, str, str]:
    """Picture, its alternative text, and the sentence under it."""
    picture = panel.locator("img").first
    sentence = panel.get_by_role("status").first.inner_text()
    return (
        picture.get_attribute("src") or "",
        picture.get_attribute("alt") or "",
        " ".join(sentence.split()),
    )


def move_by_keyboard_and_compare(page: Page, slider: Locator, times: int = 2) -> None:
    panel = panel_of(slider)
    before = shown(panel)
    slider.focus()
    value = slider.input_value()
    for _ in range(times):
        page.keyboard.press("ArrowRight")
    assert float(slider.input_value()) > float(value)
    page.wait_for_function(
        "([panel, old]) => panel.querySelector('img').src !== old",
        arg=[panel.element_handle(), before[0]],
    )
    page.wait_for_timeout(500)
    after = shown(panel)
    assert after[0] != before[0]
    assert after[1] != before[1]
    assert after[2] != before[2]
    # What is shown to the eye is what is said to the ear.
    assert after[1] == after[2]


def test_the_lesson_opens_as_a_page_and_a_slider_answers_the_keyboard(
    page: Page, server: Server, watch: Watch, width: str
) -> None:
    open_as_page(page, server)
    slider = slider_named(page, REPEATS)
    assert slider.get_attribute("aria-valuetext") == "1 in all"
    move_by_keyboard_and_compare(page, slider)
    keep_picture(page, f"lesson_page_{width}")
    assert page.locator("h1").count() == 1
    assert page.evaluate("document.documentElement.scrollWidth") <= WIDTHS[width][0]
    assert page.locator(".jp-InputArea-editor").count() == 0
    watch.assert_quiet()


def test_an_interval_is_committed_and_the_ruler_appears(
    page: Page, server: Server, watch: Watch, width: str
) -> None:
    open_as_page(page, server)
    reading = slider_named(page, "The foramen signal came at")
    assert not reading.is_visible()
    page.get_by_role("button", name="Commit my interval").click()
    reading.wait_for()
    assert page.get_by_text("You said").is_visible()
    # From where it is hardly believed to where it begins to pull.
    move_by_keyboard_and_compare(page, reading, times=15)
    panel = panel_of(reading)
    paper = panel.get_by_role("group", name="Paper points")
    paper.get_by_role("radio", name="drop").check()
    panel.get_by_text("Dropped: paper points").wait_for()
    panel.scroll_into_view_if_needed()
    keep_picture(page, f"lesson_committed_{width}")
    assert page.evaluate("document.documentElement.scrollWidth") <= WIDTHS[width][0]
    watch.assert_quiet()


def test_a_question_answers_with_what_to_look_at_again(
    page: Page, server: Server, watch: Watch, width: str
) -> None:
    open_as_page(page, server)
    question = page.get_by_role("group", name="Only a radiograph and an electronic reading")
    question.get_by_role("radio", name="half-way").check()
    box = question.locator("xpath=ancestor::*[.//button][1]")
    box.get_by_role("button", name="Check my answer").click()
    answer = box.get_by_role("status")
    answer.get_by_text("Look again").wait_for()
    answer.scroll_into_view_if_needed()
    page.screenshot(path=f".screenshots/lesson_question_{width}.png")
    watch.assert_quiet()


def test_every_control_has_a_name_and_room_for_a_finger(
    page: Page, server: Server, width: str
) -> None:
    open_as_page(page, server)
    page.get_by_role("button", name="Commit my interval").click()
    slider_named(page, "The foramen signal came at").wait_for()
    sliders = page.get_by_role("slider")
    assert sliders.count() >= 6
    for control in sliders.all():
        label = control.evaluate("input => input.labels[0] && input.labels[0].textContent")
        assert label
        assert control.bounding_box()["height"] >= LEAST_TOUCH_PX
    for option in page.locator(".lengthwise-option:visible").all():
        assert option.bounding_box()["height"] >= LEAST_TOUCH_PX
    for button in page.get_by_role("button").all():
        assert button.inner_text().strip()
        assert button.bounding_box()["height"] >= LEAST_TOUCH_PX
    for picture in page.locator("main img").all():
        assert picture.get_attribute("alt")


def test_the_lesson_opens_as_a_notebook_and_a_slider_answers_the_keyboard(
    page: Page, server: Server, watch: Watch, width: str
) -> None:
    page.goto(server.url(f"/notebooks/{LESSON}"))
    page.get_by_role("heading", name="Putting it on one ruler").wait_for()
    slider = slider_named(page, REPEATS)
    run_all_cells(page, slider)
    slider.scroll_into_view_if_needed()
    move_by_keyboard_and_compare(page, slider)
    page.screenshot(path=f".screenshots/lesson_notebook_{width}.png")
    watch.assert_quiet()


@pytest.mark.parametrize("width", ["desktop"])
def test_the_lesson_runs_in_the_laboratory_view_too(
    page: Page, server: Server, watch: Watch, width: str
) -> None:
    page.goto(server.url(f"/lab/tree/{LESSON}"))
    page.get_by_role("heading", name="Putting it on one ruler").wait_for()
    slider = slider_named(page, REPEATS)
    run_all_cells(page, slider)
    slider.scroll_into_view_if_needed()
    move_by_keyboard_and_compare(page, slider)
    page.screenshot(path=f".screenshots/lesson_laboratory_{width}.png")
    watch.assert_quiet()


@pytest.mark.parametrize("width", ["desktop"])
@pytest.mark.parametrize("view", ["/tree", "/lab", f"/notebooks/{LESSON}"])
def test_students_see_no_graders_menus_and_no_news(
    page: Page, server: Server, width: str, view: str
) -> None:
    page.goto(server.url(view))
    page.get_by_role("menuitem", name="File", exact=True).wait_for()
    page.wait_for_timeout(2000)
    for name in ("Nbgrader", "Formgrader"):
        assert page.get_by_role("menuitem", name=name).count() == 0
        assert page.get_by_role("tab", name=name).count() == 0
        assert page.get_by_text(name, exact=True).count() == 0
    assert page.locator(".Toastify__toast").count() == 0
