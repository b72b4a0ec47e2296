"""What hub.toml says, checked, and what follows from it: who may open what, and the exchange.

Every error names the field, what came, what is allowed, and how to mend it.
"""

import grp
import os
import pwd
import stat
import tomllib
from dataclasses import dataclass
from pathlib import Path

from lengthwise.classroom.class_folder import checked_name, open_class
from lengthwise.classroom.hub_login import students_by_login

VARIABLE = "LENGTHWISE_HUB"
PLACES = (Path(__file__).with_name("hub.toml"), Path("/etc/lengthwise/hub.toml"))
FIELDS = {"address", "data", "exchange", "authenticator", "spawner", "limits", "classes"}
GATE = 0o2770
"""A class folder: its graders may do everything, what they make stays theirs, nobody else may."""


class SettingsError(Exception):
    """A sentence for the administrator."""


@dataclass(frozen=True)
class Taught:
    """A class on the hub: its folder, the Unix groups of its graders and of its students."""

    name: str
    folder: Path
    graders: str
    students: str
    password_file: Path | None


@dataclass(frozen=True)
class Limits:
    """What one program of a student may take, and when what is idle goes."""

    memory_mb: int = 1500
    processes: int = 300
    servers: int = 200
    idle_minutes: int = 60
    idle_page_minutes: int = 20


@dataclass(frozen=True)
class Settings:
    """Everything that ``hub.toml`` says."""

    address: str
    data: Path
    exchange: Path
    authenticator: str
    spawner: str
    limits: Limits
    classes: dict[str, Taught]


def fault(field: str, came: object, allowed: str, mend: str) -> SettingsError:
    """Say what is wrong with a field."""
    return SettingsError(f"Field {field}: got {came!r}; allowed is {allowed}; {mend}.")


def settings_path(environ=os.environ) -> Path:
    """Return the file that the variable names, or the first that is in one of the usual places."""
    named = [Path(environ[VARIABLE])] if environ.get(VARIABLE) else list(PLACES)
    for path in named:
        if path.is_file():
            return path
    raise fault(
        VARIABLE, ", ".join(map(str, named)), "the path of a file like hub.example.toml",
        "copy course/hub/hub.example.toml there and fill it in",
    )  # fmt: skip


def read_settings(path: Path) -> Settings:
    """Read and check ``hub.toml``; what it says of folders and groups is looked at as well."""
    try:
        told = tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        raise fault(str(path), str(error), "a TOML file", "mend the line that is named") from None
    _only(
        told, "", {"address", "data", "exchange", "authenticator", "spawner", "limits", "classes"}
    )
    spawner = told.get("spawner", "local")
    if spawner not in ("local", "systemd"):
        raise fault("spawner", spawner, "local or systemd", "write one of the two")
    classes = told.get("classes")
    if not isinstance(classes, dict) or not classes:
        raise fault("classes", classes, "one table a class", "add a table [classes.NAME]")
    return Settings(
        address=_text(told, "address", "http://127.0.0.1:8000"),
        data=_folder(told, "data"),
        exchange=_folder(told, "exchange"),
        authenticator=_text(told, "authenticator", "pam"),
        spawner=spawner,
        limits=_limits(told.get("limits", {})),
        classes={name: _taught(name, one) for name, one in classes.items()},
    )


def _only(told: dict, where: str, known: set[str]) -> None:
    for name in told:
        if name not in known:
            raise fault(where + name, told[name], ", ".join(sorted(known)), "take it out")


def _text(told: dict, name: str, default: str) -> str:
    value = told.get(name, default)
    if not isinstance(value, str) or not value:
        raise fault(name, value, f"a text such as {default}", "put it between quotes")
    return value


def _folder(told: dict, name: str) -> Path:
    value = told.get(name)
    if not isinstance(value, str) or not Path(value).is_absolute() or not Path(value).is_dir():
        raise fault(name, value, "a folder that exists, from the top", "make it, or mend its name")
    return Path(value)


def _limits(told: dict) -> Limits:
    lowest = {"memory_mb": 500, "processes": 50, "servers": 1, "idle_minutes": 1,
              "idle_page_minutes": 1}  # fmt: skip
    _only(told, "limits.", set(lowest))
    for name, value in told.items():
        if type(value) is not int or value < lowest[name]:
            raise fault(
                f"limits.{name}", value, f"a whole number from {lowest[name]}", "mend the number"
            )
    return Limits(**told)


def _taught(name: str, told: dict) -> Taught:
    where = f"classes.{name}."
    _only(told, where, {"folder", "graders", "students", "password_file"})
    folder = Path(str(told.get("folder", "")))
    if not (folder / "class.toml").is_file() or not folder.is_absolute():
        raise fault(
            where + "folder", str(folder), "the folder of a class, from the top",
            "make one with: lengthwise new-class",
        )  # fmt: skip
    if open_class(folder).name != name:
        raise fault(
            f"classes.{name}", name, f"the class's own name, {open_class(folder).name}",
            "rename the table",
        )  # fmt: skip
    checked_name("class name", name)
    for role in ("graders", "students"):
        _group(where + role, told.get(role))
    if told["graders"] == told["students"]:
        raise fault(
            where + "students", told["students"], "another group than the graders'",
            "make one with: groupadd NAME",
        )  # fmt: skip
    _check_gate(where + "folder", folder, told["graders"])
    students_by_login(folder)
    return Taught(
        name, folder, told["graders"], told["students"], _secret(where, told.get("password_file"))
    )


def _group(field: str, name: object) -> None:
    try:
        grp.getgrnam(str(name))
    except KeyError:
        raise fault(field, name, "a group of this system", f"make it: groupadd {name}") from None


def _secret(where: str, path: object) -> Path | None:
    if path is None:
        return None
    file = Path(str(path))
    if not file.is_file() or file.stat().st_mode & 0o077:
        raise fault(
            f"{where}password_file", path, "a file that its owner alone may read",
            f"write the password of the database into it; chmod 600 {path}",
        )  # fmt: skip
    return file


def _check_gate(field: str, folder: Path, graders: str) -> None:
    """Raise where anybody but the graders could get into the class, or a grader could not."""
    mend = (
        f"as root: chgrp -R {graders} {folder}; chmod -R g+rwX,o-rwx {folder}; "
        f"find {folder} -type d -exec chmod g+s {{}} +; chmod 600 {folder}/secret"
    )
    for path in (folder, *(one for one in sorted(folder.iterdir()) if one.is_dir())):
        status = path.stat()
        mode, group = stat.S_IMODE(status.st_mode), grp.getgrgid(status.st_gid).gr_name
        if mode != GATE or group != graders:
            raise fault(
                field, f"{path}, mode {mode:o}, group {group}", f"mode {GATE:o}, group {graders}",
                mend,
            )  # fmt: skip
    secret = folder / "secret"
    if secret.exists() and secret.stat().st_mode & 0o077:
        raise fault(field, f"{secret}, open to others", "mode 600", f"as root: chmod 600 {secret}")


def check_course(course: Path) -> None:
    """Raise where students could read what holds the keys of the questions."""
    for path in (course / "items", course.parent / ".git", course.parent / "instructor_guide"):
        if path.exists() and path.stat().st_mode & 0o007:
            raise fault(
                "course", f"{path}, open to every user", "open to root alone",
                f"as root: chmod o-rwx {path}",
            )  # fmt: skip


def ready_exchange(exchange: Path, taught: Taught) -> None:
    """Make a class's part of the exchange, or check the one that is there.

    What goes out can be read, what comes in can be put there and not be listed, and a page of
    feedback can be opened by whoever knows its name, which is as long as a password.
    """
    modes = {".": 0o2775, "outbound": 0o2775, "inbound": 0o3773, "feedback": 0o2771}
    gid = grp.getgrnam(taught.graders).gr_gid
    if exchange.stat().st_mode & 0o022:
        raise fault(
            "exchange", f"mode {stat.S_IMODE(exchange.stat().st_mode):o}",
            "a folder that root alone may write to",
            f"as root: chown root: {exchange}; chmod 755 {exchange}",
        )  # fmt: skip
    for name, mode in modes.items():
        path = exchange / taught.name / name
        if not path.exists():
            path.mkdir()
            os.chown(path, -1, gid)
            path.chmod(mode)
        status = path.stat()
        if stat.S_IMODE(status.st_mode) != mode or status.st_gid != gid:
            raise fault(
                "exchange", f"{path}, mode {stat.S_IMODE(status.st_mode):o}",
                f"mode {mode:o}, group {taught.graders}",
                f"as root: chgrp {taught.graders} {path}; chmod {mode:o} {path}",
            )  # fmt: skip


def desks_of(login: str, settings: Settings) -> dict[str, tuple[Taught, str]]:
    """What a user of the system may open: the words for it, the class, and as what."""
    try:
        user = pwd.getpwnam(login)
    except KeyError:
        return {}
    groups = {grp.getgrgid(gid).gr_name for gid in os.getgrouplist(login, user.pw_gid)}
    desks = {}
    for name, taught in settings.classes.items():
        if taught.graders in groups:
            desks[f"{name}: grade"] = (taught, "grader")
        elif taught.students in groups:
            desks[name] = (taught, "student")
    return desks
