"""Does Jupyter work here? A kernel, the grader's form view, a lesson as a page: each is started."""

from __future__ import annotations

import json
import os
import secrets
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from lengthwise.classroom.class_folder import ClassFolder
from lengthwise.classroom.doctor import INSTALL_AGAIN, Finding, found
from lengthwise.classroom.errors import ClassroomError

PATIENCE_S = 90
KERNEL = "python3"
LESSON = "lessons/01_where_a_canal_ends.ipynb"
_FAILED = '<div class="lengthwise-failed"'  # what the course's page template writes
_EXTENSIONS = {"nbgrader.server_extensions.formgrader": True, "voila.server_extension": True}


@dataclass(frozen=True)
class Server:
    """A Jupyter server that was started, or why it did not."""

    address: str = ""
    token: str = ""
    root: Path = Path("/")
    failed: str = ""

    def get(self, path: str) -> str:
        """What it answers; raises `ClassroomError` when it does not, or with an error."""
        if self.failed:
            raise ClassroomError(self.failed)
        request = urllib.request.Request(
            f"{self.address}/{path.lstrip('/')}", headers={"Authorization": f"token {self.token}"}
        )
        opener = urllib.request.build_opener(urllib.request.ProxyHandler({}))
        try:
            with opener.open(request, timeout=PATIENCE_S) as answer:
                return str(answer.read().decode("utf-8", "replace"))
        except urllib.error.HTTPError as error:
            raise ClassroomError(f"the server answered {error.code} {error.reason}") from None
        except OSError as error:
            raise ClassroomError(f"no answer ({error})") from None


def kernel(name: str = KERNEL) -> Finding:
    """A kernel starts, works something out, and stops."""

    def work_out() -> str:
        from jupyter_client.manager import start_new_kernel

        manager, client = start_new_kernel(
            startup_timeout=PATIENCE_S, kernel_name=name, stderr=subprocess.DEVNULL
        )
        try:
            said = []
            client.execute_interactive(
                "import lengthwise; print(6 * 7)",
                timeout=PATIENCE_S,
                output_hook=lambda message: said.append(message["content"].get("text", "")),
            )
        finally:
            client.stop_channels()
            manager.shutdown_kernel(now=True)
        if "42" not in "".join(said):
            raise ClassroomError("it started and did not find the course")
        return "started, answered, stopped"

    return found("A kernel", work_out, INSTALL_AGAIN)


def form_view(server: Server, taught: ClassFolder) -> Finding:
    """The form view opens, and shows the assignments of the class."""

    def look() -> str:
        if "formgrader" not in server.get("formgrader/gradebook"):
            raise ClassroomError("another program answered")
        told = json.loads(server.get("formgrader/api/assignments"))
        missing = set(taught.assignments) - {one["name"] for one in told}
        if missing:
            raise ClassroomError(f"it does not show {', '.join(sorted(missing))}")
        return f"opened; it shows {', '.join(taught.assignments)}"

    mend = "mend the lines above first; then close other servers and try again"
    return found("The grader's form view", look, mend)


def page(server: Server, course: Path, lesson: str = LESSON) -> Finding:
    """A lesson opens as a page, with its sliders, and nothing in it fails."""

    def look() -> str:
        path = (course / lesson).relative_to(server.root).as_posix()
        text = server.get(f"voila/render/{path}")
        if _FAILED in text:
            raise ClassroomError("a cell of it failed")
        if "application/vnd.jupyter.widget-view+json" not in text:
            raise ClassroomError("it came without its controls")
        return f"{lesson} opened, with its controls"

    return found("A lesson as a page", look, INSTALL_AGAIN)


@contextmanager
def started(
    course: Path, taught: ClassFolder | None, seconds: float = PATIENCE_S
) -> Iterator[Server]:
    """A server over course and class, on this computer only; stopped afterwards."""
    token, folders = secrets.token_hex(24), [course, *([taught.root] if taught else [])]
    root = Path(os.path.commonpath([folder.resolve() for folder in folders]))
    templates = Path(__file__).parents[1] / "panels" / "pages"
    with tempfile.TemporaryDirectory(prefix="lengthwise-doctor-") as settings:
        environ = {
            **os.environ,
            "JUPYTER_CONFIG_DIR": settings,
            "JUPYTER_RUNTIME_DIR": settings,
            "JUPYTER_PATH": str(templates),
            "JUPYTER_PREFER_ENV_PATH": "1",
            "JUPYTER_TOKEN": token,
        }
        command = [
            *(sys.executable, "-m", "jupyter_server", "--no-browser", "--allow-root"),
            *("--ServerApp.ip=127.0.0.1", "--ServerApp.port=0", f"--ServerApp.root_dir={root}"),
            f"--ServerApp.jpserver_extensions={_EXTENSIONS}",
            *("--VoilaConfiguration.template=lengthwise", "--ContentsManager.allow_hidden=True"),
        ]
        log = Path(settings) / "log"
        with log.open("wb") as stream:
            process = subprocess.Popen(
                command,
                cwd=taught.root if taught else settings,
                env=environ,
                stdin=subprocess.DEVNULL,
                stdout=stream,
                stderr=subprocess.STDOUT,
            )
        try:
            yield _when_it_answers(process, Path(settings), token, root, seconds)
        finally:
            process.terminate()
            try:
                process.wait(timeout=15)
            except subprocess.TimeoutExpired:
                process.kill()
                process.wait()


def _when_it_answers(
    process: subprocess.Popen[bytes], settings: Path, token: str, root: Path, seconds: float
) -> Server:
    end = time.monotonic() + seconds
    while time.monotonic() < end and process.poll() is None:
        for told in settings.glob("jpserver-*.json"):  # written when it has found a port
            try:
                address = str(json.loads(told.read_text(encoding="utf-8"))["url"]).rstrip("/")
                server = Server(address, token, root)
                server.get("api/status")
                return server
            except (ValueError, KeyError):
                continue  # half written, or not listening yet
        time.sleep(0.2)
    lines = (settings / "log").read_text(encoding="utf-8", errors="replace").strip().splitlines()
    why = lines[-1] if lines else "it said nothing"
    return Server(failed=f"the server did not start ({why})")
