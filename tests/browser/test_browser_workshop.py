"""A workshop in a real browser: pages without code at both widths, and nothing else to reach."""

from __future__ import annotations

import re
import shutil
import sys
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import nbformat
import psutil
import pytest
from browser_tools import ROOT, WIDTHS, Server, Watch, free_port, keep_picture
from lesson_steps import assert_whole, commit, moved
from opening.servers import Server as Started
from opening.servers import start_workshop

if TYPE_CHECKING:
    from playwright.sync_api import Locator, Page

pytestmark = [pytest.mark.slow, pytest.mark.browser]

PLACE = "This tooth, of 100 in order of length, is number"
LESSON = "lessons/01_where_a_canal_ends.ipynb"
BROKEN = "lessons/02_broken.ipynb"
REFUSED = [
    "/lab", "/tree", "/notebooks/index.ipynb", "/edit/index.ipynb", "/files/index.ipynb",
    "/api/contents", "/voila/api/contents", "/voila/tree", "/voila/files/index.ipynb",
    "/terminals/1", "/api/terminals", "/api/kernels", "/api/sessions", "/api/shutdown",
    "/voila/render/source/a6_reconcile/a6_reconcile.ipynb", "/voila/render/../nbgrader_config.py",
]  # fmt: skip

# Two messages of one shape over the page's own line: one asks for code to be run, one only who
# is there. Returns the kinds of all answers up to that of the second.
ASK_TO_RUN = """([kernel, code]) => new Promise((done, failed) => {
  const heard = [];
  const line = new WebSocket(`ws://${location.host}/api/kernels/${kernel}/channels`);
  const send = (kind, content) => line.send(JSON.stringify({
    header: {msg_id: kind, msg_type: kind, username: "", session: "s", version: "5.3",
             date: new Date().toISOString()},
    parent_header: {}, metadata: {}, content, buffers: [], channel: "shell"}));
  line.onopen = () => {
    send("execute_request", {code, silent: false, store_history: false, user_expressions: {},
                             allow_stdin: false, stop_on_error: true});
    send("kernel_info_request", {});
  };
  line.onmessage = (message) => {
    const answer = JSON.parse(message.data);
    heard.push(answer.msg_type);
    if (answer.msg_type === "kernel_info_reply" &&
        answer.parent_header.msg_id === "kernel_info_request") { line.close(); done(heard); }
  };
  line.onerror = failed;
})"""


@pytest.fixture(scope="module")
def small_course(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The start page, one lesson, practice, and a lesson whose code fails."""
    folder = tmp_path_factory.mktemp("workshop") / "course"
    shutil.copytree(ROOT / "course" / "practice", folder / "practice")
    (folder / "lessons").mkdir()
    for name in ("index.ipynb", LESSON, LESSON.replace(".ipynb", ".toml")):
        shutil.copy2(ROOT / "course" / name, folder / name)
    cells = [
        nbformat.v4.new_markdown_cell("# Broken\n\n## Here"),
        nbformat.v4.new_code_cell("a_name_of_ours = 1 / 0"),
    ]
    nbformat.write(nbformat.v4.new_notebook(cells=cells), folder / BROKEN)
    return folder


@pytest.fixture(scope="module")
def workshop(small_course: Path, own_data: Path) -> Iterator[Started]:
    started = start_workshop(Path(sys.prefix), free_port(), course=small_course)
    try:
        started.wait_until_it_answers()
        yield started
    finally:
        if started.process.poll() is None:
            stop(started)


def stop(workshop: Started) -> None:
    kernels = psutil.Process(workshop.process.pid).children(recursive=True)
    workshop.stop()
    assert kernels
    assert not psutil.wait_procs(kernels, timeout=10)[1], "kernels outlived the workshop"


@pytest.fixture(scope="module")
def server(workshop: Started, small_course: Path) -> Server:
    return Server(f"http://127.0.0.1:{workshop.port}", workshop.token, small_course)


def looked_at(page: Page) -> Locator:
    """Commit a number of the lesson that is open; gives the slider of its panel."""
    commit(page.get_by_role("button", name="Commit my number"))
    slider = page.get_by_role("slider", name=PLACE, exact=True)
    slider.wait_for()
    return slider


def status_of(server: Server, path: str, token: str) -> int:
    request = urllib.request.Request(
        server.address + path, headers={"Authorization": f"token {token}"}
    )
    try:
        with urllib.request.urlopen(request, timeout=60) as answer:
            return int(answer.status)
    except urllib.error.HTTPError as error:
        return error.code


def test_only_the_pages_can_be_reached(server: Server) -> None:
    answers = {path: status_of(server, path, server.token) for path in REFUSED}
    assert set(answers.values()) == {404}, answers
    assert status_of(server, "/login", "") == 200
    assert status_of(server, "/voila/api/shutdown/0", "") == 403


@pytest.mark.parametrize("width", ["phone"])
def test_the_start_page_and_a_lesson_hold_at_both_widths(
    page: Page, server: Server, watch: Watch, width: str, tmp_path: Path
) -> None:
    page.goto(server.address)
    page.get_by_label("Word").fill("23456789")
    page.get_by_role("button", name="Open").click()
    page.get_by_text("That was not the word.").wait_for()
    page.get_by_label("Word").fill(f" {server.token.upper()} ")  # as a phone likes to write it
    page.get_by_role("button", name="Open").click()
    page.get_by_role("heading", name="How long is this root canal?").wait_for()
    assert page.get_by_role("link", name="cautions", exact=True).first.is_visible()
    assert_whole(page, "workshop_start")
    words = page.locator("body").inner_text().lower()
    assert not [word for word in ("notebook", "assignment", "hand in") if word in words]
    page.get_by_role("link", name="01 Where a canal ends").click()

    slider = looked_at(page)
    jumps = page.get_by_role("navigation", name="On this page").get_by_role("link")
    assert jumps.all_inner_texts() == ["Predict", "Move", "Picture", "Explain", "Check"]
    moved(page, slider, "ArrowRight")
    assert_whole(page, "workshop_lesson")
    page.set_viewport_size({"width": WIDTHS[width][0], "height": WIDTHS[width][1]})
    table = page.get_by_role("table", name="How far the textbook average is off")
    hidden, sign = table.evaluate(
        "one => [one.scrollWidth - one.clientWidth, getComputedStyle(one).backgroundAttachment]"
    )
    assert hidden > 0
    assert "scroll" in sign, "nothing shows that the table goes on"

    kernel = page.evaluate("JSON.parse(document.getElementById('jupyter-config-data').text)")
    mark = tmp_path / "ran"
    heard = page.evaluate(ASK_TO_RUN, [kernel["kernelId"], f"open({str(mark)!r}, 'w')"])
    assert "kernel_info_reply" in heard
    assert "execute_reply" not in heard
    assert not mark.exists()

    assert status_of(server, f"/api/kernels/{kernel['kernelId']}", server.token) == 200
    page.get_by_role("link", name="Start page").click()
    page.get_by_role("heading", name="How long is this root canal?").wait_for()
    for _ in range(40):  # its kernel is ended after the page is gone
        if status_of(server, f"/api/kernels/{kernel['kernelId']}", server.token) == 404:
            break
        page.wait_for_timeout(250)
    else:
        raise AssertionError("the kernel of a page that was left is still there")
    watch.assert_quiet()


@pytest.mark.parametrize("width", ["phone"])
def test_a_page_that_fails_says_so_in_a_sentence_and_shows_no_code(
    page: Page, server: Server, width: str
) -> None:
    page.goto(server.url(f"/voila/render/{BROKEN}"))
    page.get_by_text("This part of the page did not work.").wait_for()
    sent = page.content()
    assert not [word for word in ("Traceback", "ZeroDivision", "a_name_of_ours") if word in sent]
    keep_picture(page, "workshop_broken_phone")


@pytest.mark.parametrize("width", ["phone"])
def test_the_address_is_shown_in_large_letters_to_who_has_the_word(
    page: Page, server: Server, width: str
) -> None:
    page.goto(server.address + "/address")
    page.get_by_role("heading", name="The word of this workshop").wait_for()
    page.goto(server.url("/address"))
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    page.set_viewport_size({"width": 1280, "height": 900})
    for shown in (server.address, server.token):
        large = page.get_by_role("definition").get_by_text(shown, exact=True)
        assert large.evaluate("one => parseFloat(getComputedStyle(one).fontSize)") > 48
    keep_picture(page, "workshop_address")


@pytest.mark.parametrize("width", ["phone"])
def test_the_handout_is_one_page_of_paper_and_fits_a_phone(page: Page, width: str) -> None:
    page.goto((ROOT / "instructor_guide" / "handout.html").as_uri())
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    printed = page.pdf(prefer_css_page_size=True)
    assert len(re.findall(rb"/Type\s*/Page\b", printed)) == 1


@pytest.mark.parametrize("width", ["phone"])
def test_a_page_whose_kernel_died_or_whose_server_stopped_says_so_and_no_other(
    page: Page, server: Server, workshop: Started, width: str
) -> None:
    """The last test of this file: afterwards there is no workshop."""
    page.goto(server.url(f"/voila/render/{LESSON}"))
    moved(page, looked_at(page), "ArrowRight")
    said = page.get_by_text("The connection is gone.")
    page.context.set_offline(True)
    with page.expect_event("requestfailed", lambda asked: "/api/kernels/" in asked.url):
        page.mouse.click(5, 400)
    page.context.set_offline(False)
    page.wait_for_timeout(3500)
    assert not said.is_visible(), "a short gap is no lost connection"

    config = page.evaluate("JSON.parse(document.getElementById('jupyter-config-data').text)")
    for process in psutil.Process(workshop.process.pid).children(recursive=True):
        if config["kernelId"] in " ".join(process.cmdline()):
            process.kill()
    said.wait_for()

    page.get_by_role("button", name="Load the page again").click()
    moved(page, looked_at(page), "ArrowRight")
    assert not said.is_visible()
    stop(workshop)
    said.wait_for()
    keep_picture(page, "workshop_gone")
