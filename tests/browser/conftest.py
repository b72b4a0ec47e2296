"""A real server, started the way course/start.py starts it, and a real browser in two widths."""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

import pytest
from browser_tools import ROOT, WIDTHS, Server, Watch, free_port
from opening.servers import start_course

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page


@dataclass(frozen=True)
class Served:
    """A course that is served for all tests of this process, and what it consists of."""

    server: Server
    entries: frozenset[Path]
    workspaces: Path


@pytest.fixture(scope="session")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    # A copy: the notebook view saves what it opens.
    folder = tmp_path_factory.mktemp("served") / "course"
    shutil.copytree(
        ROOT / "course",
        folder,
        ignore=shutil.ignore_patterns(".ipynb_checkpoints", "__pycache__", "source", "items"),
    )
    entries = frozenset(folder.iterdir())
    workspaces = tmp_path_factory.mktemp("workspaces")
    os.environ["JUPYTERLAB_WORKSPACES_DIR"] = str(workspaces)
    os.environ["JUPYTERLAB_SETTINGS_DIR"] = str(tmp_path_factory.mktemp("settings"))
    jupyter = start_course(Path(sys.prefix), free_port(), folder)
    try:
        jupyter.wait_until_it_answers()
        address = f"http://127.0.0.1:{jupyter.port}"
        yield Served(Server(address, jupyter.token, folder), entries, workspaces)
    finally:
        jupyter.stop()


@pytest.fixture
def server(served: Served) -> Server:
    """The served course, without what earlier tests took in, left open, or left running."""
    served.server.end_kernels()
    for left in {*served.server.folder.iterdir(), *served.workspaces.iterdir()} - served.entries:
        shutil.rmtree(left) if left.is_dir() else left.unlink()
    return served.server


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
