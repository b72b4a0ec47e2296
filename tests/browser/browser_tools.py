"""What browser tests share besides fixtures: a served course, and a page that is watched."""

from __future__ import annotations

import json
import socket
import urllib.error
import urllib.request
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from playwright.sync_api import Locator, Page

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
        """The address of a page, with the token."""
        return f"{self.address}{path}?token={self.token}"

    def end_kernels(self) -> None:
        """End whatever runs: a notebook that is opened anew would go on with it."""
        with urllib.request.urlopen(self._asked("/api/kernels"), timeout=60) as answer:
            running = [kernel["id"] for kernel in json.load(answer)]
        for kernel in running:
            try:
                asked = self._asked(f"/api/kernels/{kernel}", "DELETE")
                urllib.request.urlopen(asked, timeout=60).close()
            except urllib.error.HTTPError as error:
                if error.code != 404:  # a page that was left has just taken it along
                    raise

    def _asked(self, path: str, method: str = "GET") -> urllib.request.Request:
        headers = {"Authorization": f"token {self.token}"}
        return urllib.request.Request(self.address + path, headers=headers, method=method)


# Of Notebook 7.6 with JupyterLab 4.6 while it starts: its list of keyboard shortcuts is still
# empty, and a list of files, which nobody sees, is told to open a folder before it can. Theirs,
# harmless, and not to hide anything else behind.
KNOWN_OF_OTHERS = (
    "Cannot read properties of undefined (reading 'schema')",
    "Command 'filebrowser:open-path' not registered.",
)


@dataclass
class Watch:
    """What a page asked for and complained about."""

    own: str
    outside: list[str] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)

    def assert_quiet(self) -> None:
        """Fail if the page asked for anything outside or complained."""
        assert not self.outside, f"asked for addresses outside: {self.outside}"
        own = [error for error in self.errors if error not in KNOWN_OF_OTHERS]
        assert not own, f"errors in the browser: {own}"


def keep_picture(page: Page, name: str) -> None:
    """Save a screenshot of the whole page for a person to look at."""
    SCREENSHOTS.mkdir(exist_ok=True)
    page.screenshot(path=SCREENSHOTS / f"{name}.png", full_page=True)


def run_all_cells(page: Page, expected: Locator) -> None:
    """Run, Run All Cells, through the menu, as a student is told to, until something is there."""
    idle = page.locator(".jp-Notebook-ExecutionIndicator[data-status='idle']")
    for _ in range(3):
        idle.wait_for(state="attached")  # a phone hides it
        page.get_by_role("menuitem", name="Run", exact=True).click()
        page.get_by_role("menuitem", name="Run All Cells", exact=True).click()
        try:
            expected.wait_for(state="attached", timeout=60_000)
        except Exception as error:  # Playwright's own, which may not be installed
            if "Timeout" not in type(error).__name__:
                raise
            continue  # clicked before the notebook had a kernel, as happens to people too
        # Where a first run was only slow, a second stands behind it and makes all outputs anew.
        for _ in range(2):
            page.wait_for_timeout(500)
            idle.wait_for(state="attached")
        expected.wait_for(state="attached")
        return
    raise AssertionError("the notebook was run three times, and what was expected never came")
