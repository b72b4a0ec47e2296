"""What of a hub can be told without starting one: its settings, its plan, whose a submission is."""

from __future__ import annotations

import getpass
import grp
import json
import os
import re
import shlex
import subprocess
import sys
import tempfile
import time
import tomllib
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
import yaml
from all_users import with_no_more_rights_than_anybody
from lengthwise.classroom import hub_desk
from lengthwise.classroom.class_folder import ClassFolder
from lengthwise.classroom.collect import TIMESTAMP
from lengthwise.classroom.errors import ClassroomError
from lengthwise.classroom.hand_in import make_file
from lengthwise.classroom.hub_login import LOGINS, VARIABLE, Login, students_by_login
from lengthwise.classroom.inbound import collect_inbound, handed_in_by
from lengthwise.classroom.roster import Student
from lengthwise.classroom.student_work import read_work
from lengthwise.classroom.take_in import take_in_waiting
from lengthwise.marking.practice_log import PracticeLog
from lengthwise.marking.practice_record import PracticeRecord
from lengthwise.panels.hub_pages import HANDS_IN, ON_A_HUB, hub_start, write_pages
from lengthwise.panels.lessons_done import KEPT
from lengthwise.panels.practice_kept_panel import kept_panel

ROOT = Path(__file__).resolve().parents[2]
HUB = ROOT / "course" / "hub"
sys.path.insert(0, str(HUB))

import hub_exchange  # noqa: E402
import hub_settings  # noqa: E402
import proxy  # noqa: E402

NAME = "a6_reconcile"


def guide() -> str:
    return (ROOT / "instructor_guide" / "hub.md").read_text(encoding="utf-8")


# ------------------------------------------------------------------ settings


def own_group() -> str:
    return grp.getgrgid(os.getgid()).gr_name


def other_group() -> str:
    """A group of this system in which whoever runs the tests is not."""
    mine = {os.getgid(), *os.getgroups()}
    return next(one.gr_name for one in grp.getgrall() if one.gr_gid not in mine)


@pytest.fixture
def written(tmp_path: Path, small_class: ClassFolder) -> dict[str, str]:
    """Fields of a hub.toml that is right, as they are written."""
    import shutil

    folder = tmp_path / "small"
    shutil.copytree(small_class.root, folder)
    for path in (folder, *(one for one in folder.iterdir() if one.is_dir())):
        path.chmod(0o2770)
    for name, mode in (("data", 0o700), ("exchange", 0o755)):
        (tmp_path / name).mkdir(mode=mode)
    return {
        "data": f'"{tmp_path}/data"', "exchange": f'"{tmp_path}/exchange"',
        "limits.memory_mb": "900",
        "classes.small.folder": f'"{folder}"', "classes.small.graders": f'"{own_group()}"',
        "classes.small.students": f'"{other_group()}"',
    }  # fmt: skip


def read(fields: dict[str, str], tmp_path: Path) -> hub_settings.Settings:
    path = tmp_path / "hub.toml"
    path.write_text("".join(f"{name} = {value}\n" for name, value in fields.items()), "utf-8")
    return hub_settings.read_settings(path)


def test_right_settings_are_read_and_the_exchange_is_made_with_its_permissions(
    written: dict[str, str], tmp_path: Path
) -> None:
    settings = read(written, tmp_path)
    assert settings.limits.memory_mb == 900
    taught = settings.classes["small"]
    for _ in range(2):  # the second time what is there is looked at
        hub_exchange.ready_part(settings.exchange, taught.name, taught.graders)
    modes = {one.name: oct(one.stat().st_mode & 0o7777)
             for one in (settings.exchange / "small").iterdir()}  # fmt: skip
    assert modes == {"outbound": "0o2775", "inbound": "0o3773", "feedback": "0o2771"}
    (settings.exchange / "small" / "inbound").chmod(0o777)
    with pytest.raises(hub_settings.SettingsError, match=r"exchange: got .*mode 777.*chmod 3773"):
        hub_exchange.ready_part(settings.exchange, taught.name, taught.graders)


@pytest.mark.parametrize(
    ("field", "value", "said"),
    [
        ("data", '"nowhere"', "Field data: got 'nowhere'; allowed is a folder that exists"),
        ("spawner", '"simple"', "Field spawner: got 'simple'; allowed is local or systemd"),
        (
            "limits.memory_mb",
            "10",
            "limits.memory_mb: got 10; allowed is a whole number from 500",
        ),
        ("limits.memory_mb", "true", "Field limits.memory_mb: got True"),
        ("colour", '"red"', "Field colour: got 'red'; allowed is address"),
        ("limits.proceses", "300", "processes, servers; write limits.processes."),
        ("classes.small.grader", '"a"', "write classes.small.graders."),
        ("classes.other", "7", "Field classes.other: got 7; allowed is a table"),
        (
            "authenticator",
            '"pamm"',
            "Field authenticator: got 'pamm'; allowed is default, pam",
        ),
        ("authenticator", '"dummy"', "Field authenticator: got 'dummy'; allowed is default, pam"),
        ("authenticator", '"no_such_package.Login"', "got 'no_such_package.Login'"),
        ("authenticator", '"shared-password"', "got 'shared-password'; allowed is default, pam, "),
        ("authenticator", '"pathlib.Path"', "Field authenticator: got 'pathlib.Path'"),
        ("classes.small.folder", '"/nowhere"', "Field classes.small.folder: got '/nowhere'"),
        ("classes.small.graders", '"nobody-has-it"', "groupadd nobody-has-it"),
        *(
            ("address", f'"{wrong}"', f"Field address: got '{wrong}'; allowed is http, this comp")
            for wrong in (
                "http://0.0.0.0:8000",
                "http://[::]:8000",
                "http://:8000",
                "http://10.0.0.7:8000",
                "https://127.0.0.1:8000",
                "https://hub.example.org",
                "127.0.0.1:8000",
                "8000",
                "http://127.0.0.1",
                "http://127.0.0.1:99999",
                "http://127.0.0.1@10.0.0.7:8000",
            )
        ),
        ("address", "8000", "Field address: got 8000; allowed is http, this computer and a port"),
        (
            "classes.other.folder",
            "SAME",
            "classes.other: got 'other'; allowed is the class's own",
        ),
    ],
)
def test_a_wrong_field_is_named_with_what_came_and_how_to_mend_it(
    written: dict[str, str], tmp_path: Path, field: str, value: str, said: str
) -> None:
    folder = written["classes.small.folder"]
    with pytest.raises(hub_settings.SettingsError) as problem:
        read({**written, field: folder if value == "SAME" else value}, tmp_path)
    assert said in str(problem.value)


def test_every_fault_is_told_at_once_the_unknown_fields_first(
    written: dict[str, str], tmp_path: Path
) -> None:
    wrong = {"colour": '"red"', "data": '"nowhere"', "spawner": '"simple"',
             "limits.memory_mb": "10", "classes.small.grader": '"a"',
             "classes.small.students": '"nobody-has-it"'}  # fmt: skip
    with pytest.raises(hub_settings.SettingsError) as problem:
        read({**written, **wrong}, tmp_path)
    lines = str(problem.value).splitlines()
    assert [line.split(":")[0] for line in lines] == [f"Field {name}" for name in wrong]


def test_settings_can_be_tried_without_starting_the_hub(
    written: dict[str, str], tmp_path: Path
) -> None:
    read(written, tmp_path)
    settings, course = tmp_path / "hub.toml", tmp_path / "course"
    (course / "items").mkdir(parents=True, mode=0o750)
    hub_settings.examine(settings, course)
    (course / "items").chmod(0o755)
    settings.write_text(settings.read_text("utf-8") + 'colour = "red"\n', "utf-8")
    with pytest.raises(hub_settings.SettingsError, match=r"colour: got[\s\S]*course: got"):
        hub_settings.examine(settings, course)
    command = [sys.executable, HUB / "hub_settings.py", settings]
    done = subprocess.run(command, capture_output=True, text=True)
    assert (done.returncode, done.stdout) == (1, "")
    assert "Field colour: got 'red'" in done.stderr


@pytest.mark.parametrize("name", ["pam", "PAM", "default", "jupyterhub.auth.PAMAuthenticator"])
def test_however_the_systems_own_passwords_are_spelled_only_the_groups_of_classes_may_come_in(
    written: dict[str, str], tmp_path: Path, name: str
) -> None:
    settings = read({**written, "authenticator": f'"{name}"'}, tmp_path)
    assert settings.authenticator == name
    assert hub_settings.groups_let_in(settings) == {own_group(), other_group()}
    # Of another authenticator the school's own log-in says who may come in.
    other = replace(settings, authenticator="jupyterhub.auth.Authenticator")
    assert hub_settings.groups_let_in(other) is None


def test_a_group_without_a_name_is_told_by_its_number(
    written: dict[str, str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    settings = read(written, tmp_path)
    monkeypatch.setattr(os, "getgrouplist", lambda *_: [os.getgid(), 2_000_000_001])
    assert list(hub_settings.desks_of(getpass.getuser(), settings)) == ["small: grade"]

    def unnamed(gid: int) -> None:
        raise KeyError(f"getgrgid(): gid not found: {gid}")

    monkeypatch.setattr(grp, "getgrgid", unnamed)
    said = rf"mode 2770, group {os.getgid()}.; allowed"
    with pytest.raises(hub_settings.SettingsError, match=said):
        read(written, tmp_path)


def test_trying_the_settings_looks_at_the_part_of_every_class_and_makes_nothing(
    written: dict[str, str], tmp_path: Path
) -> None:
    settings, course = read(written, tmp_path), tmp_path / "course"
    hub_settings.examine(tmp_path / "hub.toml", course)
    assert list(settings.exchange.iterdir()) == []
    hub_exchange.ready_part(settings.exchange, "small", settings.classes["small"].graders)
    (settings.exchange / "small" / "inbound").chmod(0o777)
    with pytest.raises(hub_settings.SettingsError, match=r"exchange: got .*mode 777.*chmod 3773"):
        hub_settings.examine(tmp_path / "hub.toml", course)


@pytest.mark.parametrize("address", ["http://localhost:80", "http://[::1]:8000/hub/"])
def test_the_hub_listens_on_this_computer_however_it_is_called(
    written: dict[str, str], tmp_path: Path, address: str
) -> None:
    assert read({**written, "address": f'"{address}"'}, tmp_path).address == address


@pytest.mark.parametrize("name", ["data", "exchange", "the password"])
@pytest.mark.parametrize("wrong", ["mode", "owner"])
def test_what_is_roots_alone_is_refused_where_it_is_open_or_somebody_elses(
    written: dict[str, str],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    name: str,
    wrong: str,
) -> None:
    path, settings = tmp_path / name, tmp_path / "hub.toml"
    if name == "the password":
        path.write_text("secret", encoding="ascii")
        path.chmod(0o600)
        written["classes.small.password_file"] = f'"{path}"'
    read(written, tmp_path)
    hub_settings.examine(settings, tmp_path / "course")
    if wrong == "mode":
        path.chmod(0o777)
    elif os.geteuid() == 0:
        os.chown(path, 65534, -1)
    else:  # whose a file is, only root can change: here somebody else looks at it
        monkeypatch.setattr(os, "geteuid", lambda: 65534)
    mend = re.escape(f"as root: chown root: {shlex.quote(str(path))}; chmod ")
    with pytest.raises(hub_settings.SettingsError, match=f"{name}, mode .*, owner .*{mend}"):
        hub_settings.examine(settings, tmp_path / "course")


def test_students_and_graders_are_two_groups(written: dict[str, str], tmp_path: Path) -> None:
    written["classes.small.students"] = written["classes.small.graders"]
    with pytest.raises(hub_settings.SettingsError, match="another group than the graders'"):
        read(written, tmp_path)


@pytest.mark.parametrize("mode", [0o2775, 0o2771, 0o770, 0o2750])
def test_a_class_that_others_may_enter_or_graders_may_not_is_refused(
    written: dict[str, str], tmp_path: Path, mode: int
) -> None:
    (tmp_path / "small" / "answers").chmod(mode)
    with pytest.raises(
        hub_settings.SettingsError, match=rf"answers, mode {mode:o}.*chmod -R g\+rwX"
    ):
        read(written, tmp_path)


def test_what_somebody_may_open_is_told_by_the_groups_of_the_system(
    written: dict[str, str], tmp_path: Path
) -> None:
    me = getpass.getuser()
    taught = read(written, tmp_path).classes["small"]
    in_both = {
        "small": taught,
        "late": replace(taught, graders=other_group(), students=own_group()),
    }
    settings = replace(read(written, tmp_path), classes=in_both)
    desks = hub_settings.desks_of(me, settings)
    assert {words: role for words, (_, role) in desks.items()} == {
        "small: grade": "grader",
        "late": "student",
    }
    assert hub_settings.desks_of("nobody-is-called-so", settings) == {}


def test_a_secret_that_others_may_read_is_refused(written: dict[str, str], tmp_path: Path) -> None:
    (tmp_path / "small" / "secret").chmod(0o640)
    with pytest.raises(hub_settings.SettingsError, match="chmod 600"):
        read(written, tmp_path)


def test_keys_that_students_could_read_keep_the_hub_from_starting(tmp_path: Path) -> None:
    (tmp_path / "course" / "items").mkdir(parents=True, mode=0o755)
    with pytest.raises(hub_settings.SettingsError, match="chmod o-rwx"):
        hub_settings.check_course(tmp_path / "course")
    (tmp_path / "course" / "items").chmod(0o750)
    hub_settings.check_course(tmp_path / "course")
    closed = re.search(r"chmod -R o-rwx (\.git .*)", guide())
    assert closed is not None
    for name in closed[1].split():  # what the guide says to close is looked at
        path = tmp_path / name
        path.mkdir(exist_ok=True)
        path.chmod(0o755)
        with pytest.raises(hub_settings.SettingsError, match=f"{name}, open to every user"):
            hub_settings.check_course(tmp_path / "course")
        path.chmod(0o750)


def test_the_example_is_in_the_form_that_is_read_and_holds_the_defaults() -> None:
    told = tomllib.loads((HUB / "hub.example.toml").read_text(encoding="utf-8"))
    assert told.keys() <= hub_settings.FIELDS
    assert hub_settings.Limits(**told["limits"]) == hub_settings.Limits()


# ------------------------------------------------------------------ the proxy


@pytest.mark.parametrize("finds_them", [True, False])
def test_the_proxy_is_told_where_debian_keeps_its_modules_only_where_it_must(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, finds_them: bool
) -> None:
    program = tmp_path / proxy.PROGRAM
    wants = "true" if finds_them else f'test "$NODE_PATH" = {proxy.DEBIAN}'
    program.write_text(f"#!/bin/sh\n{wants}\n", encoding="ascii")
    program.chmod(0o755)
    monkeypatch.setenv("PATH", f"{tmp_path}{os.pathsep}{os.environ['PATH']}")
    environ = {"PATH": os.environ["PATH"]}
    proxy.find_node_modules(environ)
    assert environ.get("NODE_PATH") == (None if finds_them else proxy.DEBIAN)


def test_a_proxy_that_cannot_run_is_said_to_the_administrator(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    program = tmp_path / proxy.PROGRAM
    program.write_text("#!/bin/sh\nfalse\n", encoding="ascii")
    program.chmod(0o755)
    monkeypatch.setenv("PATH", f"{tmp_path}{os.pathsep}{os.environ['PATH']}")
    with pytest.raises(SystemExit, match="does not run, with NODE_PATH"):
        proxy.find_node_modules({"PATH": os.environ["PATH"]})


# ------------------------------------------------------------------ whose it is


def put_in(inbound: Path, name: str, text: str = "{}") -> None:
    folder = (
        inbound / f"{name}+{NAME}+2026-03-07 09:00:00.000000 UTC+x{len(list(inbound.iterdir()))}"
    )
    folder.mkdir()
    (folder / f"{NAME}.ipynb").write_text(text, encoding="utf-8")


def test_a_submission_belongs_to_the_owner_of_the_file(
    small_class: ClassFolder, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    login = getpass.getuser()
    monkeypatch.setattr(
        "lengthwise.classroom.inbound.students_by_login", lambda _: {login: "ada", "other": "ben"}
    )
    put_in(tmp_path, "other", "not mine")
    put_in(tmp_path, login, "older")
    put_in(tmp_path, login, "newer")
    (one,), (left,) = handed_in_by(tmp_path, NAME, small_class)
    assert (one.student, one.found.where, one.found.data) == ("ada", f"ada/{NAME}.ipynb", b"newer")
    assert left.reason == "it is called ben's, and the file belongs to ada"


@pytest.fixture
def open_place() -> Iterator[Path]:
    """A folder that every user may enter; pytest's own are their owner's alone."""
    with tempfile.TemporaryDirectory() as name:
        Path(name).chmod(0o755)
        yield Path(name)


def test_a_folder_that_is_shut_is_left_and_everybody_else_is_collected(open_place: Path) -> None:
    taught = ClassFolder(open_place / "class", "class", 0.5, (NAME,), "0")
    login, inbound = getpass.getuser(), open_place / "inbound"
    inbound.mkdir()
    put_in(inbound, "other\x1b[2J")
    put_in(inbound, login)
    (shut,) = inbound.glob("other*")
    shut.chmod(0o000)
    with with_no_more_rights_than_anybody():
        (one,), (left,) = handed_in_by(inbound, NAME, taught)
    shut.chmod(0o700)
    assert one.student == login
    assert left.where.startswith("other?[2J+")  # a name cannot move the cursor of a terminal
    assert left.reason == "it cannot be opened (Permission denied)"


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("s9,ada", "belongs to the login {}, which is not in logins.csv; add a row for it"),
        ("", "{} is not on the class list"),
    ],
)
def test_who_is_not_of_the_class_hands_in_for_nobody_whatever_id_is_typed(
    small_class: ClassFolder, tmp_path: Path, row: str, said: str
) -> None:
    taught, login = replace(small_class, root=tmp_path / "class"), getpass.getuser()
    taught.root.mkdir()
    if row:
        (taught.root / LOGINS).write_text(f"login,student\n{row}\n", encoding="utf-8")
    inbound = tmp_path / "inbound"
    inbound.mkdir()
    typed = {"cell_type": "code", "source": "student_id = 'ada'", "metadata": {}, "outputs": []}
    put_in(inbound, login, json.dumps({"cells": [typed], "metadata": {}, "nbformat": 4}))
    done = collect_inbound(inbound, taught, NAME, [Student("ada")])
    assert done.taken == ()
    assert said.format(login) in done.left[0].reason


def test_what_is_collected_has_the_time_of_handing_in_even_where_it_was_lost(
    small_class: ClassFolder, tmp_path: Path
) -> None:
    taught, login = replace(small_class, root=tmp_path / "class"), getpass.getuser()
    inbound = tmp_path / "inbound"
    inbound.mkdir(parents=True)
    source = {"cell_type": "code", "source": "a = 1", "metadata": {}, "outputs": []}
    put_in(inbound, login, json.dumps({"cells": [source], "metadata": {}, "nbformat": 4}))
    (file,) = inbound.glob("*/*.ipynb")
    stamp = taught.submission_folder(login, NAME) / TIMESTAMP
    for how in ("new", "unchanged"):
        (one,) = collect_inbound(inbound, taught, NAME, [Student(login)]).taken
        assert one.how == how
        at = datetime.strptime(stamp.read_text("ascii"), "%Y-%m-%d %H:%M:%S.%f %Z")
        assert at.replace(tzinfo=UTC).timestamp() == pytest.approx(file.stat().st_ctime, abs=1e-5)
        stamp.unlink()


def test_a_link_is_not_followed(small_class: ClassFolder, tmp_path: Path) -> None:
    put_in(tmp_path, getpass.getuser())
    (file,) = tmp_path.glob("*/*.ipynb")
    file.unlink()
    file.symlink_to(small_class.root / "secret")
    ((one,), _) = handed_in_by(tmp_path, NAME, small_class)
    assert one.found.refused == "it is a link, not a file"


@pytest.mark.parametrize("row", ["s1,", ",ada", "s1,ben", "s2,ada"])
def test_a_list_of_logins_names_each_once(tmp_path: Path, row: str) -> None:
    (tmp_path / LOGINS).write_text(f"login,student\ns1,ada\n{row}\n", encoding="utf-8")
    with pytest.raises(ClassroomError, match="row 3, fields login and student"):
        students_by_login(tmp_path)


@pytest.mark.filterwarnings("ignore::lengthwise.classroom.errors.ClassroomWarning")
def test_a_list_of_logins_is_read_however_a_spreadsheet_saved_it(tmp_path: Path) -> None:
    (tmp_path / LOGINS).write_text("Login;Student\ns1;ada\n\ns2;jörg\n", encoding="cp1252")
    assert students_by_login(tmp_path) == {"s1": "ada", "s2": "jörg"}
    (tmp_path / LOGINS).write_text("login,student\ns1,ada\n\n,ben\n", encoding="utf-8")
    with pytest.raises(ClassroomError, match="row 4, fields login and student"):
        students_by_login(tmp_path)


def test_on_a_hub_the_assignment_comes_by_itself_with_the_id_filled_in_and_ones_own_cases(
    small_class: ClassFolder, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    outbound = tmp_path / "exchange" / "small" / "outbound"
    outbound.mkdir(parents=True)
    (outbound / NAME).symlink_to(small_class.release_folder(NAME))
    login = Login("ada", "small", str(tmp_path / "exchange"))
    monkeypatch.setenv(VARIABLE, login.as_variable()[VARIABLE])
    course = tmp_path / "course"
    course.mkdir()
    (one,) = take_in_waiting(course)
    assert one.assignment == NAME
    work = read_work(course, NAME)
    assert work.typed == "ada"
    assert work.mine is not None
    told = json.loads((course / NAME / "cases.json").read_text(encoding="utf-8"))
    assert len(told["students"]) == 1
    assert take_in_waiting(course) == ()
    # Where the hub has no place to hand in, the file is made, for the way that the class has.
    sentences, file = make_file(NAME, course)
    assert file == Path("to_hand_in") / f"{NAME}_ada.ipynb"
    assert not any("handed in" in sentence for sentence in sentences)


def test_the_start_page_says_on_a_hub_what_is_so_there() -> None:
    page = json.loads((ROOT / "course" / "index.ipynb").read_text(encoding="utf-8"))
    for sentences, feedback in ((ON_A_HUB, 0), (ON_A_HUB | HANDS_IN, 1)):
        made = hub_start(page, sentences)
        texts = "\n".join("".join(cell["source"]) for cell in made["cells"])
        assert "this computer" not in texts
        assert "start.py" not in texts
        assert texts.count("feedback_list(fetch_pages())") == feedback
    assert "nothing is sent" not in texts
    with pytest.raises(ValueError, match="the start page has changed"):
        hub_start({"cells": page["cells"][2:]}, ON_A_HUB)


def test_what_is_not_reworded_on_a_hub_says_nothing_of_this_computer(tmp_path: Path) -> None:
    log = PracticeLog(tmp_path)
    told = [KEPT, kept_panel(PracticeRecord(log)).where.value.replace(str(log.path), "")]
    for page in (ROOT / "course").glob("[lp]*/*.ipynb"):
        cells = json.loads(page.read_text(encoding="utf-8"))["cells"]
        told += ["".join(cell["source"]) for cell in cells if cell["cell_type"] == "markdown"]
    assert len(told) > 50
    assert not [words for words in told if re.search("this computer|your computer", words)]


def test_pages_are_renewed_in_two_tabs_at_once_and_cannot_be_written_to(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    replace, begun = Path.replace, False

    def in_the_other_tab_too(draft: Path, target: Path) -> Path:
        nonlocal begun
        if not begun:
            begun = True
            write_pages(ROOT / "course", tmp_path, ON_A_HUB)
        return replace(draft, target)

    monkeypatch.setattr(Path, "replace", in_the_other_tab_too)
    write_pages(ROOT / "course", tmp_path, ON_A_HUB)
    pages = [path for path in tmp_path.rglob("*") if path.is_file()]
    assert {path.stat().st_mode & 0o777 for path in pages} == {0o400}
    assert tmp_path / "index.ipynb" in pages
    assert not any(path.suffix == ".making" for path in pages)


def test_feedback_says_the_time_of_handing_in_as_the_button_said_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("TZ", "Asia/Kolkata")
    time.tzset()
    try:
        assert hub_desk._here("2026-03-07 20:40:00.123456 UTC") == "2026-03-08 02:10"
    finally:
        monkeypatch.undo()
        time.tzset()


# ------------------------------------------------------------------ the plan


def table(first: str) -> list[list[str]]:
    """The rows of the table of the guide whose head begins with this word."""
    block = re.search(rf"^\| {first} \|.*?\n((?:\|.*\n)+)", guide(), re.MULTILINE)
    assert block is not None
    return [[cell.strip() for cell in row.strip("|").split("|")]
            for row in block[1].splitlines()[1:]]  # fmt: skip


def plan(students: int, of: dict[str, float]) -> tuple[float, float, float]:
    there = students * of["share"]
    memory_gb = of["fixed"] + there * (of["server"] + of["pages"] * of["page"]) / 1000
    each = of["moving"] * of["rate"] * of["move"] + of["opened"] * of["open"] / 3600
    return memory_gb, there * each, students * of["grade"] / 60


def test_the_plan_follows_from_its_inputs() -> None:
    given = table("what \\| symbol")
    used, low, high = ({row[1]: float(row[at]) for row in given} for at in (2, 3, 4))
    assert all(low[name] <= used[name] <= high[name] for name in used)
    rows = table("students")
    assert [int(row[0]) for row in rows] == [100, 1000, 10_000]
    for row in rows:
        expected = [plan(int(row[0]), of) for of in (used, low, high)]
        worked_out = [one[0] for one in expected] + [one[1] for one in expected] + [expected[0][2]]
        assert row[1:] == [f"{value:.1f}" for value in worked_out]
    memory_gb, processors, _ = plan(10_000, used)
    nodes = max(-(-memory_gb // (64 * 0.85)), -(-processors // (4 * 0.85)))
    assert f"{nodes:.0f} nodes of 64 GB and 4 processors if each gives 85 % to pods" in guide()
    each_gb = (used["server"] + used["pages"] * used["page"]) / 1000
    assert f"about {(16 - used['fixed']) // each_gb:.0f}." in guide()


def test_kubernetes_has_the_limits_of_the_single_host() -> None:
    values = yaml.safe_load((HUB / "kubernetes.yaml").read_text(encoding="utf-8"))
    limits, user = hub_settings.Limits(), values["singleuser"]
    assert user["memory"]["limit"] == f"{limits.memory_mb}M"
    assert values["cull"]["timeout"] == 60 * limits.idle_minutes
    assert user["extraEnv"]["LENGTHWISE_IDLE_PAGE_S"] == str(60 * limits.idle_page_minutes)
    assert values["hub"]["activeServerLimit"] == limits.servers
    given = {row[1]: float(row[2]) for row in table("what \\| symbol")}
    needed_mb = given["server"] + given["pages"] * given["page"]
    assert needed_mb <= int(user["memory"]["guarantee"].removesuffix("M")) <= limits.memory_mb
    for code in values["hub"]["extraConfig"].values():
        compile(code, "extraConfig", "exec")


@pytest.mark.parametrize("name", ["memory_mb", "processes", "servers", "idle_minutes"])
def test_the_guide_names_the_limits_that_hold(name: str) -> None:
    assert f"`{name}` {getattr(hub_settings.Limits(), name)}" in guide()
