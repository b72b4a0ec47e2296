"""Serves the pages of a workshop and nothing else: ``python -m lengthwise.panels.workshop_server``.

The page server is an existing one, with what a workshop has no use for taken away: its file list,
its contents, every page that is not in the list. Browsers may talk to the widgets of a page and
cannot have code executed. Pages are made ready before they are asked for, one after the other.
"""

import argparse
import os
import sys
import tempfile
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs, urlencode, urlsplit

import psutil  # type: ignore[import-untyped]  # comes with every Jupyter kernel
import tornado.ioloop
import tornado.web
from jupyter_server.auth.decorator import allow_unauthenticated
from jupyter_server.base.handlers import JupyterHandler
from jupyter_server.services.kernels.handlers import KernelHandler
from traitlets.config import Config
from voila.app import Voila  # type: ignore[import-untyped]
from voila.shutdown_kernel_handler import VoilaShutdownKernelHandler  # type: ignore[import-untyped]
from voila.static_file_handler import (  # type: ignore[import-untyped]
    MultiStaticFileHandler,
    TemplateStaticFileHandler,
)
from voila.tornado.handler import TornadoVoilaHandler  # type: ignore[import-untyped]
from voila.tornado.kernel_websocket_handler import (  # type: ignore[import-untyped]
    VoilaKernelWebsocketHandler,
)

from lengthwise.marking.practice_log import FOLDER_VARIABLE
from lengthwise.panels.page_template import TEMPLATE_NAME
from lengthwise.panels.workshop_pages import START, write_pages

WARM_KERNEL_MB = 150.0
# Of the memory that is free at the start; the rest is for the pages that people have open.
SHARE_FOR_WARM_KERNELS = 0.4
LEFT_ALONE_S = 1200
# What the template writes where a cell has failed.
FAILED = '<div class="lengthwise-failed"'
THIS_COMPUTER = "127.0.0.1"
LANDING = "voila/render/" + START
KEPT_HANDLERS = (
    KernelHandler,
    VoilaKernelWebsocketHandler,
    VoilaShutdownKernelHandler,
    MultiStaticFileHandler,
    TemplateStaticFileHandler,
    tornado.web.StaticFileHandler,
)


def say(sentence: str) -> None:
    """Tell the person at the keyboard something."""
    sys.stdout.write(sentence + "\n")
    sys.stdout.flush()


def warm_kernels(pages: int, free_mb: float, most_each: int) -> list[int]:
    """Say how many kernels each page keeps warm, the first pages served first.

    Parameters
    ----------
    pages
        Number of pages.
    free_mb
        Memory that is free, in MB.
    most_each
        No page keeps more than this.

    Examples
    --------
    >>> warm_kernels(3, free_mb=8000.0, most_each=1)
    [1, 1, 1]
    >>> warm_kernels(3, free_mb=800.0, most_each=2)
    [1, 1, 0]
    """
    affordable = int(free_mb * SHARE_FOR_WARM_KERNELS / WARM_KERNEL_MB)
    each, more = divmod(affordable, pages)
    return [min(most_each, each + (place < more)) for place in range(pages)]


class OnlyThePages(TornadoVoilaHandler):
    """A page of the workshop; any other path is not there."""

    async def get(self, path: str | None = None) -> None:
        """Send the page."""
        if path not in self.settings["pages"]:
            raise tornado.web.HTTPError(404)
        # Asked for, it is set as a cookie: with it a page that is left may end its own kernel.
        assert self.xsrf_token
        await super().get(path)


class ToTheStartPage(JupyterHandler):
    """The short address that people type."""

    @tornado.web.authenticated
    def get(self) -> None:
        """Send them on."""
        self.redirect(self.base_url + LANDING)


class AskForTheWord(JupyterHandler):
    """Somebody typed the address without the word that belongs to it, or with a wrong one."""

    @allow_unauthenticated
    def get(self) -> None:
        """Ask for it; a phone's capital letter or space is no other word."""
        asked_for = urlsplit(self.get_argument("next", ""))
        typed = parse_qs(asked_for.query).get("token", [""])[0]
        meant = "".join(typed.split()).lower()
        if meant != typed:
            self.redirect(self.base_url + "?" + urlencode({"token": meant}))
            return
        page = self.settings["voila_jinja2_env"].get_template("word.html")
        self.finish(page.render(base_url=self.base_url, wrong="token=" in asked_for.query))


class TheAddress(JupyterHandler):
    """Where phones find the pages, for the screen of the room; only who has the word sees it."""

    @tornado.web.authenticated
    def get(self) -> None:
        """Show the address and the word in large letters."""
        page = self.settings["voila_jinja2_env"].get_template("address.html")
        shown = {name: self.settings["told"][name] for name in ("address", "word")}
        self.finish(page.render(base_url=self.base_url, **shown))


class WorkshopServer(Voila):
    """The page server of a workshop."""

    def __init__(self, pages: list[str], warm: list[int], **settings: Any) -> None:
        super().__init__(**settings)
        self.pages, self.warm = pages, warm

    def init_settings(self) -> dict[str, Any]:
        """Add the list of pages, and what is told to those who come."""
        told = {"address": f"http://{self.ip}:{self.port}", "word": self.token}
        return {**super().init_settings(), "pages": self.pages, "told": told}

    def init_handlers(self) -> list[tuple[Any, ...]]:
        """Keep what a page needs, and put the workshop's own in place of the rest."""
        handlers = []
        for pattern, handler, *rest in super().init_handlers():
            if handler is TornadoVoilaHandler:
                handlers.append((pattern, OnlyThePages, *rest))
            elif handler in KEPT_HANDLERS or "labextensions" in pattern or "themes" in pattern:
                handlers.append((pattern, handler, *rest))
        own = {"": ToTheStartPage, "login": AskForTheWord, "address": TheAddress}
        return [*handlers, *((self.base_url + path, one) for path, one in own.items())]

    def listen(self) -> None:
        """Warm the pages as soon as the server runs."""
        tornado.ioloop.IOLoop.current().add_callback(self.warm_all)
        super().listen()

    async def warm_all(self) -> None:
        """Make the pages ready one after the other, so that the first is ready soon."""
        manager = self.kernel_manager
        for page, kernels in zip(self.pages, self.warm, strict=True):
            sizes = {**manager.kernel_pools_config, page: {"pool_size": kernels}}
            manager.kernel_pools_config = sizes
            manager.fill_if_needed(delay=0, notebook_name=page)
            for begun in list(manager._pools[page]):
                warmed = await begun
                await warmed["task"]
                if FAILED in "".join(warmed["renderer"].rendered_cache):
                    say(f"The page {page} does not work. Leave it out; the log says why.")
        if any(self.warm):
            say(f"All pages are warm: {sum(self.warm)} kernels.")


def settings_of(folder: Path, address: str, port: int, token: str) -> Config:
    """Settings of the page server."""
    return Config(
        Voila={
            "ip": address, "port": port, "port_retries": 0, "token": token,
            "root_dir": str(folder), "open_browser": False,
        },
        VoilaConfiguration={
            "template": TEMPLATE_NAME, "show_tracebacks": False,
            "resources": {"workshop": True, "in_the_room": address != THIS_COMPUTER},
            "preheat_kernel": True, "default_pool_size": 0,
            "allow_template_override": "NO", "allow_theme_override": "NO",
        },
        VoilaExecutor={"startup_timeout": 180},
        MappingKernelManager={"cull_idle_timeout": LEFT_ALONE_S, "cull_interval": 60},
    )  # fmt: skip


def main() -> None:
    """Serve until told to stop."""
    parser = argparse.ArgumentParser(prog="workshop_server")
    parser.add_argument("--course", type=Path, required=True)
    parser.add_argument("--address", required=True)
    parser.add_argument("--port", type=int, required=True)
    parser.add_argument("--most-each", type=int, default=1)
    options = parser.parse_args()
    token = os.environ.pop("JUPYTER_TOKEN")
    with tempfile.TemporaryDirectory(prefix="workshop-", ignore_cleanup_errors=True) as made:
        folder = Path(made).resolve()
        os.environ[FOLDER_VARIABLE] = str(folder / "kept")  # no lesson is done for the leader here
        pages = write_pages(options.course, folder)
        free_mb = psutil.virtual_memory().available / 1e6
        warm = warm_kernels(len(pages), free_mb, options.most_each)
        needed_gb = sum(warm) * WARM_KERNEL_MB / 1000
        say(
            f"{sum(warm)} kernels for {len(pages)} pages are made ready, one after the other. "
            f"They take about {needed_gb:.1f} GB of memory; {free_mb / 1000:.1f} GB are free."
        )
        config = settings_of(folder, options.address, options.port, token)
        server = WorkshopServer.instance(pages, warm, config=config)
        server.initialize([])
        server.start()


if __name__ == "__main__":
    main()
