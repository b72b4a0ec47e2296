"""A school's hub, for real: its proxy, system users, their passwords, PostgreSQL, one class.

The hub is started once, as instructor_guide/hub.md says, and the tests below go through a class in
their order: hand out, work, hand in, collect, grade, give back.
"""

from __future__ import annotations

import json
import os
import pwd
import re
import secrets
import subprocess
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import psutil
import pytest
from all_users import end_programs_of, installed_for_all, programs_of, system_users
from grading_tools import exercise_cells
from lengthwise.classroom.answer_key import read_key
from lengthwise.classroom.class_folder import ClassFolder
from lengthwise.classroom.demo_class import filled_in
from lengthwise.classroom.marks_table import marks_table
from lengthwise.classroom.new_class import make_class
from lengthwise.classroom.roster import Student
from postgres_server import postgres_server
from school_hub import Person, running_hub

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

pytestmark = [pytest.mark.hub, pytest.mark.slow, pytest.mark.postgresql]

NAME = "a1_landmarks"
NOTEBOOK = f"{NAME}/{NAME}.ipynb"
GUIDE = Path(__file__).resolve().parents[2] / "instructor_guide" / "hub.md"
SCREENSHOTS = Path(__file__).resolve().parents[2] / ".screenshots"
BUTTONS = f"/formgrader/api/assignment/{NAME}"


@dataclass(frozen=True)
class School:
    """A hub with one class: who is there, where everything lies."""

    address: str
    root: Path
    taught: ClassFolder
    students: tuple[Person, ...]
    grader: Person
    second_grader: Person
    python: Path

    @property
    def inbound(self) -> Path:
        return self.root / "exchange" / "spring" / "inbound"


def as_the_guide_says(taught: ClassFolder, graders: str) -> None:
    """The commands of instructor_guide/hub.md that open a class to its graders."""
    guide = Path(__file__).resolve().parents[2] / "instructor_guide" / "hub.md"
    (block,) = re.findall(
        r"<!-- open-to-graders -->\s*```\n(.*?)```", guide.read_text("utf-8"), re.S
    )
    commands = block.replace("spring-graders", graders).replace(
        "/srv/lengthwise/classes/spring", str(taught.root)
    )
    subprocess.run(["sh", "-e"], input=commands, text=True, check=True)


@pytest.fixture(scope="module")
def school(repo_root: Path) -> Iterator[School]:
    if os.geteuid() != 0:
        pytest.skip("the hub was not started: only root can make the system users that it serves")
    tag = f"lwt{os.getpid() % 100000}"
    names = [f"{tag}-{number}" for number in (1, 2, 3)]
    graders = [f"{tag}-grader", f"{tag}-grader-2"]
    members = {
        **dict.fromkeys(names, f"{tag}-students"), **dict.fromkeys(graders, f"{tag}-graders"),
    }  # fmt: skip
    passwords = {name: secrets.token_hex(8) for name in members}
    with (
        tempfile.TemporaryDirectory(prefix="lengthwise-hub-") as folder,
        pytest.MonkeyPatch.context() as patch,
        postgres_server() as database,
    ):
        root = Path(folder)
        root.chmod(0o755)
        python = installed_for_all(root, repo_root)
        for name in ("data", "exchange", "classes", "home"):
            (root / name).mkdir()
        (root / "data").chmod(0o700)
        (root / "password").write_text(database.password, encoding="ascii")
        (root / "password").chmod(0o600)
        patch.setenv("PGPASSWORD", database.password)
        gradebook = database.make_database("spring").replace(f":{database.password}@", "@")
        with system_users(members, root / "home", passwords):
            taught = make_class(
                "spring", tuple(map(Student, names)), target_mm=0.5, where=root / "classes",
                course=repo_root / "course", assignments=(NAME,), gradebook=gradebook,
            )  # fmt: skip
            as_the_guide_says(taught, f"{tag}-graders")
            address = f"http://127.0.0.1:{_free_port()}"
            settings = root / "hub.toml"
            settings.write_text(_settings(root, address, tag), encoding="utf-8")
            people = {each: Person(address, each, passwords[each]) for each in members}
            with running_hub(python, settings, root / "hub.log", address):
                *students, grader, second = people.values()
                yield School(address, root, taught, tuple(students), grader, second, python)
                for name in members:  # else the hub asks each server to end, and waits
                    end_programs_of(name)


def _settings(root: Path, address: str, tag: str) -> str:
    return f"""address = "{address}"
data = "{root}/data"
exchange = "{root}/exchange"

[limits]
memory_mb = 1000

[classes.spring]
folder = "{root}/classes/spring"
graders = "{tag}-graders"
students = "{tag}-students"
password_file = "{root}/password"
"""


def _free_port() -> int:
    import socket

    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@pytest.fixture(scope="module")
def page(school: School, browser: Browser) -> Iterator[Page]:
    view = browser.new_page(viewport={"width": 1280, "height": 900})
    view.set_default_timeout(60_000)
    yield view
    look(view, "last")  # what stood there when a test failed
    view.context.close()


def look(page: Page, name: str) -> None:
    SCREENSHOTS.mkdir(exist_ok=True)
    page.screenshot(path=str(SCREENSHOTS / f"hub_{name}.png"))


def type_answers(school: School, who: Person, cells: dict[str, str]) -> None:
    """Answers typed in Lab and saved: the request that Lab makes."""
    saved = who.get(f"/api/contents/{NOTEBOOK}").json()["content"]
    assert f'student_id = "{who.name}"' in json.dumps(saved).replace('\\"', '"')
    made = filled_in(saved, cells)
    answer = who.send("PUT", f"/api/contents/{NOTEBOOK}", {"type": "notebook", "content": made})
    assert answer.ok, answer.text


def answers(school: School, who: Person, belief: str) -> dict[str, str]:
    return exercise_cells(read_key(school.taught, NAME).students[who.name], belief)


def at_work(cells: dict[str, str]) -> str:
    """What a student does whom nobody watches: get what is there, type, save, hand in."""
    return f"""import json
from lengthwise.classroom.demo_class import filled_in
from lengthwise.classroom.hand_in import make_file
from lengthwise.classroom.take_in import take_in_waiting
take_in_waiting()
with open("{NOTEBOOK}") as saved: made = filled_in(json.load(saved), {cells!r})
with open("{NOTEBOOK}", "w") as saved: json.dump(made, saved)
print(*make_file("{NAME}").sentences)"""


def test_only_who_knows_the_password_comes_in(school: School) -> None:
    stranger = Person(school.address, school.students[0].name, "a guess")
    assert "Invalid username or password" in stranger.log_in().text
    assert "/hub/login" in stranger.get("/api/contents").url
    for person in (
        school.grader,
        *school.students,
    ):  # all four start while the first are waited for
        assert "spawn" in person.log_in().url
    for person in (school.grader, *school.students):
        person.wait_for_server()
        owners = {each.username() for each in programs_of(person.name)}
        assert owners == {person.name}


def test_a_grader_hands_out_with_the_button_of_the_form_view(school: School, page: Page) -> None:
    grader = school.grader
    page.goto(f"{school.address}/hub/login")
    look(page, "login")
    page.fill("#username_input", grader.name)
    page.fill("#password_input", grader.password)
    page.click("#login_submit")
    page.wait_for_url(f"**/user/{grader.name}/formgrader/**")
    page.get_by_role("link", name=NAME, exact=True).wait_for()
    look(page, "form_view")
    page.locator("td.release a").click()
    page.get_by_text("Successfully released").wait_for()
    outbound = school.inbound.with_name("outbound") / NAME
    assert sorted(path.name for path in outbound.iterdir()) == [f"{NAME}.ipynb", "cases.json"]
    page.context.clear_cookies()


def test_a_student_lands_on_the_start_page_where_the_assignment_is(
    school: School, page: Page
) -> None:
    student = school.students[0]
    page.goto(school.address)
    page.fill("#username_input", student.name)
    page.fill("#password_input", student.password)
    page.click("#login_submit")
    page.wait_for_url(f"**/user/{student.name}/voila/render/index.ipynb**")
    page.get_by_text(f"{NAME} is here now, for class spring").wait_for()
    page.get_by_text("No feedback is here yet").wait_for()
    look(page, "landing")


def test_a_lesson_opens_as_a_page_in_its_start_state(school: School, page: Page) -> None:
    page.get_by_role("link", name="01 Where a canal ends").click()
    page.wait_for_url("**/voila/render/lessons/01_where_a_canal_ends.ipynb**")
    # The picture waits, ready, behind the question that is asked before it.
    picture = page.locator("img[alt*='of these teeth the average']").first
    picture.wait_for(state="attached")
    asked = page.get_by_role("button", name=re.compile("Commit|guess", re.IGNORECASE)).first
    asked.scroll_into_view_if_needed()
    look(page, "lesson")
    page.go_back()


def test_students_hand_in_under_their_own_names(school: School, page: Page) -> None:
    first, second, third = school.students
    type_answers(school, first, answers(school, first, "none"))
    page.get_by_text(f"{NAME}:").first.wait_for()
    page.get_by_role("button", name=re.compile(f"Make my file.*{NAME}")).click()
    page.get_by_text(f"is handed in to class spring as {first.name}").wait_for()
    look(page, "handed_in")
    assert "is handed in" in second.run(at_work(answers(school, second, "M3")))
    # The third pretends to be the first, by what is typed and by what the folder is called.
    pretended = {"identity": f'student_id = "{first.name}"'}
    said = third.run(f"""{at_work({**answers(school, third, "none"), **pretended})}
import os, shutil
forged = "{school.inbound}/{first.name}+{NAME}+2099-01-01 00:00:00.0 UTC+x"
shutil.copytree("{NAME}", forged)
os.chmod(forged, 0o777)""")
    assert "is handed in" in said
    assert "Error" not in said
    assert len(list(school.inbound.iterdir())) == 4


def test_a_student_sees_nothing_of_others(school: School) -> None:
    first, second, _ = school.students
    (handed_in,) = (one for one in school.inbound.iterdir() if one.owner() == first.name
                    and one.name.startswith(first.name))  # fmt: skip
    server = next(each for each in programs_of(school.grader.name))
    closed = [
        school.root / "home" / first.name / "lengthwise" / "spring" / NOTEBOOK,
        school.taught.root, school.taught.root / "secret", school.taught.answers_path(NAME),
        school.taught.root / "class.toml",
        school.inbound, handed_in, handed_in / f"{NAME}.ipynb",
        school.inbound.with_name("feedback"),
        school.root / "lengthwise" / "course" / "items", school.root / "data",
        school.root / "password", Path(f"/proc/{server.pid}/environ"),
    ]  # fmt: skip
    opened = [school.inbound.with_name("outbound") / NAME / f"{NAME}.ipynb"]
    tried = second.run(f"""from pathlib import Path
for path in map(Path, {[str(one) for one in (*closed, *opened)]}):
    try:
        list(path.iterdir()) if path.is_dir() else path.read_bytes()
        print("open", path)
    except PermissionError:
        print("closed", path)
for act in (Path({str(handed_in)!r}).rmdir, lambda: Path({str(handed_in)!r}).rename("/tmp/x"),
            lambda: Path({str(handed_in)!r}, "a").write_text("")):
    try:
        act()
        print("done")
    except PermissionError:
        print("refused")
""")
    said = tried.splitlines()
    assert said == [*(f"closed {one}" for one in closed), *(f"open {one}" for one in opened),
                    *["refused"] * 3]  # fmt: skip
    for other, path in ((school.grader, "/formgrader"), (first, f"/api/contents/{NOTEBOOK}"),
                        (first, "/voila/render/index.ipynb")):  # fmt: skip
        assert second.get(path, whose=other.name).status_code in (403, 404)
    assert second.get("/formgrader").status_code == 404
    assert second.get("/formgrader/api/grades").status_code == 404


def test_a_program_of_a_student_gets_no_more_memory_than_is_set(school: School) -> None:
    said = school.students[1].run("kept = bytearray(1_200_000_000)")
    assert said.startswith("MemoryError")


def test_a_grader_collects_grades_and_gives_back(school: School) -> None:
    first, second, third = school.students
    grader = school.grader
    assert grader.get("/formgrader").ok
    press(grader, f"{BUTTONS}/collect")
    assert school.taught.submitted_students(NAME) == (first.name, second.name)
    # Only in its own name does the third one's work come in.
    own = at_work({"identity": f'student_id = "{third.name}"'})
    assert "is handed in" in third.run(own)
    press(grader, f"{BUTTONS}/collect")
    assert school.taught.submitted_students(NAME) == (first.name, second.name, third.name)
    for student in school.students:
        press(grader, f"/formgrader/api/submission/{NAME}/{student.name}/autograde")
    press(grader, f"{BUTTONS}/generate_feedback")
    press(grader, f"{BUTTONS}/release_feedback")
    totals = {row.student: row.total for row in marks_table(school.taught, NAME).rows}
    assert totals[first.name] == totals[third.name] == 20
    assert 0 < (totals[second.name] or 0) < 20
    shown = grader.get(f"/formgrader/api/submissions/{NAME}").json()
    assert {one["student"]: one["score"] for one in shown} == totals


def test_what_one_grader_made_the_other_can_make_anew(school: School) -> None:
    user = pwd.getpwnam(school.second_grader.name)
    done = subprocess.run(
        [str(school.python), "-c", f"""from pathlib import Path
from lengthwise.classroom.class_folder import open_class
from lengthwise.classroom.grader import grader
steps = grader(open_class(Path()))
student = {school.students[1].name!r}
for step in (steps.autograde, steps.generate_feedback):
    print(step("{NAME}", student, force=True))
print(steps.release_feedback("{NAME}", student), steps.collect("{NAME}"))"""],
        cwd=school.taught.root, user=user.pw_uid, group=user.pw_gid, umask=0o007,
        extra_groups=os.getgrouplist(user.pw_name, user.pw_gid), capture_output=True, text=True,
        env={"PGPASSWORD": os.environ["PGPASSWORD"], "HOME": user.pw_dir, "PATH": "/usr/bin:/bin",
             "LENGTHWISE_EXCHANGE": str(school.root / "exchange"),
             "LD_LIBRARY_PATH": str(school.root / "base" / "lib")}, check=False,
    )  # fmt: skip
    assert done.stdout.count("'success': True") == 4, done.stdout + done.stderr


def press(grader: Person, button: str) -> dict[str, Any]:
    answer = grader.send("POST", button)
    assert answer.ok, answer.text
    told: dict[str, Any] = answer.json()
    assert told["success"], told
    return told


def test_students_find_their_own_feedback(school: School, page: Page) -> None:
    second = school.students[1]
    page.reload()
    link = page.get_by_role("link", name=re.compile(f"{NAME}, handed in"))
    link.wait_for()
    assert link.count() == 1
    look(page, "feedback_listed")
    with page.context.expect_page() as opened:
        link.click()
    opened.value.get_by_text("20.00 of 20").first.wait_for()
    look(opened.value, "feedback")
    found = second.run("""from lengthwise.classroom.hub_desk import fetch_pages
for each in fetch_pages(): print(each.path)""")
    (path,) = found.splitlines()
    other = second.get(f"/files/{path}")
    assert other.ok
    assert f"Feedback for {second.name}" in other.text
    assert "20.00 of 20" not in other.text


def test_an_idle_server_goes(school: School) -> None:
    """The culler of the hub, with the rights that the hub gives it, and two seconds of patience."""
    (culler,) = (one for one in psutil.process_iter(["cmdline"])
                 if "jupyterhub_idle_culler" in (one.info["cmdline"] or [])
                 and str(school.python) in one.info["cmdline"])  # fmt: skip
    environ = {**culler.environ(), "LD_LIBRARY_PATH": str(school.root / "base" / "lib")}
    program = subprocess.Popen(
        [str(school.python), "-m", "jupyterhub_idle_culler", "--timeout=2", "--cull-every=1"],
        env=environ, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    try:
        end = time.monotonic() + 40
        while programs_of(school.students[2].name) and time.monotonic() < end:
            time.sleep(0.5)
        assert programs_of(school.students[2].name) == []
    finally:
        program.terminate()
        program.wait()
