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
    others: tuple[Path, ...]


@pytest.fixture(scope="session")
def own_data(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where pages keep their logs: a test does not write into anybody's own."""
    folder = tmp_path_factory.mktemp("data")
    os.environ["LENGTHWISE_DATA"] = str(folder)
    return folder


@pytest.fixture(scope="session")
def served(tmp_path_factory: pytest.TempPathFactory, own_data: Path) -> Iterator[Served]:
    # A copy: the notebook view saves what it opens.
    folder = tmp_path_factory.mktemp("served") / "course"
    shutil.copytree(
        ROOT / "course",
        folder,
        ignore=shutil.ignore_patterns(".ipynb_checkpoints", "__pycache__", "source", "items"),
    )
    entries = frozenset(folder.iterdir())
    others = [own_data]
    for name in ("WORKSPACES", "SETTINGS"):
        others.append(tmp_path_factory.mktemp(name.lower()))
        os.environ[f"JUPYTERLAB_{name}_DIR"] = str(others[-1])
    jupyter = start_course(Path(sys.prefix), free_port(), folder)
    try:
        jupyter.wait_until_it_answers()
        address = f"http://127.0.0.1:{jupyter.port}"
        yield Served(Server(address, jupyter.token, folder), entries, tuple(others))
    finally:
        jupyter.stop()


@pytest.fixture
def server(served: Served) -> Server:
    """The served course, without what earlier tests took in, answered, left open or running."""
    served.server.end_kernels()
    for folder in (served.server.folder, *served.others):
        for left in set(folder.iterdir()) - served.entries:
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
    context.set_default_timeout(60_000)
    yield context.new_page()
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

    def said(kind: str, text: str) -> None:
        if kind == "error":
            seen.errors.append(text)

    def answered(status: int, url: str) -> None:
        if status >= 400:
            seen.errors.append(f"{status} {url}")

    def look(opened: Page) -> None:
        opened.on("request", lambda request: asked(request.url))
        opened.on("websocket", lambda socket: asked(socket.url))
        opened.on("pageerror", lambda error: seen.errors.append(str(error)))
        opened.on("requestfailed", lambda request: failed(request.url, str(request.failure)))
        opened.on("console", lambda message: said(message.type, message.text))
        opened.on("response", lambda answer: answered(answer.status, answer.url))

    look(page)
    page.context.on("page", look)
    return seen
