"""A real server, started the way course/start.py starts it, and a real browser in two widths."""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

import pytest
from browser_tools import ROOT, WIDTHS, Server, Watch, free_port
from opening.servers import start_course

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page


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
