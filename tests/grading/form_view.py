"""The grader's form view, served for a class: the real server and its own buttons."""

from __future__ import annotations

import http.cookiejar
import json
import os
import re
import signal
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import lengthwise


class FormView:
    """A running form view; its requests keep cookies and the token against forgery."""

    def __init__(self, address: str) -> None:
        self.address = address
        self.cookies = http.cookiejar.CookieJar()
        self._opener = urllib.request.build_opener(
            urllib.request.ProxyHandler({}), urllib.request.HTTPCookieProcessor(self.cookies)
        )

    def get(self, path: str) -> str:
        """The text of a page."""
        with self._opener.open(self.address + path, timeout=120) as answer:
            return str(answer.read().decode("utf-8"))

    def send(self, path: str, method: str = "POST", body: object = None) -> Any:
        """What the server answers to a button."""
        forgery = next(cookie.value for cookie in self.cookies if cookie.name == "_xsrf")
        request = urllib.request.Request(
            self.address + path,
            method=method,
            data=json.dumps(body).encode() if body is not None else b"",
            headers={"X-XSRFToken": forgery or "", "Content-Type": "application/json"},
        )
        with self._opener.open(request, timeout=120) as answer:
            return json.loads(answer.read().decode("utf-8"))

    def press_autograde(self, assignment: str, student: str) -> dict[str, Any]:
        """What the button in the list of submissions does."""
        path = f"/formgrader/api/submission/{assignment}/{student}/autograde"
        return dict(self.send(path))


@contextmanager
def form_view(folder: Path, settings: Path) -> Iterator[FormView]:
    """Serve the class in ``folder``; ``settings`` is an empty folder for Jupyter's own files."""
    pages = Path(lengthwise.__file__).parent / "panels" / "pages"  # as start.py does
    environment = {
        **os.environ,
        "HOME": str(settings),
        "JUPYTER_CONFIG_DIR": str(settings),
        "JUPYTER_PATH": str(pages),
    }
    program = subprocess.Popen(
        [
            *(sys.executable, "-m", "jupyter", "server", "--no-browser", "--allow-root"),
            *("--port=0", "--IdentityProvider.token=", f"--ServerApp.root_dir={folder}"),
            "--ServerApp.jpserver_extensions={'nbgrader.server_extensions.formgrader': True}",
        ],
        cwd=folder,
        env=environment,
        stdout=subprocess.DEVNULL,
        stderr=(settings / "server.log").open("w"),
    )
    try:
        view = FormView(_address(settings / "server.log", program))
        _wait_for(view, settings / "server.log")
        yield view
    finally:
        program.send_signal(signal.SIGTERM)
        program.wait(timeout=60)


def _wait_for(view: FormView, log: Path) -> None:
    for _ in range(100):
        try:
            view.get("/formgrader")
        except urllib.error.URLError:
            time.sleep(0.3)
        else:
            return
    raise RuntimeError(f"the form view does not answer: {log.read_text('utf-8')}")


def _address(log: Path, program: subprocess.Popen[bytes]) -> str:
    for _ in range(600):
        found = re.search(r"http://(?:localhost|127\.0\.0\.1):(\d+)", log.read_text("utf-8"))
        if found:
            return f"http://127.0.0.1:{found.group(1)}"
        if program.poll() is not None:
            break
        time.sleep(0.1)
    raise RuntimeError(f"the form view did not start: {log.read_text('utf-8')}")
