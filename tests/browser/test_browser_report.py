"""The reports in a real browser: nothing loaded, nothing cut off, on a phone and on paper too."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from accessible import findings
from browser_tools import ROOT, keep_picture
from lengthwise.classroom import report as class_module
from lengthwise.classroom.answer_key import read_key
from lengthwise.classroom.case_views import view_of
from lengthwise.classroom.class_folder import open_class
from lengthwise.classroom.demo_class import filled_in
from lengthwise.classroom.demo_students import STUDENTS, answer_sources
from lengthwise.classroom.extracted_teeth import teeth_report
from lengthwise.classroom.feedback_page import Feedback, Question, below
from lengthwise.classroom.feedback_page import page as feedback_page
from lengthwise.classroom.mark_cells import mark_cells
from lengthwise.classroom.marks_table import MarksRow, MarksTable, part_name
from lengthwise.classroom.measured import read_measurements
from lengthwise.classroom.new_class import make_class
from lengthwise.classroom.report_page import ReportPage
from lengthwise.classroom.roster import Student
from nbconvert.filters import markdown2html

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

pytestmark = [pytest.mark.browser, pytest.mark.slow]
NAMES = ("class", "teeth")


def class_page(where: Path, monkeypatch: pytest.MonkeyPatch) -> ReportPage:
    """A report on five of the demo class, marked without a gradebook, and one who is missing."""
    a6, present = "a6_reconcile", STUDENTS[:5]
    everyone = (*(Student(one.id) for one in present), Student("student-missing"))
    taught = make_class(
        "browser", everyone, target_mm=0.5, where=where, course=ROOT / "course",
        assignments=(a6,), secret=b"of the tests",
    )  # fmt: skip
    released = json.loads(taught.released_notebook(a6).read_text(encoding="utf-8"))
    key, rows, maxima = read_key(taught, a6), [], {}
    for one in present:
        notebook = filled_in(released, answer_sources(one, key.of(one.id)))
        path = taught.root / "autograded" / one.id / a6 / f"{a6}.ipynb"
        path.parent.mkdir(parents=True)
        path.write_text(json.dumps(notebook), encoding="utf-8")
        marks = mark_cells(notebook["cells"], key.of(one.id)).marks
        points = {part_name(name): mark.points for name, mark in marks.items()}
        maxima = {name: 4.0 if name.startswith("q") else 1.0 for name in points} | {"reason": 4.0}
        points = {**points, "reason": 3.0}
        rows.append(MarksRow(one.id, points, sum(points.values())))
    rows.append(MarksRow("student-missing", {}, None, remark="nothing collected"))
    table = MarksTable(a6, maxima, tuple(rows))
    monkeypatch.setattr(class_module, "marks_table", lambda *_: table)
    return class_module.class_report(taught, a6, {one.id: 2.0 + (one.id > "student-03")
                                                 for one in present})  # fmt: skip


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    where = tmp_path_factory.mktemp("reports")
    example = read_measurements(ROOT / "datasets" / "extracted_teeth_example.csv")
    title = "Extracted teeth: extracted_teeth_example"  # a file's name has nowhere to break
    with pytest.MonkeyPatch.context() as patched:
        made = {"class": class_page(where, patched), "teeth": teeth_report(title, example)}
    paths = {name: where / f"{name}.html" for name in NAMES}
    for name, path in paths.items():
        path.write_text(made[name].to_html(), encoding="utf-8")
    return paths


@pytest.mark.parametrize("name", NAMES)
def test_a_report_loads_nothing_and_fits_the_window(
    page: Page, width: str, pages: dict[str, Path], name: str
) -> None:
    asked: list[str] = []
    errors: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.on("console", lambda message: errors.append(message.text))
    page.goto(pages[name].as_uri())
    assert [url for url in asked if not url.startswith(("data:", pages[name].as_uri()))] == []
    assert errors == []
    wide = page.evaluate("[document.documentElement.scrollWidth, window.innerWidth]")
    assert wide[0] <= wide[1], "the page itself never scrolls sideways"
    for picture in page.locator("img").all():
        assert picture.evaluate("one => one.complete && one.naturalWidth > 0")
        assert re.search(r"\d", picture.get_attribute("alt") or "")
    for region in page.locator(".lw-scroll").all():
        assert region.get_attribute("aria-label")
        region.focus()
        assert region.evaluate("one => document.activeElement === one"), "a keyboard reaches it"
    hidden = "one => one.scrollWidth > one.clientWidth"
    wide_tables = [one for one in page.locator(".lw-scroll").all() if one.evaluate(hidden)]
    assert wide_tables or width != "phone"
    for table in wide_tables:
        sign = table.evaluate("one => getComputedStyle(one).backgroundAttachment")
        assert "scroll" in sign, "nothing shows that the table goes on"
    assert findings(page) == []
    keep_picture(page, f"report-{name}-{width}")


@pytest.mark.parametrize("name", NAMES)
def test_a_printed_report_holds_together(
    browser: Browser, pages: dict[str, Path], name: str
) -> None:
    # As wide as A4 within the page's own margins (182 mm), in the look of print.
    opened = browser.new_page(viewport={"width": 688, "height": 1000})
    opened.goto(pages[name].as_uri())
    opened.emulate_media(media="print")
    cut = opened.evaluate(
        "[...document.querySelectorAll('table, img, p, h1, h2')].filter("
        "one => one.getBoundingClientRect().right > 689).map(one => one.outerHTML.slice(0, 80))"
    )
    assert cut == [], "nothing runs off the paper"
    kept = opened.evaluate(
        "[...document.querySelectorAll('figure, tr')].every("
        "one => getComputedStyle(one).breakInside === 'avoid')"
    )
    assert kept, "no picture and no row is cut by the end of a page"
    printed = opened.pdf(prefer_css_page_size=True)
    assert 2 <= len(re.findall(rb"/Type\s*/Page\b", printed)) <= 12
    opened.close()


@pytest.fixture(scope="module")
def feedback(pages: dict[str, Path]) -> Path:
    """The page of one who holds a belief, on the class of the report."""
    one, taught = STUDENTS[2], open_class(pages["class"].parent / "browser")
    key = read_key(taught, "a6_reconcile").of(one.id)
    sources = answer_sources(one, key)
    released = json.loads(taught.released_notebook("a6_reconcile").read_text(encoding="utf-8"))
    marks = mark_cells(filled_in(released, sources)["cells"], key).marks
    questions = tuple(
        Question(
            name, f"Case {name}", marks[f"{name}_check"].points, 4.0,
            asked=view_of(name, case)._repr_html_(), answer=sources[name],
            explanation=below("h4", markdown2html(marks[f"{name}_check"].explanation)),
        )
        for name, case in key.cases.items()
    )  # fmt: skip
    path = pages["class"].with_name("feedback.html")
    path.write_text(feedback_page(Feedback("One ruler", one.id, questions)), encoding="utf-8")
    return path


def test_feedback_on_paper_is_the_result_then_a_page_a_case_reasons_first(
    browser: Browser, feedback: Path
) -> None:
    # A4 within the page's own margins: 184 by 269 mm, at 96 dots an inch.
    opened = browser.new_page(viewport={"width": 695, "height": 1016})
    opened.goto(feedback.as_uri())
    opened.emulate_media(media="print")
    for case in opened.locator("details.question").all():
        top, why, asked, high, wide = case.evaluate(
            """one => {
              const at = what => what.getBoundingClientRect();
              const why = [...one.querySelectorAll("h4")].find(h => h.innerText === "Why");
              return [at(one).top, at(why).top, at(one.querySelector(".asked")).top,
                      at(one).height, Math.max(...[...one.querySelectorAll("*")]
                      .map(each => at(each).right))];
            }"""
        )
        assert top < why < asked, "the reasons come before the case"
        assert high < 1016, "a case fits a page"
        assert wide <= 696, "nothing runs off the paper"
    printed = opened.pdf(prefer_css_page_size=True)
    assert len(re.findall(rb"/Type\s*/Page\b", printed)) <= 1 + 3
    opened.close()


def test_a_table_that_runs_off_the_paper_would_be_found(browser: Browser, tmp_path: Path) -> None:
    wide = tmp_path / "wide.html"
    wide.write_text("<table style='width: 900px'><tr><td>x</td></tr></table>")
    opened = browser.new_page(viewport={"width": 688, "height": 1000})
    opened.goto(wide.as_uri())
    assert opened.evaluate("document.querySelector('table').getBoundingClientRect().right > 689")
    opened.close()
