"""The two servers: the notebooks of one person, and the pages of a workshop."""

import os
import secrets
import subprocess
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import IO

from opening.environment import CLONE, WINDOWS, clean_environ, python_of, write_json
from opening.ports import THIS_COMPUTER, ask
from opening.telling import CannotStartError

# The word in a workshop's address: 8 of 32 characters, 10**12 words, for half a day in one room.
WORD_LETTERS = "abcdefghijkmnpqrstuvwxyz23456789"
WORD_LENGTH = 8
START_PAGE = "/voila/render/index.ipynb"
# Its list of what is to be marked by hand; its first page speaks of an exchange that nobody has.
FORM_VIEW = "/formgrader/gradebook"
# What a student has no use for, beside what Jupyter hides by itself.
HIDDEN_FILES = [
    "__pycache__", "*.pyc", ".DS_Store", "*~", "items", "source", "hub", "handed_out", "start.py",
    "opening", "nbgrader_config.py",
]  # fmt: skip
PAGE_TEMPLATES = CLONE / "lib" / "lengthwise" / "panels" / "pages"


def write_settings(folder: Path, class_folder: str | None = None) -> Path:
    """Write Jupyter's settings for a student, or for the instructor of a class.

    They lie in the environment and replace the person's own Jupyter settings, so that a password
    or an extension from elsewhere cannot get in the way.
    """
    settings = folder / ("jupyter-class" if class_folder else "jupyter-student")
    hidden: dict[str, bool] = {"@jupyterlab/apputils-extension:announcements": True}
    grader = ("formgrader", "validate_assignment", "assignment_list", "course_list")
    shown = ("formgrader",) if class_folder else ()
    if class_folder:
        hidden.update(
            {"@jupyter/nbgrader:assignment-list": True, "@jupyter/nbgrader:course-list": True}
        )
    else:
        hidden["@jupyter/nbgrader"] = True
    server: dict[str, object] = {
        "ServerApp": {
            "jpserver_extensions": {
                "nbgrader.server_extensions." + name: name in shown for name in grader
            }
        }
    }
    if not class_folder:
        server["ContentsManager"] = {"hide_globs": HIDDEN_FILES}
    (settings / "labconfig").mkdir(parents=True, exist_ok=True)
    write_json(settings / "labconfig" / "page_config.json", {"disabledExtensions": hidden})
    write_json(settings / "jupyter_server_config.json", server)
    write_json(settings / "voila.json", {"VoilaConfiguration": {"template": "lengthwise"}})
    return settings


def is_root() -> bool:
    """Tell whether this is the administrator of a Unix machine."""
    return hasattr(os, "geteuid") and os.geteuid() == 0


def jupyter_command(
    folder: Path, port: int, root_dir: Path, landing: str = START_PAGE, as_root: bool | None = None
) -> list[str]:
    """Return the command that serves a folder on this machine only."""
    command = [
        str(python_of(folder)), "-m", "jupyterlab", "--no-browser",
        "--ServerApp.ip=127.0.0.1",
        f"--ServerApp.port={port}",
        "--ServerApp.port_retries=0",
        f"--ServerApp.root_dir={root_dir}",
        f"--LabApp.default_url={landing}",
        "--LabApp.news_url=None",
        "--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdate",
        "--LabApp.extension_manager=readonly",
        # A page takes its kernel along when it is closed; what is left behind all the same, 150 MB
        # each, goes after twenty minutes alone. One that is looked at stays, however long.
        "--MappingKernelManager.cull_idle_timeout=1200",
        "--MappingKernelManager.cull_interval=60",
    ]  # fmt: skip
    if not WINDOWS:
        # A login shell would put the system's folders before the environment's.
        shell = os.environ.get("SHELL") or "/bin/sh"
        command.append("--ServerApp.terminado_settings={!r}".format({"shell_command": [shell]}))
    if is_root() if as_root is None else as_root:
        command.append("--allow-root")
    return command


def workshop_command(folder: Path, port: int, host: str, most_each: int, course: Path) -> list[str]:
    """Return the command that serves the pages of a workshop."""
    return [
        str(python_of(folder)), "-m", "lengthwise.panels.workshop_server",
        f"--course={course}",
        f"--address={host}",
        f"--port={port}",
        f"--most-each={most_each}",
    ]  # fmt: skip


def variables(folder: Path, token: str, class_folder: str | None = None) -> dict[str, str]:
    """Return the environment variables of a server: our settings, our pages, its token."""
    environ = clean_environ(folder)
    environ["JUPYTER_CONFIG_DIR"] = str(write_settings(folder, class_folder))
    environ["JUPYTER_PATH"] = str(PAGE_TEMPLATES)
    environ["JUPYTER_TOKEN"] = token
    return environ


def start_apart(
    command: Sequence[str],
    environ: Mapping[str, str],
    stdout: IO[str] | int,
    stderr: IO[str] | int,
    cwd: Path | None = None,
) -> "subprocess.Popen[bytes]":
    """Start a server that does not hear Ctrl-C: this program does, and stops it in good order."""
    return subprocess.Popen(
        command, env=environ, cwd=cwd, stdin=subprocess.DEVNULL, stdout=stdout, stderr=stderr,
        start_new_session=not WINDOWS,
        creationflags=getattr(subprocess, "CREATE_NEW_PROCESS_GROUP", 0),
    )  # fmt: skip


@dataclass(frozen=True)
class Server:
    """A running server: where it is, and how to stop it.

    Attributes
    ----------
    address : what a browser opens; it holds the token.
    status_path : what it answers once it is ready.
    shutdown_path : what ends it; None where no address does, and it is ended as a process.
    """

    process: "subprocess.Popen[bytes]"
    host: str
    port: int
    token: str
    address: str
    log: Path
    status_path: str
    shutdown_path: str | None

    def answers(self) -> bool:
        """Tell whether the server answers."""
        return ask(self.port, self.token, self.status_path, host=self.host) == 200

    def wait_until_it_answers(self, seconds: float = 120) -> None:
        """Return when the server answers; raise CannotStartError when it ends or never does."""
        end = time.monotonic() + seconds
        while time.monotonic() < end and self.process.poll() is None:
            if self.answers():
                return
            time.sleep(0.2)
        raise CannotStartError(
            "Jupyter did not start. Close other windows of it and start again; if it fails "
            "again, this is why:\n" + self.last_words()
        )

    def last_words(self) -> str:
        """Return the last lines of what the server wrote down."""
        lines = self.log.read_text(encoding="utf-8", errors="replace").splitlines()
        return "\n".join(lines[-8:])

    def stop(self) -> int:
        """Stop the server and its kernels, gently first."""
        if self.process.poll() is None:
            self._ask_to_stop()
        for harder in (self.process.terminate, self.process.kill):
            try:
                return self.process.wait(timeout=10)
            except subprocess.TimeoutExpired:
                harder()
        return self.process.wait()

    def _ask_to_stop(self) -> None:
        path = self.shutdown_path
        if path is None or ask(self.port, self.token, path, "POST", self.host) is None:
            self.process.terminate()


def start_course(
    folder: Path,
    port: int,
    root_dir: Path,
    landing: str = START_PAGE,
    class_folder: str | None = None,
) -> Server:
    """Start the server of the notebooks, or of a class for its instructor."""
    token = secrets.token_hex(24)
    log = folder / f"jupyter-{port}.log"
    with open(log, "w", encoding="utf-8") as written:
        command = jupyter_command(folder, port, root_dir, landing)
        environ = variables(folder, token, class_folder)
        process = start_apart(command, environ, written, subprocess.STDOUT, root_dir)
    address = f"http://{THIS_COMPUTER}:{port}{landing}?token={token}"
    return Server(process, THIS_COMPUTER, port, token, address, log, "/api/status", "/api/shutdown")


def start_workshop(
    folder: Path,
    port: int,
    host: str = THIS_COMPUTER,
    most_each: int = 1,
    course: Path = CLONE / "course",
) -> Server:
    """Start the server of a workshop's pages: no notebooks, no files, nothing to change."""
    # Short, because people type it on their phones; without letters that look alike.
    token = "".join(secrets.choice(WORD_LETTERS) for _ in range(WORD_LENGTH))
    log = folder / f"workshop-{port}.log"
    with open(log, "w", encoding="utf-8") as written:
        # What it says to the person comes to this window, what it writes down to the log.
        command = workshop_command(folder, port, host, most_each, course)
        process = start_apart(command, variables(folder, token), 2, written)
    address = f"http://{host}:{port}/?token={token}"
    return Server(process, host, port, token, address, log, "/login", None)
