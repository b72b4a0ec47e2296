"""Every lesson as a page in a real browser: worked on at phone width, looked at in both widths."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import TYPE_CHECKING

import pytest
from browser_tools import ROOT, Server, Watch
from lesson_steps import (
    APART,
    LEAST_TOUCH_PX,
    WRONG,
    assert_said,
    assert_together,
    assert_whole,
    at_rest,
    choose_as_it_stands,
    commit,
    commit_number,
    moved,
    open_page,
    panel_of,
    slider,
)

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

pytestmark = [pytest.mark.slow, pytest.mark.browser, pytest.mark.parametrize("width", ["phone"])]

LESSONS = {path.name[:2]: f"lessons/{path.name}" for path in ROOT.glob("course/lessons/*.ipynb")}
PLACE = "This tooth, of 100 in order of length, is number"


def landmarks(page: Page, server: Server, lesson: str) -> None:
    place = commit_number(page, server, lesson, PLACE, "You said 50 of 100")
    moved(page, place, "ArrowRight")
    group = page.get_by_role("group", name="Tooth")
    group.get_by_role("radio", name="upper first molar, palatal (16, Universal 3)").check()
    page.get_by_text("the average, 20.1 mm").first.wait_for()


def film(page: Page, server: Server, lesson: str) -> None:
    open_page(page, server, lesson)
    name = "Source moved to distal"
    # By role only what can be seen is found: the panel further down, not yet the first one.
    slider(page, name).wait_for()
    assert slider(page, name).count() == 1
    page.get_by_role("radio", name="It cannot be told from this picture.").first.check()
    page.get_by_role("button", name="Check my answer").first.click()
    slider(page, name).nth(1).wait_for()  # until then the first to be seen is the one further down
    source = slider(page, name).first
    panel = panel_of(source)
    assert "foramen" not in (panel.locator("img").first.get_attribute("alt") or "")
    moved(page, source, "ArrowRight", 20)
    waits = "([panel, words]) => panel.querySelector('img').alt.includes(words)"
    handle = panel.element_handle()
    page.wait_for_function(waits, arg=[handle, "to the mesial side of its middle"])
    panel.get_by_role("radio", name="shown", exact=True).check()
    page.wait_for_function(waits, arg=[handle, "past the foramen"])
    assert_said(page, panel)


def reading(page: Page, server: Server, lesson: str) -> None:
    name = "Tip, measured from the foramen"
    moved(page, commit_number(page, server, lesson, name, "You said at the foramen"), "ArrowLeft")
    number = page.get_by_role("textbox", name=f"{name}, as a number")
    for typed, said in (("9", "You typed 9; here it goes from"), ("0.12", "nearest step, 0.10 mm"),
                        ("abc", "“abc” is not a number. It stays at 0.10 mm short"),
                        ("0,4 short", "It is set to 0.40 mm short."),
                        ("0.3", "set to 0.30 mm short."), ("-1", "set to 1.00 mm short."),
                        ("0.1 mm past", "to 0.10 mm past.")):  # fmt: skip
        number.fill(typed)
        number.press("Enter")
        page.get_by_text(said).wait_for()
    disturbs = page.get_by_role("group", name="What disturbs")
    disturbs.get_by_role("radio", name="the chamber is flooded").check()
    page.get_by_text("not true:").first.wait_for()
    change = page.get_by_role("group", name="What would you change?")
    change.get_by_role("radio", name="dry crown, chamber and shaft").check()
    page.get_by_role("button", name="Play the motion").click()
    page.get_by_role("button", name="Pause").wait_for()
    # A busy kernel may leave moments out, so any will do.
    page.get_by_text(re.compile(r"^After \d+\.\d s")).first.wait_for()
    page.get_by_role("button", name="Pause").click()


def trial(page: Page, server: Server, lesson: str) -> None:
    said = "You said 0.7 mm. It is 1.1 to 1.6 mm"
    contact = commit_number(page, server, lesson, "Left in contact for", said)
    after = moved(page, contact, "ArrowRight", 20)
    page.get_by_text("After 5.0 s the mark is 1.1 to 1.6 mm long").first.wait_for()
    panel = panel_of(contact)
    play = panel.get_by_role("button", name="Play, second by second", exact=True)
    play.focus()
    page.keyboard.press("Enter")
    pause = panel.get_by_role("button", name="Pause", exact=True)
    pause.wait_for()
    page.wait_for_function(
        "([panel, old]) => panel.querySelector('img').alt !== old",
        arg=[panel.element_handle(), after],
    )
    pause.focus()
    page.keyboard.press("Enter")
    play.wait_for()
    stopped = float(at_rest(page, contact.input_value))
    assert 1.0 <= stopped < 10.0
    page.wait_for_timeout(600)
    assert float(contact.input_value()) == stopped, "a paused clock stands still"
    assert f"After {stopped:.1f} s the mark is" in assert_said(page, panel)
    for _ in range(3):
        page.get_by_role("button", name="Try this point").click()
    third = page.get_by_role("rowheader", name=f"3. 24.5 mm, size 20, {stopped:g} s")
    third.wait_for()
    assert page.get_by_text("First wet 24.5 mm, none dry yet.").first.is_visible()
    page.get_by_role("button", name="Start again").click()
    third.wait_for(state="detached")


def dry(page: Page, server: Server, lesson: str) -> None:
    open_page(page, server, lesson)
    button = page.get_by_role("button", name="Commit my number")
    button.wait_for()
    do = page.get_by_role("button", name="Do it")
    assert not do.is_visible()
    commit(button)
    page.locator("img[alt^='Canal A: 3 actions, 3 points.']").wait_for()
    first = page.get_by_role("radio", name="try a paper point at the length below")
    first.focus()
    page.keyboard.press("ArrowDown")  # to the next action, a look at patency
    for _ in range(3):  # past the slider's range and its number
        page.keyboard.press("Tab")
    assert do.evaluate("button => button === document.activeElement")
    page.keyboard.press("Enter")
    page.locator("img[alt^='Canal A: 4 actions, 3 points.']").wait_for()
    first.focus()
    page.keyboard.press("Space")
    do.focus()
    page.keyboard.press("Space")
    page.locator("img[alt^='Canal A: 5 actions, 4 points.']").wait_for()
    page.get_by_role("radio", name="Liquid was left in it, and the points take it away.").check()
    page.get_by_role("button", name="Commit, and look inside").click()
    page.locator("img[alt*='In truth the foramen lies at 24.2 mm']").wait_for()
    assert_said(page, panel_of(do))


def ruler(page: Page, server: Server, lesson: str) -> None:
    open_page(page, server, lesson)
    repeats = slider(page, "Wet points with the same result")
    repeats.wait_for()
    assert repeats.get_attribute("aria-valuetext") == "1 in all"
    moved(page, repeats, "ArrowRight", 2)
    came = slider(page, "The foramen signal came at")
    assert not came.is_visible()
    for end in ("The foramen lies at least at", "and at most at"):
        choose_as_it_stands(slider(page, end))
    page.get_by_role("button", name="Commit my interval").click()
    came.wait_for()
    assert page.get_by_text("You said").is_visible()
    # From where it is hardly believed to where it begins to pull.
    moved(page, came, "ArrowRight", 15)
    panel = panel_of(came)
    paper = panel.get_by_role("group", name="Paper points")
    paper.get_by_role("radio", name="drop").check()
    panel.get_by_text("Dropped: paper points").wait_for()
    question = page.get_by_role("group", name="Only a radiograph and an electronic reading")
    question.get_by_role("radio", name="half-way").check()
    box = question.locator("xpath=ancestor::*[.//button][1]")
    box.get_by_role("button", name="Check my answer").click()
    box.get_by_role("status").get_by_text("Look again").wait_for()


def supplies(page: Page, server: Server, lesson: str) -> None:
    place = commit_number(page, server, lesson, PLACE, "You said 10 of 100. It is")
    end = slider(page, "The filling ends, measured from the foramen")
    assert not end.is_visible()
    assert "The shortest file that reaches is 28 mm" in moved(page, place, "ArrowLeft", 60)
    page.get_by_role("radio", name="The one past the foramen.").check()
    page.get_by_role("button", name="Check my answer").first.click()
    end.wait_for()
    assert "count it as past the apex" in moved(page, end, "ArrowRight", 3)
    page.get_by_role("group", name="Nerve or sinus near").get_by_role("radio", name="yes").check()
    page.get_by_text("This course's loss counts 5.5").first.wait_for()


WALKS: dict[str, Callable[[Page, Server, str], None]] = {
    "01": landmarks, "02": film, "03": reading, "04": trial, "05": dry, "06": ruler, "07": supplies,
}  # fmt: skip


def test_no_lesson_is_left_out(width: str) -> None:
    assert set(WALKS) == set(LESSONS)


@pytest.mark.parametrize("number", WALKS)
def test_a_lesson_waits_for_an_answer_follows_the_keyboard_and_holds_at_both_widths(
    page: Page, server: Server, watch: Watch, width: str, number: str
) -> None:
    WALKS[number](page, server, LESSONS[number])
    assert page.get_by_text("Opened as a notebook?").count() == 0
    assert_together(page)
    assert_whole(page, f"lesson_{number}")
    watch.assert_quiet()


BAD = {
    "no name, or no room": "<main><h1>A</h1><button></button></main>",
    "has no words": "<main><h1>A</h1><img src='data:,'></main>",
    "is not there": "<main><h1>A</h1><img alt='A tooth.' src='data:,'></main>",
    "px wide": "<main><h1>A</h1><div style='width: 2000px'>wide</div></main>",
    "0 headings": "<main>no heading</main>",
    "says an error": "<main><h1>A</h1><p role='alert'>It did not work.</p></main>",
    "has no room": "<main><h1>A</h1><label>tip<input type='range'></label></main>",
}


LEFT_BEHIND = """<main class="lengthwise-panel"><div class="lengthwise-picture"><img alt="A tooth."
style="height: 300px; width: 9px"></div><div class="lengthwise-hands" style="padding-top: 2000px">
<label>tip<input type="range"></label></div></main>"""


def test_a_picture_that_does_not_come_along_is_found(browser: Browser, width: str) -> None:
    opened = browser.new_page(viewport={"width": 390, "height": 844})
    opened.set_content(LEFT_BEHIND)
    assert opened.evaluate(APART) == ["without picture: tip"] * 2
    opened.close()


def test_what_is_wrong_with_a_page_is_found(browser: Browser, width: str) -> None:
    opened = browser.new_page(viewport={"width": 390, "height": 844})
    for words, content in BAD.items():
        opened.set_content(content)
        assert words in " ".join(opened.evaluate(WRONG, LEAST_TOUCH_PX)), content
    opened.close()
