"""Pages for everyone: nothing grave found, and a whole lesson done without a mouse."""

from __future__ import annotations

import itertools
import json
import re
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from accessible import findings, focused, tab_to
from browser_tools import ROOT, SCREENSHOTS, WIDTHS, Server, Watch, keep_picture
from guide import GUIDE, steps
from guide_walk import clean_place, follow
from lengthwise.classroom.answer_key import read_key
from lengthwise.classroom.demo_class import filled_in
from lengthwise.classroom.demo_students import STUDENTS, answer_sources
from lengthwise.classroom.feedback import Given, feedback_of
from lengthwise.classroom.feedback_page import page as feedback_page
from lengthwise.classroom.mark_cells import mark_cells
from lengthwise.classroom.new_class import make_class
from lengthwise.classroom.roster import Student
from lengthwise.panels.lesson_pages import INDEX
from lesson_steps import at_rest

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

pytestmark = [pytest.mark.slow, pytest.mark.browser]

GOOD = '<!doctype html><html lang="en"><title>A page</title><main><h1>A page</h1>{}</main></html>'
# All that a figure says: the words of its picture, and its tables.
STATE = """all => all.map((one) => {
  let said = one.querySelector("img").alt;
  for (let next = one.nextElementSibling; next && next.matches(".scrolls"); )
    [said, next] = [said + next.textContent, next.nextElementSibling];
  return said;
})"""
FAULTS = {
    "image-alt": "<img src='data:,'>",
    "color-contrast": "<p style='color: #aaa; background: #fff'>pale words</p>",
    "link-name": "<a href='#x'></a>",
    "label": "<input type='range'>",
    "heading-order": "<h4>skips two ranks</h4>",
    "landmark-unique": "<section aria-label='a'></section><section aria-label='a'></section>",
}


def test_the_check_finds_every_known_fault_and_none_without(browser: Browser) -> None:
    opened = browser.new_page()
    opened.set_content(GOOD.format("<p>words</p>"))
    assert findings(opened) == []
    for rule, fault in FAULTS.items():
        opened.set_content(GOOD.format(fault))
        assert f": {rule}: " in " ".join(findings(opened)), rule
    opened.close()


@pytest.fixture(scope="module")
def still_pages(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    """As the guide says: the command of its page, typed in a folder of one's own."""
    place = clean_place(tmp_path_factory.mktemp("still"))
    (done,) = follow(steps((GUIDE / "accessibility.md").read_text(encoding="utf-8")), place)
    assert "7 lessons are copied" in done.text
    return sorted((place / "lesson_pages").iterdir())


def test_copies_of_all_lessons_need_nothing_and_leave_nobody_out(
    browser: Browser, still_pages: list[Path]
) -> None:
    lessons = sorted(ROOT.glob("course/lessons/*.ipynb"))
    assert [page.stem for page in still_pages] == [*(one.stem for one in lessons), "index"]
    # Scripts off: a copy must not need any. The checker brings its own way around that.
    opened = browser.new_page(viewport={"width": 1280, "height": 900})
    asked: list[str] = []
    opened.on("request", lambda request: asked.append(request.url))
    for path in still_pages:
        text = path.read_text(encoding="utf-8")
        assert "<script" not in text
        assert not re.search(r"assignment|\.ipynb|a[1-7]_", re.sub("<style.*?</style>", "", text))
        opened.goto(path.as_uri())
        assert findings(opened) == [], path.name
        assert opened.locator("html").get_attribute("lang") == "en"
        ranks = opened.locator("h1, h2, h3, h4, h5").evaluate_all(
            "all => all.map(one => Number(one.tagName[1]))"
        )
        assert ranks.count(1) == 1
        assert ranks[0] == 1
        assert all(after <= before + 1 for before, after in itertools.pairwise(ranks))
        for link in opened.locator("a[href]").evaluate_all("all => all.map(one => one.href)"):
            there, _, part = link.partition("#")
            assert Path(there.removeprefix("file://")).is_file(), link
            assert not part or opened.locator(f"[id='{part}']").count() == 1, link
        if path.name == INDEX:
            continue
        figures = opened.locator("figure").all()
        assert len(figures) >= 6, "the start of every panel, and its experiments"
        said = [figure.locator("img").get_attribute("alt") or "" for figure in figures]
        assert all(re.search(r"\d", words) for words in said)
        states = opened.locator("figure").evaluate_all(STATE)
        assert len(set(states)) == len(states), f"{path.name}: two states say the same"
        for figure in figures:
            assert (figure.locator("figcaption").text_content() or "").split()
            assert figure.locator("xpath=following-sibling::*[1]//table").count() == 1
            assert figure.locator("img").evaluate("one => one.naturalWidth > 400")
        answers = opened.locator("details:not([open])")
        assert answers.count() == opened.locator("details").count() >= 9, "answers are folded"
    assert {url for url in asked if not url.startswith(("data:", "file:"))} == set()
    opened.close()


def test_a_copy_reads_on_a_phone_by_keyboard_and_on_paper(
    browser: Browser, still_pages: list[Path]
) -> None:
    opened = browser.new_page(viewport={"width": 390, "height": 844})
    opened.goto(still_pages[3].as_uri())
    assert opened.evaluate("document.documentElement.scrollWidth") <= 390
    assert findings(opened) == []
    SCREENSHOTS.mkdir(exist_ok=True)
    opened.screenshot(path=SCREENSHOTS / "copy_of_a_lesson_phone.png", full_page=True)
    opened.keyboard.press("Tab")
    first = focused(opened)
    assert (first.name, first.there) == ("Go to the text", True)
    opened.keyboard.press("Enter")
    assert opened.evaluate("document.activeElement.id") == "text"
    way = tab_to(opened, "summary", "0.5 mm")
    assert all(one.seen for one in way)
    opened.keyboard.press("Enter")
    assert opened.locator("details[open]").count() == 1
    opened.set_viewport_size({"width": 688, "height": 1000})  # A4 within the page's own margins
    opened.emulate_media(media="print")
    cut = opened.evaluate(
        "[...document.querySelectorAll('table, img, p, h2')].filter("
        "one => one.getBoundingClientRect().right > 689).map(one => one.outerHTML.slice(0, 80))"
    )
    assert cut == []
    assert not opened.locator("nav").is_visible()
    opened.close()


def test_a_feedback_page_leaves_nobody_out(browser: Browser, tmp_path: Path) -> None:
    one, a6 = STUDENTS[0], "a6_reconcile"
    taught = make_class(
        "browser", (Student(one.id),), target_mm=0.5, where=tmp_path, course=ROOT / "course",
        assignments=(a6,), secret=b"of the tests",
    )  # fmt: skip
    key = read_key(taught, a6).of(one.id)
    released = json.loads(taught.released_notebook(a6).read_text(encoding="utf-8"))
    notebook = filled_in(released, answer_sources(one, key))
    marks = mark_cells(notebook["cells"], key).marks
    points = {name: (mark.points, False) for name, mark in marks.items()}
    path = tmp_path / "feedback.html"
    path.write_text(feedback_page(feedback_of(notebook, one.id, Given(points, {}))))
    for width in (1280, 390):
        opened = browser.new_page(viewport={"width": width, "height": 900})
        opened.goto(path.as_uri())
        assert findings(opened) == []
        opened.evaluate("document.querySelectorAll('details').forEach(one => { one.open = true })")
        assert findings(opened) == []
        opened.close()


@pytest.mark.parametrize("width", ["desktop"])
def test_a_whole_lesson_is_done_without_a_mouse(
    page: Page, server: Server, watch: Watch, width: str
) -> None:
    page.goto(server.url("/voila/render/lessons/01_where_a_canal_ends.ipynb"))
    page.get_by_role("button", name="Commit my number").wait_for()
    way = tab_to(page, "input:range", "the average is more than")
    page.keyboard.press("ArrowRight")
    way += tab_to(page, "button", "Commit my number")
    page.keyboard.press("Enter")
    page.get_by_text("You said 51 of 100").wait_for()
    # Every control of the picture is met, in the order in which it stands, and moves by arrow keys.
    way += tab_to(page, "input:radio", "upper canine")
    page.keyboard.press("ArrowDown")
    page.get_by_text("the average, 23.6 mm").first.wait_for()
    for name in ("This tooth, of 100", "The foramen lies short", "Age of the patient", "Working"):
        before = at_rest(page, lambda: page.locator("main img").first.get_attribute("alt"))
        way += tab_to(page, "input:range", name)
        for _ in range(20):  # on a busy machine the picture may take a while, or miss a key
            page.keyboard.press("ArrowRight")
            page.keyboard.press("PageUp")
            page.wait_for_timeout(500)
            if page.locator("main img").first.get_attribute("alt") != before:
                break
        assert page.locator("main img").first.get_attribute("alt") != before
    for number, option in enumerate(("Foramen, constriction", "Little", "", "")):
        way += tab_to(page, "input:radio", option)
        page.keyboard.press("Space")
        way += tab_to(page, "button", "Check my answer")
        page.keyboard.press("Enter")
        said = page.locator("main .lengthwise-spoken").nth(number + 2)
        page.wait_for_function("one => one.textContent.trim() !== ''", arg=said.element_handle())
    tab_to(page, "a", "start page of the course")
    assert [one.name for one in way if not (one.seen and one.there)] == []
    keep_picture(page, "lesson_done_by_keyboard")
    # Nothing holds the focus: the same way back, and the last thing on the page is left again.
    back = focused(page)
    page.keyboard.press("Shift+Tab")
    page.keyboard.press("Tab")
    assert focused(page) == back
    page.keyboard.press("Tab")
    assert focused(page) != back
    for wide, high in WIDTHS.values():
        page.set_viewport_size({"width": wide, "height": high})
        page.wait_for_timeout(300)
        assert findings(page) == [], f"at {wide} px"
    watch.assert_quiet()
