"""A real server, started the way course/start.py starts it, and a real browser in two widths."""

from __future__ import annotations

import os
import shutil
import socket
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

import pytest
from opening.servers import start_course

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Locator, Page

ROOT = Path(__file__).resolve().parents[2]
SCREENSHOTS = ROOT / ".screenshots"
WIDTHS = {"desktop": (1280, 900), "phone": (390, 844)}


def free_port() -> int:
    """A port that the system has just handed out: test processes start side by side."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@dataclass(frozen=True)
class Server:
    """A running course: where it answers and which folder it serves."""

    address: str
    token: str
    folder: Path

    def url(self, path: str) -> str:
        return f"{self.address}{path}?token={self.token}"


# Notebook 7.6 with JupyterLab 4.6, while its list of keyboard shortcuts is still empty: theirs,
# harmless, and not to hide anything else behind.
KNOWN_OF_OTHERS = ("Cannot read properties of undefined (reading 'schema')",)


@dataclass
class Watch:
    """What a page asked for and complained about."""

    own: str
    outside: list[str] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)

    def assert_quiet(self) -> None:
        assert not self.outside, f"asked for addresses outside: {self.outside}"
        own = [error for error in self.errors if error not in KNOWN_OF_OTHERS]
        assert not own, f"errors in the browser: {own}"


@pytest.fixture(scope="session")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    # A copy: the notebook view saves what it opens.
    folder = tmp_path_factory.mktemp("served") / "course"
    shutil.copytree(
        ROOT / "course",
        folder,
        ignore=shutil.ignore_patterns(".ipynb_checkpoints", "__pycache__", "source", "items"),
    )
    # What earlier runs left open, and how wide, must not decide what a test sees.
    for name in ("WORKSPACES", "SETTINGS"):
        os.environ[f"JUPYTERLAB_{name}_DIR"] = str(tmp_path_factory.mktemp(name.lower()))
    jupyter = start_course(Path(sys.prefix), free_port(), folder)
    try:
        jupyter.wait_until_it_answers()
        yield Server(f"http://127.0.0.1:{jupyter.port}", jupyter.token, folder)
    finally:
        jupyter.stop()


@pytest.fixture(params=list(WIDTHS))
def width(request: pytest.FixtureRequest) -> str:
    return str(request.param)


@pytest.fixture
def page(browser: Browser, width: str) -> Iterator[Page]:
    wide, high = WIDTHS[width]
    context = browser.new_context(
        viewport={"width": wide, "height": high},
        has_touch=width == "phone",
        locale="en-GB",
    )
    opened = context.new_page()
    opened.set_default_timeout(60_000)
    yield opened
    context.close()


@pytest.fixture
def watch(page: Page, server: Server) -> Watch:
    seen = Watch(server.address)
    host = urlsplit(server.address).netloc

    def asked(url: str) -> None:
        parts = urlsplit(url)
        # data: and blob: are made inside the page; nothing leaves the machine.
        if parts.scheme not in ("data", "blob") and parts.netloc != host:
            seen.outside.append(url)

    def failed(url: str, why: str) -> None:
        if why != "net::ERR_ABORTED":  # what a page that is left had still asked for
            seen.errors.append(f"{why} {url}")

    page.on("request", lambda request: asked(request.url))
    page.on("websocket", lambda socket: asked(socket.url))
    page.on("pageerror", lambda error: seen.errors.append(str(error)))
    page.on("requestfailed", lambda request: failed(request.url, str(request.failure)))
    page.on(
        "console",
        lambda message: seen.errors.append(message.text) if message.type == "error" else None,
    )
    page.on(
        "response",
        lambda answer: (
            seen.errors.append(f"{answer.status} {answer.url}") if answer.status >= 400 else None
        ),
    )
    return seen


def keep_picture(page: Page, name: str) -> None:
    """Save a screenshot of the whole page for a person to look at."""
    SCREENSHOTS.mkdir(exist_ok=True)
    page.screenshot(path=SCREENSHOTS / f"{name}.png", full_page=True)


def run_all_cells(page: Page, expected: Locator) -> None:
    """Run, Run All Cells, through the menu, as a student is told to, until something is there."""
    for seconds in (15, 40, 60):
        page.get_by_role("menuitem", name="Run", exact=True).click()
        page.get_by_role("menuitem", name="Run All Cells", exact=True).click()
        try:
            expected.wait_for(state="attached", timeout=1000 * seconds)
        except Exception as error:  # Playwright's own, which may not be installed
            if "Timeout" not in type(error).__name__:
                raise
            continue  # clicked before the notebook had a kernel, as happens to people too
        return
    raise AssertionError("the notebook was run three times, and what was expected never came")
