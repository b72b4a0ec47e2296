"""The environment of the course: made at the first start, brought up to date when it is due."""

import contextlib
import hashlib
import importlib.util
import json
import os
import shutil
import subprocess
import sys
from collections.abc import Collection, Iterator, Mapping
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Literal, TextIO

from opening.telling import CannotStartError, explain_install, say

WINDOWS = os.name == "nt"
CLONE = Path(__file__).resolve().parents[2]
SPACE_NEEDED_BYTES = 2 * 10**9
STAMP = "lengthwise-stamp.json"
State = Literal["ready", "update", "rebuild"]


@dataclass(frozen=True)
class Stamp:
    """What the last complete installation wrote: for which files and folder, with which extras."""

    fingerprint: str = ""
    clone: str = ""
    extras: tuple[str, ...] = ()


def environment_folder(
    clone: Path = CLONE, windows: bool = WINDOWS, environ: Mapping[str, str] = os.environ
) -> Path:
    """Return where the environment lies: in the clone, except on Windows, whose paths are short."""
    if not windows:
        return clone / ".venv"
    base = environ.get("LOCALAPPDATA") or str(Path.home() / "AppData" / "Local")
    tag = hashlib.sha256(str(clone).lower().encode("utf-8")).hexdigest()[:8]
    return Path(base) / "Lengthwise" / tag


def programs_folder(folder: Path) -> Path:
    """Return the folder of the environment's programs."""
    return folder / ("Scripts" if WINDOWS else "bin")


def python_of(folder: Path) -> Path:
    """Return the environment's Python."""
    return programs_folder(folder) / ("python.exe" if WINDOWS else "python")


def fingerprint(clone: Path = CLONE) -> str:
    """Return a digest of everything that decides what has to be installed, and where."""
    digest = hashlib.sha256(str(clone).encode("utf-8"))
    for name in ("requirements.txt", "lib/pyproject.toml"):
        digest.update((clone / name).read_bytes())
    return digest.hexdigest()


def read_stamp(folder: Path) -> Stamp:
    """Return what the last complete installation wrote, or an empty record."""
    try:
        stamp = json.loads((folder / STAMP).read_text(encoding="utf-8"))
        extras = tuple(sorted(stamp["extras"]))
        return Stamp(str(stamp["fingerprint"]), str(stamp["clone"]), extras)
    except (OSError, ValueError, KeyError, TypeError):
        return Stamp()


def unfinished_mark(folder: Path) -> Path:
    """Return the file that lies beside an environment while it is being made."""
    return Path(str(folder) + ".unfinished")


def state_of(folder: Path, extras: Collection[str], clone: Path = CLONE) -> State:
    """Return "ready", "update" or "rebuild" for the environment in a folder."""
    stamp = read_stamp(folder)
    moved = stamp.clone not in ("", str(clone))
    if unfinished_mark(folder).exists() or not python_of(folder).exists() or moved:
        return "rebuild"
    if stamp.fingerprint == fingerprint(clone) and set(extras) <= set(stamp.extras):
        return "ready"
    return "update"


@contextlib.contextmanager
def only_one_at_a_time(folder: Path) -> Iterator[None]:
    """Hold a lock, so that two starts do not build the same environment at once."""
    path = Path(str(folder) + ".lock")
    path.parent.mkdir(parents=True, exist_ok=True)
    with open(path, "a", encoding="utf-8") as lock:
        if not take(lock):
            raise CannotStartError(
                "Another window is preparing Lengthwise just now. Wait until it is done, then type "
                "the same command again."
            )
        yield


def take(lock: TextIO) -> bool:
    """Lock an open file until it is closed; tell whether that worked."""
    try:
        if sys.platform == "win32":
            import msvcrt

            msvcrt.locking(lock.fileno(), msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True


def what_is_missing(folder: Path) -> str | None:
    """Say what the machine lacks to make an environment, or return None."""
    if importlib.util.find_spec("venv") is None or importlib.util.find_spec("ensurepip") is None:
        return (
            "This Python cannot make an environment: its venv part is missing.\n"
            "On Debian and Ubuntu type:  sudo apt install python{}.{}-venv\n"
            "Elsewhere install Python from https://www.python.org/downloads/. "
            "Then start again.".format(*sys.version_info[:2])
        )
    parent = Path(folder).parent
    parent.mkdir(parents=True, exist_ok=True)
    if not os.access(parent, os.W_OK):
        return (
            f"The folder {parent} cannot be written to. Move the course to a folder of your own,\n"
            "such as your home folder, and start again."
        )
    free = shutil.disk_usage(parent).free
    if free < SPACE_NEEDED_BYTES:
        return (
            f"The disk of {parent} has {free / 1e9:.1f} GB free, and about "
            f"{SPACE_NEEDED_BYTES / 1e9:.0f} GB are needed.\nMake room and start again."
        )
    return None


def run_quietly(command: list[str], environ: Mapping[str, str]) -> str:
    """Run a command and return its output; a terminal sees a dot for every few lines."""
    process = subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, stdin=subprocess.DEVNULL,
        env=environ, encoding="utf-8", errors="replace",
    )  # fmt: skip
    assert process.stdout is not None
    lines = []
    try:
        for line in process.stdout:
            lines.append(line)
            if len(lines) % 10 == 0 and sys.stderr.isatty():
                sys.stderr.write(".")
                sys.stderr.flush()
    except BaseException:
        process.terminate()
        process.wait()
        raise
    if sys.stderr.isatty():
        sys.stderr.write("\n")
    if process.wait() != 0:
        raise CannotStartError(explain_install("".join(lines)))
    return "".join(lines)


def clean_environ(folder: Path, environ: Mapping[str, str] = os.environ) -> dict[str, str]:
    """Return the variables for programs of the environment: its folder first on the path."""
    result = dict(environ)
    for name in ("PYTHONHOME", "PYTHONPATH", "JUPYTER_PATH", "JUPYTER_CONFIG_PATH"):
        result.pop(name, None)
    result["PATH"] = str(programs_folder(folder)) + os.pathsep + result.get("PATH", "")
    result["VIRTUAL_ENV"] = str(folder)
    result["PYTHONNOUSERSITE"] = "1"
    result["PYTHONUTF8"] = "1"
    result["JUPYTER_PREFER_ENV_PATH"] = "1"
    return result


def prepare(extras: Collection[str], clone: Path = CLONE, folder: Path | None = None) -> Path:
    """Make or update the environment if it needs it, and return its folder.

    The stamp is written last and a mark lies beside the environment until then, so whatever was
    interrupted is made anew at the next start.
    """
    folder = environment_folder(clone) if folder is None else folder
    if state_of(folder, extras, clone) == "ready":
        return folder
    with only_one_at_a_time(folder):
        state = state_of(folder, extras, clone)
        if state == "ready":
            return folder
        problem = what_is_missing(folder)
        if problem:
            raise CannotStartError(problem)
        wanted = sorted(set(extras) | set(read_stamp(folder).extras))
        say("Preparing Lengthwise. This is done once and takes a few minutes.")
        unfinished_mark(folder).touch()
        environ = clean_environ(folder)
        if state == "rebuild":
            shutil.rmtree(folder, ignore_errors=True)
            run_quietly([sys.executable, "-m", "venv", str(folder)], environ)
        (folder / STAMP).unlink(missing_ok=True)
        run_quietly(
            [
                str(python_of(folder)), "-m", "pip", "install",
                "--disable-pip-version-check", "--no-input", "--retries", "2",
                "--only-binary", ":all:", "--progress-bar", "off",
                "-c", str(clone / "requirements.txt"),
                "-e", "{}[{}]".format(clone / "lib", ",".join(wanted)),
            ],
            environ,
        )  # fmt: skip
        stamp = Stamp(fingerprint(clone), str(clone), tuple(wanted))
        write_json(folder / STAMP, asdict(stamp))
        unfinished_mark(folder).unlink()
        say("Ready.")
    return folder


def write_json(path: Path, value: object) -> None:
    """Write a file whole or not at all: a server that is starting may be reading it."""
    draft = path.with_name(f"{path.name}.{os.getpid()}")
    draft.write_text(json.dumps(value), encoding="utf-8")
    os.replace(draft, path)
