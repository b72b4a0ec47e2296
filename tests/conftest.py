"""What all tests share: where things lie, what a test may need, and when a skip is a failure."""

import os
import shutil
import tempfile
from collections.abc import Generator, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from playwright.sync_api import Browser

ROOT = Path(__file__).resolve().parent.parent
NO_SKIP = "LENGTHWISE_NO_SKIP"
PROGRAMS = {
    "ngspice": "ngspice",
    "hub": "configurable-http-proxy",
    "postgresql": "pg_lsclusters",
}
QUIET_BROWSER = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--no-first-run",
    "--disable-component-update",
    "--disable-sync",
]
BROWSERS = ("chromium", "chromium-browser", "google-chrome", "chrome")

# What a test does is never kept among what the person at this machine has done.
os.environ.setdefault("LENGTHWISE_DATA", tempfile.mkdtemp(prefix="lengthwise-tests-"))

# A program, and what the tests of a folder share: neither holds tests or examples.
collect_ignore = ["run.py"]
collect_ignore_glob = ["*conftest.py"]


def find_browser() -> str | None:
    return next((path for name in BROWSERS if (path := shutil.which(name))), None)


@pytest.fixture(scope="session")
def repo_root() -> Path:
    """The folder of the checkout."""
    return ROOT


@pytest.fixture(scope="session")
def chromium_path() -> str:
    """The path of an installed Chromium; a test that asks for it is skipped where there is none."""
    path = find_browser()
    if path is None:
        pytest.skip("no Chromium on this machine")
    return path


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Files with slow tests come first: a long one begun last would leave the other core idle."""
    slow = {item.path for item in items if item.get_closest_marker("slow")}
    items.sort(key=lambda item: item.path not in slow)


@pytest.fixture(scope="session")
def browser(chromium_path: str) -> Iterator["Browser"]:
    """The one browser of a test process: a second driver in it would refuse to start."""
    playwright = pytest.importorskip("playwright.sync_api")
    with playwright.sync_playwright() as running:
        opened = running.chromium.launch(executable_path=chromium_path, args=QUIET_BROWSER)
        yield opened
        opened.close()


def pytest_runtest_setup(item: pytest.Item) -> None:
    if item.get_closest_marker("browser") and find_browser() is None:
        pytest.skip("no Chromium on this machine")
    for mark, program in PROGRAMS.items():
        if item.get_closest_marker(mark) and shutil.which(program) is None:
            pytest.skip(f"no {program} on this machine")


def _forbid_skip(report: pytest.TestReport | pytest.CollectReport) -> None:
    """Turn a skip, or a failure that was expected, into a failure."""
    if os.environ.get(NO_SKIP) and (report.skipped or hasattr(report, "wasxfail")):
        reason = getattr(report, "wasxfail", None) or report.longrepr
        report.outcome = "failed"
        report.longrepr = f"{report.nodeid}: a skip counts as a failure here: {reason}"
        if hasattr(report, "wasxfail"):
            del report.wasxfail


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport() -> Generator[None, pytest.TestReport, pytest.TestReport]:
    report = yield
    _forbid_skip(report)
    return report


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report() -> Generator[None, pytest.CollectReport, pytest.CollectReport]:
    report = yield
    _forbid_skip(report)
    return report
