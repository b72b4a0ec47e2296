"""What a real hub needs and a test has to make: system users, and an environment they may read.

The Python of a test may lie under a folder that its owner alone may enter, as /root is. Nobody's
permissions are changed for a test: what other users cannot reach is laid out once more, by hard
links where they can be made and by copies elsewhere, in a folder that everybody may read.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import sysconfig
from collections.abc import Collection, Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path

import psutil

PYTHON = f"python{sys.version_info.major}.{sys.version_info.minor}"
NOBODY = 65534
# What no user of a hub needs, and takes long to lay out.
NOT_NEEDED = {"test", "idlelib", "tkinter", "playwright", "sklearn", "mypy", "emcee", "xraydb"}


@contextmanager
def with_no_more_rights_than_anybody() -> Iterator[None]:
    """Root opens what is shut: inside the block it is as powerless as any user who owns nothing."""
    powerful = os.geteuid() == 0
    if powerful:
        os.seteuid(NOBODY)
    try:
        yield
    finally:
        if powerful:
            os.seteuid(0)


def all_may_reach(path: Path) -> bool:
    """Whether a user of the system who owns nothing here may enter this folder and list it."""
    path = path.resolve()
    enters = all(one.stat().st_mode & 0o001 for one in path.parents)
    return enters and bool(path.stat().st_mode & 0o004)


def lay_out(source: Path, target: Path, skip: Collection[str] = NOT_NEEDED) -> None:
    """A folder at another place: a link where all may reach it, else file by file."""
    if all_may_reach(source):
        target.symlink_to(source)
        return
    target.mkdir()
    for one in os.scandir(source):
        if one.name in skip:
            continue
        if one.is_symlink():
            os.symlink(os.readlink(one.path), target / one.name)
        elif one.is_dir():
            lay_out(Path(one.path), target / one.name, skip)
        else:
            link_or_copy(Path(one.path), target / one.name)


def link_or_copy(source: Path, target: Path) -> None:
    """One file at another place."""
    try:
        os.link(source, target)
    except OSError:
        shutil.copy2(source, target)


def installed_for_all(folder: Path, checkout: Path) -> Path:
    """An installation of this environment and of the course in ``folder``; returns its Python.

    As instructor_guide/hub.md asks for it: everybody may read it, but not the keys of the items.
    """
    base = Path(sys.base_prefix)
    if not all_may_reach(base / "lib" / PYTHON):
        base = folder / "base"
        (base / "lib").mkdir(parents=True)
        (base / "bin").mkdir()
        link_or_copy(Path(sys.base_prefix) / "bin" / PYTHON, base / "bin" / PYTHON)
        library = Path(sysconfig.get_path("stdlib"))
        lay_out(library, base / "lib" / PYTHON, {*NOT_NEEDED, "site-packages"})
        for shared in library.parent.glob("libpython*.so*"):
            link_or_copy(shared, base / "lib" / shared.name)
    for name in ("lib", "datasets", "course"):
        shutil.copytree(
            checkout / name, folder / "lengthwise" / name,
            ignore=shutil.ignore_patterns("a[0-9]*_*", ".*", "__pycache__", "hub.toml")
            if name == "course" else shutil.ignore_patterns(".*"),
        )  # fmt: skip
    for name in ("source", "items"):
        shutil.copytree(
            checkout / "course" / name, folder / "lengthwise" / "course" / name, dirs_exist_ok=True
        )
    (folder / "lengthwise" / "course" / "items").chmod(0o700)
    return environment(folder / "env", base, folder / "lengthwise" / "lib")


def environment(target: Path, base: Path, library: Path) -> Path:
    """A virtual environment with the packages of this one, and the library from ``library``."""
    packages = Path(sysconfig.get_path("purelib"))
    own = target / "lib" / PYTHON / "site-packages"
    own.mkdir(parents=True)
    for one in packages.iterdir():
        if one.name in NOT_NEEDED or one.name == "__pycache__":
            continue
        if one.is_dir():
            lay_out(one, own / one.name)
        elif "editable" not in one.name:
            link_or_copy(one, own / one.name)
    (own / "lengthwise.pth").write_text(f"{library}\n", encoding="utf-8")
    lay_out(Path(sys.prefix) / "share", target / "share")
    lay_out(Path(sys.prefix) / "etc", target / "etc")
    (target / "bin").mkdir()
    (target / "pyvenv.cfg").write_text(f"home = {base / 'bin'}\n", encoding="utf-8")
    python = target / "bin" / "python"
    python.symlink_to(base / "bin" / PYTHON)
    for name in ("alembic", "lengthwise", "jupyterhub", "jupyter", "nbgrader"):
        text = (Path(sys.prefix) / "bin" / name).read_text(encoding="utf-8")
        script = target / "bin" / name
        script.write_text(f"#!{python}\n" + text.partition("\n")[2], encoding="utf-8")
        script.chmod(0o755)
    return python


@contextmanager
def system_users(
    members: Mapping[str, str], homes: Path, passwords: Mapping[str, str]
) -> Iterator[None]:
    """Make real users of the system (name to group), and remove them and their files afterwards."""
    groups = sorted(set(members.values()))
    try:
        for group in groups:
            _as_root("groupadd", group)
        for name, group in members.items():
            home = str(homes / name)
            _as_root(
                *("useradd", "--create-home", "--home-dir", home, "--key", "HOME_MODE=0700"),
                *("--shell", "/bin/bash", "--groups", group, name),
            )
        lines = "".join(f"{name}:{passwords[name]}\n" for name in members)
        subprocess.run(["chpasswd"], input=lines, text=True, check=True)
        yield
    finally:
        for name in members:
            end_programs_of(name)
            subprocess.run(["userdel", "--remove", name], capture_output=True, check=False)
        for group in groups:
            subprocess.run(["groupdel", group], capture_output=True, check=False)


def _as_root(*command: str) -> None:
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    if done.returncode:
        raise RuntimeError(f"{' '.join(command)}: {done.stderr}")


def programs_of(name: str) -> list[psutil.Process]:
    """The running programs of a user."""
    found = []
    for process in psutil.process_iter():
        with suppress(psutil.Error):
            if process.username() == name:
                found.append(process)
    return found


def end_programs_of(name: str) -> None:
    """End what a user who was made here still runs, one by one."""
    left = programs_of(name)
    for process in left:
        with suppress(psutil.Error):
            process.kill()
    psutil.wait_procs(left, timeout=10)
