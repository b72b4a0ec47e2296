"""What hub.toml says, checked, and what follows from it: who may open what.

Every error names the field, what came, what is allowed, and how to mend it. Run as root, it says
all that is amiss without starting the hub: python course/hub/hub_settings.py hub.toml
"""

import os
import pwd
import sys
import tomllib
from dataclasses import dataclass
from functools import partial
from importlib import metadata
from pathlib import Path

from hub_address import address as address_of
from hub_exchange import check_exchange, check_part
from hub_faults import SettingsError, all_of, as_table, fault, only
from hub_permissions import check_course, check_gate, check_own, group, group_name, secret
from lengthwise.classroom.class_folder import checked_name, open_class
from lengthwise.classroom.hub_login import students_by_login

VARIABLE = "LENGTHWISE_HUB"
PLACES = (Path(__file__).with_name("hub.toml"), Path("/etc/lengthwise/hub.toml"))
FIELDS = {"address", "data", "exchange", "authenticator", "spawner", "limits", "classes"}
ANY_NAME = {"DummyAuthenticator", "NullAuthenticator", "SharedPasswordAuthenticator"}
"""Authenticators that let anybody in under any name, where the log-in says whose the marks are."""
CLASS_FIELDS = {"folder", "graders", "students", "password_file"}


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
    classes = told.get("classes")
    if not isinstance(classes, dict) or not classes:
        raise fault("classes", classes, "one table a class", "add a table [classes.NAME]")
    _, address, data, exchange, authenticator, spawner, limits, *taught = all_of(
        partial(only, told, "", FIELDS),
        partial(address_of, told),
        partial(_data, told),
        partial(_folder, told, "exchange"),
        partial(_authenticator, told),
        partial(_spawner, told),
        partial(_limits, told.get("limits", {})),
        *(partial(_taught, name, one) for name, one in classes.items()),
    )
    return Settings(
        address,
        data,
        exchange,
        authenticator,
        spawner,
        limits,
        dict(zip(classes, taught, strict=True)),
    )


def _authenticator(told: dict) -> str:
    """A name that JupyterHub knows, or the class of an authenticator that is installed."""
    name = _text(told, "authenticator", "pam")
    found = authenticator_class(name)
    if found is None or ANY_NAME & {one.__name__ for one in found.__mro__}:
        known = sorted(one.name for one in _authenticators() if one.attr not in ANY_NAME)
        raise fault(
            "authenticator", name, f"{', '.join(known)}, or package.module.Class of one that is "
            "installed", "write one of them, or install the package that has it",
        )  # fmt: skip
    return name


def _authenticators() -> metadata.EntryPoints:
    return metadata.entry_points(group="jupyterhub.authenticators")


def authenticator_class(name: str) -> type | None:
    """What JupyterHub takes for this name, capitals or not; None where there is no such thing."""
    from jupyterhub.auth import Authenticator
    from traitlets.utils.importstring import import_item

    named = [one for one in _authenticators() if one.name.lower() == name.lower()]
    try:
        found = named[0].load() if named else import_item(name)
    except (ImportError, ValueError):
        return None
    return found if isinstance(found, type) and issubclass(found, Authenticator) else None


def groups_let_in(settings: Settings) -> set[str] | None:
    """The groups whose members alone may log in; None where others than the system know who may."""
    from jupyterhub.auth import PAMAuthenticator

    found = authenticator_class(settings.authenticator)
    if found is None or not issubclass(found, PAMAuthenticator):
        return None
    return {group for one in settings.classes.values() for group in (one.graders, one.students)}


def _spawner(told: dict) -> str:
    spawner = told.get("spawner", "local")
    if spawner not in ("local", "systemd"):
        raise fault("spawner", spawner, "local or systemd", "write one of the two")
    return spawner


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


def _data(told: dict) -> Path:
    folder = _folder(told, "data")
    check_own("data", folder)
    return folder


def _limits(table: object) -> Limits:
    told = as_table(table, "limits.")
    lowest = {"memory_mb": 500, "processes": 50, "servers": 1, "idle_minutes": 1,
              "idle_page_minutes": 1}  # fmt: skip
    all_of(
        partial(only, told, "limits.", set(lowest)),
        *(partial(_limit, name, told[name], least) for name, least in lowest.items()
          if name in told),
    )  # fmt: skip
    return Limits(**told)


def _limit(name: str, value: object, least: int) -> None:
    if type(value) is not int or value < least:
        raise fault(f"limits.{name}", value, f"a whole number from {least}", "mend the number")


def _taught(name: str, table: object) -> Taught:
    where = f"classes.{name}."
    told = as_table(table, where)
    _, folder, *_, password = all_of(
        partial(only, told, where, CLASS_FIELDS),
        partial(_class_folder, name, told),
        partial(group, where + "graders", told.get("graders")),
        partial(group, where + "students", told.get("students")),
        partial(_two_groups, where, told),
        partial(secret, where, told.get("password_file")),
    )
    check_gate(where + "folder", folder, told["graders"])
    students_by_login(folder)
    return Taught(name, folder, told["graders"], told["students"], password)


def _class_folder(name: str, told: dict) -> Path:
    where = f"classes.{name}"
    folder = Path(str(told.get("folder", "")))
    if not (folder / "class.toml").is_file() or not folder.is_absolute():
        raise fault(
            f"{where}.folder", str(folder), "the folder of a class, from the top",
            "make one with: lengthwise new-class",
        )  # fmt: skip
    own = open_class(folder).name
    if own != name:
        raise fault(where, name, f"the class's own name, {own}", "rename the table")
    checked_name("class name", name)
    return folder


def _two_groups(where: str, told: dict) -> None:
    if told.get("graders") is not None and told["graders"] == told.get("students"):
        raise fault(
            where + "students", told.get("students"), "another group than the graders'",
            "make one with: groupadd NAME",
        )  # fmt: skip


def desks_of(login: str, settings: Settings) -> dict[str, tuple[Taught, str]]:
    """What a user of the system may open: the words for it, the class, and as what."""
    try:
        user = pwd.getpwnam(login)
    except KeyError:
        return {}
    groups = {group_name(gid) for gid in os.getgrouplist(login, user.pw_gid)}
    desks = {}
    for name, taught in settings.classes.items():
        if taught.graders in groups:
            desks[f"{name}: grade"] = (taught, "grader")
        elif taught.students in groups:
            desks[name] = (taught, "student")
    return desks


def examine(path: Path, course: Path) -> None:
    """Raise all that is amiss with settings, the exchange and what must be closed."""
    all_of(partial(_settings_and_exchange, path), partial(check_course, course))


def _settings_and_exchange(path: Path) -> None:
    settings = read_settings(path)
    all_of(
        partial(check_exchange, settings.exchange),
        *(
            partial(check_part, settings.exchange / name, one.graders)
            for name, one in settings.classes.items()
        ),
    )


if __name__ == "__main__":
    try:
        told = Path(sys.argv[1]) if len(sys.argv) > 1 else settings_path()
        examine(told, Path(__file__).resolve().parents[1])
    except SettingsError as problem:
        sys.exit(str(problem))
    sys.stdout.write(f"{told} is in order.\n")
