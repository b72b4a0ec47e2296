"""The one command that starts the course: what it says, makes, keeps and stops."""

import ast
import contextlib
import json
import os
import re
import shutil
import signal
import subprocess
import sys
import time
import urllib.parse
import urllib.request
from pathlib import Path
from types import SimpleNamespace

import parso
import psutil
import pytest
import typer
from lengthwise.cli import app
from opening import environment, ports, program, python_version, servers, telling

ROOT = Path(__file__).resolve().parents[2]
PROGRAM = ROOT / "course" / "start.py"

# Syntax that Python 2.7 does not know: a file that uses it dies with a SyntaxError before it can
# say that the Python is too old.
NEW_SYNTAX = (
    ast.JoinedStr, ast.AnnAssign, ast.NamedExpr, ast.AsyncFunctionDef, ast.Await, ast.Nonlocal,
    ast.Match, ast.MatMult, ast.YieldFrom,
)  # fmt: skip


def new_syntax(source: str) -> list[str]:
    """Name the constructs of a program that Python 2.7 cannot parse."""
    found = []
    for node in ast.walk(ast.parse(source)):
        match node:
            case ast.arguments(kwonlyargs=[_, *_]) | ast.arguments(posonlyargs=[_, *_]):
                found.append("keyword-only or positional-only argument")
            case ast.arg(annotation=ast.AST()) | ast.FunctionDef(returns=ast.AST()):
                found.append("annotation")
            case ast.Raise(cause=ast.AST()):
                found.append("raise from")
            case _ if isinstance(node, NEW_SYNTAX):
                found.append(type(node).__name__)
    return found


@pytest.mark.parametrize(
    "program", ["course/start.py", "course/opening/python_version.py", "tests/run.py"]
)
def test_an_old_python_can_read_the_program_as_far_as_its_message(program: str) -> None:
    source = (ROOT / program).read_text(encoding="utf-8")
    assert new_syntax(source) == []
    assert source.isascii()
    grammar = parso.load_grammar(version="3.6")
    assert [error.message for error in grammar.iter_errors(grammar.parse(source))] == []


@pytest.mark.parametrize(
    "source",
    ["f'{1}'", "x: int = 1", "def f(a, *, b): pass", "def f() -> int: pass", "(n := 1)",
     "raise ValueError from None"],
)  # fmt: skip
def test_the_check_for_new_syntax_can_fail(source: str) -> None:
    assert new_syntax(source) != []


def test_a_python_that_is_too_old_is_told_what_to_do() -> None:
    words = python_version.python_problem((3, 8, 1), search_path="")
    assert "needs Python 3.11 or later, and this is Python 3.8" in words
    assert "python.org/downloads" in words


def test_a_newer_python_on_the_same_machine_is_offered(tmp_path: Path) -> None:
    (tmp_path / "python3.12").touch()
    words = python_version.python_problem((2, 7, 18), search_path=str(tmp_path))
    assert words.endswith("Type:  python3.12 course/start.py")


def test_this_python_will_do_and_a_32_bit_one_will_not() -> None:
    assert python_version.python_problem(sys.version_info) is None
    assert "64-bit" in python_version.python_problem((3, 12, 0), is_64_bit=False)


def test_a_machine_without_the_venv_part_is_told_which_package_to_install(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(environment.importlib.util, "find_spec", lambda name: None)
    assert "sudo apt install python3." in environment.what_is_missing(tmp_path / ".venv")


def test_a_full_disk_is_noticed_before_anything_is_made(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(
        environment.shutil, "disk_usage", lambda path: SimpleNamespace(free=3 * 10**8)
    )
    words = environment.what_is_missing(tmp_path / ".venv")
    assert "0.3 GB free, and about 2 GB are needed" in words


@pytest.mark.parametrize(
    ("output", "words"),
    [
        ("ERROR: [Errno 28] No space left on device", "disk is full"),
        ("NewConnectionError: [Errno -3] Temporary failure in name resolution", "internet"),
        ("ERROR: Could not find a version that satisfies x (from versions: none)", "3.11 to 3.14"),
        ("[Errno 13] Permission denied: '/opt'", "folder of your own"),
        ("something quite new", "something quite new"),
    ],
)
def test_a_failed_installation_is_explained(output: str, words: str) -> None:
    assert words in telling.explain_install(output)


@pytest.mark.slow
def test_no_internet_at_the_first_start_is_said_in_words(tmp_path: Path) -> None:
    clone = small_clone(tmp_path)
    # Nothing listens on port 9 of this machine, so the package index cannot be reached.
    nowhere = "http://127.0.0.1:9/simple"
    done = prepare_in_another_process(
        clone, PIP_INDEX_URL=nowhere, PIP_CONFIG_FILE=os.devnull, PIP_FIND_LINKS="",
        PIP_NO_CACHE_DIR="1",
    )  # fmt: skip
    words, _ = done.communicate(timeout=120)
    assert "needs the internet" in words, words
    assert environment.unfinished_mark(clone / ".venv").exists()


def test_on_windows_the_environment_lies_under_the_local_application_data() -> None:
    folder = environment.environment_folder(Path("C:/deep/clone"), True, {"LOCALAPPDATA": "L"})
    assert folder.parent == Path("L") / "Lengthwise"
    assert environment.environment_folder(Path("/deep/clone"), False, {}) == Path(
        "/deep/clone/.venv"
    )


def small_clone(folder: Path) -> Path:
    """A clone whose library needs nothing, so that a real installation takes seconds."""
    clone = folder / "a clone"
    (clone / "lib" / "lengthwise").mkdir(parents=True)
    (clone / "lib" / "lengthwise" / "__init__.py").write_text("")
    (clone / "lib" / "lengthwise" / "cli.py").write_text(
        "import sys\n\n\ndef main():\n    print('heard', *sys.argv[1:])\n    return 7\n"
    )
    (clone / "lib" / "pyproject.toml").write_text(
        '[build-system]\nrequires = ["hatchling"]\nbuild-backend = "hatchling.build"\n'
        '[project]\nname = "lengthwise"\nversion = "0"\n'
        '[project.optional-dependencies]\ncourse = []\ndev = ["iniconfig"]\n'
        '[project.scripts]\nlengthwise = "lengthwise.cli:main"\n'
        '[tool.hatch.build.targets.wheel]\npackages = ["lengthwise"]\n'
    )
    (clone / "requirements.txt").write_text("iniconfig==2.3.1\n")
    (clone / "course").mkdir()
    (clone / "course" / "start.py").write_bytes(PROGRAM.read_bytes())
    shutil.copytree(ROOT / "course" / "opening", clone / "course" / "opening")
    return clone


def prepare_in_another_process(clone: Path, **variables: str) -> "subprocess.Popen[str]":
    code = (
        "import sys; sys.path.insert(0, sys.argv[1])\n"
        "from opening.environment import CannotStartError, prepare\n"
        "try: print(prepare(['course']))\n"
        "except CannotStartError as problem: sys.exit(str(problem))"
    )
    return subprocess.Popen(
        [sys.executable, "-c", code, str(clone / "course")],
        env={**os.environ, **variables}, text=True, stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
    )  # fmt: skip


def wait_for(true: object, seconds: float = 60.0) -> None:
    end = time.monotonic() + seconds
    while not true():  # type: ignore[operator]
        assert time.monotonic() < end, "waited in vain"
        time.sleep(0.05)


@pytest.mark.slow
def test_an_environment_is_made_once_recovered_when_interrupted_and_updated_when_due(
    tmp_path: Path,
) -> None:
    clone = small_clone(tmp_path)
    folder = clone / ".venv"

    interrupted = prepare_in_another_process(clone)
    wait_for(lambda: (folder / "pyvenv.cfg").exists())
    interrupted.kill()
    interrupted.communicate()
    assert environment.state_of(folder, ["course"], clone) == "rebuild"

    words, _ = prepare_in_another_process(clone).communicate(timeout=300)
    assert "Ready." in words
    assert environment.state_of(folder, ["course"], clone) == "ready"

    words, _ = prepare_in_another_process(clone).communicate(timeout=60)
    assert words == f"{folder}\n", "a second start prepares nothing"

    assert environment.state_of(folder, ["course", "dev"], clone) == "update"
    (clone / "requirements.txt").write_text("iniconfig==2.1.0\n")
    assert environment.state_of(folder, ["course"], clone) == "update"
    environment.prepare(["dev"], clone, folder)
    assert environment.read_stamp(folder).extras == ("course", "dev")
    assert list(folder.glob("**/iniconfig-2.1.0.dist-info")), "the lock holds as constraints"

    forwarded = subprocess.run(
        [sys.executable, str(clone / "course" / "start.py"), "run", "grade", "--port", "a b"],
        capture_output=True, text=True,
    )  # fmt: skip
    assert (forwarded.stdout, forwarded.returncode) == ("heard grade --port a b\n", 7)

    moved = clone.rename(tmp_path / "elsewhere")
    assert environment.state_of(moved / ".venv", ["course"], moved) == "rebuild"


@pytest.mark.slow
def test_two_starts_at_once_do_not_build_the_same_environment(tmp_path: Path) -> None:
    clone = small_clone(tmp_path)
    with environment.only_one_at_a_time(clone / ".venv"):
        words, _ = prepare_in_another_process(clone).communicate(timeout=60)
    assert "Another window is preparing Lengthwise" in words
    assert "type the same command again" in " ".join(words.split())


def test_the_word_run_separates_our_options_from_the_command() -> None:
    options, forwarded = program.read_options(["--port", "9000", "run", "grade", "--port", "1"])
    assert (options.port, forwarded) == (9000, ["grade", "--port", "1"])
    options, forwarded = program.read_options(["--no-browser"])
    assert (options.no_browser, forwarded) == (True, None)


def test_a_command_without_the_word_run_is_answered_with_what_to_type(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys, "argv", ["course/start.py"])
    for name in program.COMMANDS:
        with pytest.raises(SystemExit, match="2"):
            program.read_options([name, "--class", "../my class"])
        said = capsys.readouterr().err
        assert f"course/start.py run {name} --class " in said
        assert said.startswith("Did you mean: ")


def test_the_commands_that_start_knows_are_those_of_the_library() -> None:
    group = typer.main.get_command(app)
    assert isinstance(group, typer.core.TyperGroup)
    assert set(group.commands) == program.COMMANDS


def test_an_option_cut_short_is_refused_and_not_guessed_at() -> None:
    with pytest.raises(SystemExit, match="2"):
        program.read_options(["--clas", "../seminar-1"])


def test_root_is_allowed_only_where_it_is_root() -> None:
    assert "--allow-root" in servers.jupyter_command(Path("env"), 9000, ROOT, as_root=True)
    assert "--allow-root" not in servers.jupyter_command(Path("env"), 9000, ROOT, as_root=False)


def test_a_port_in_use_is_said_so_and_a_free_one_is_found_otherwise() -> None:
    with ports.socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        with pytest.raises(telling.CannotStartError, match=f"Port {port} is in use"):
            ports.choose_port(port)
        assert ports.choose_port() != port
    with pytest.raises(telling.CannotStartError, match="from 1024 to 65535"):
        ports.choose_port(80)


def get(address: str, token: str | None) -> tuple[int, str]:
    headers = {"Authorization": f"token {token}"} if token else {}
    # Like a browser, it keeps the cookie it is given for a token.
    opener = urllib.request.build_opener(
        urllib.request.ProxyHandler({}), urllib.request.HTTPCookieProcessor()
    )
    try:
        with opener.open(urllib.request.Request(address, headers=headers), timeout=30) as answer:
            return answer.status, answer.geturl() + "\n" + answer.read().decode()
    except urllib.error.HTTPError as error:
        return error.code, ""


@pytest.mark.slow
def test_the_course_is_served_to_its_owner_without_grader_menus_and_stops_when_told() -> None:
    if environment.state_of(environment.environment_folder(), ["course"]) != "ready":
        pytest.fail("the environment is not up to date: run python3 tests/run.py")
    program = subprocess.Popen(
        [sys.executable, str(PROGRAM), "--no-browser"],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    try:
        assert program.stdout is not None
        line = program.stdout.readline()
        assert line.startswith("Lengthwise is open at:  http://127.0.0.1:"), line
        address = urllib.parse.urlsplit(line.split()[-1])
        token = urllib.parse.parse_qs(address.query)["token"][0]
        base = f"http://{address.netloc}"
        assert address.path == "/voila/render/index.ipynb"
        status, page = get(base + "/lab", token)
        settings = page.split('id="jupyter-config-data"')[1].split("</script>")[0]
        config = json.loads(settings.split(">", 1)[1])
        hidden = config["disabledExtensions"]
        assert "@jupyter/nbgrader" in hidden
        assert "@jupyterlab/apputils-extension:announcements" in hidden
        assert status == 200
        assert get(base + "/formgrader", token)[0] == 404
        # Without the token nobody gets in: the answer is the page that asks for it.
        assert "/login" in get(base + "/lab", None)[1].splitlines()[0]
        assert get(base + "/api/contents", None)[0] == 403
        assert get(base + "/api/contents/start.py?content=0", token)[0] == 200
    finally:
        program.send_signal(signal.SIGTERM)
        _, words = program.communicate(timeout=60)
    assert program.returncode == 0
    assert "Lengthwise is closed" in words
    assert ports.ask(address.port, token, "/api/status") is None


@pytest.mark.slow
def test_an_instructor_gets_the_form_view_of_a_class_and_only_of_a_class(tmp_path: Path) -> None:
    command = [sys.executable, str(PROGRAM), "--no-browser", "--class", str(tmp_path)]
    refused = subprocess.run(command, capture_output=True, text=True)
    assert refused.returncode == 1
    assert "is not a class folder" in refused.stderr

    (tmp_path / "nbgrader_config.py").write_text("c = get_config()\n")
    program = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    try:
        assert program.stdout is not None
        address = program.stdout.readline().split()[-1]
        status, page = get(address, None)
        assert (status, urllib.parse.urlsplit(address).path) == (200, "/formgrader/gradebook")
        assert "nbgrader formgrade" in page
    finally:
        program.send_signal(signal.SIGTERM)
        program.communicate(timeout=60)
    assert program.returncode == 0


@pytest.mark.parametrize(
    "arguments", [["--open-to-network"], ["--workshop", "--class", "somewhere"]]
)
def test_options_that_do_not_go_together_are_refused(arguments: list[str]) -> None:
    with pytest.raises(SystemExit):
        program.read_options(arguments)


def test_a_workshop_stays_on_this_computer_unless_it_is_asked_for() -> None:
    options, forwarded = program.read_options(["--workshop"])
    assert (options.workshop, options.open_to_network, forwarded) == (True, None, None)
    options, _ = program.read_options(["--workshop", "--open-to-network"])
    assert options.open_to_network == ports.FIND_IT
    command = servers.workshop_command(Path("env"), 8890, ports.THIS_COMPUTER, 1, Path("course"))
    assert "--address=127.0.0.1" in command


HERE = Path(sys.prefix)


@pytest.mark.parametrize("wanted", ["0.0.0.0", "::", "my-computer", "192.168.1"])
def test_a_workshop_is_opened_at_one_address_and_not_at_all_of_them(wanted: str) -> None:
    with pytest.raises(telling.CannotStartError, match="one of this computer's own, such as 192"):
        ports.address_in_the_room(HERE, wanted)


@pytest.fixture
def no_way_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """As in a network that leads nowhere: the system knows no way to the internet."""

    def unreachable(*_: object) -> None:
        raise OSError

    probe = SimpleNamespace(connect=unreachable)
    monkeypatch.setattr(ports.socket, "socket", lambda *_: contextlib.nullcontext(probe))


@pytest.mark.usefixtures("no_way_out")
def test_in_a_network_without_the_internet_the_only_address_is_taken(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(ports, "own_addresses", lambda _: ["192.168.43.1"])
    assert ports.address_in_the_room(HERE) == "192.168.43.1"


@pytest.mark.usefixtures("no_way_out")
@pytest.mark.parametrize(
    ("there", "said"),
    [
        ([], r"is in no network[\s\S]*without the internet will do[\s\S]*--open-to-network 192"),
        (["10.7.0.5", "192.168.43.1"], r"addresses: 10\.7\.0\.5, 192\.168\.43\.1[\s\S]*Name it"),
    ],
    ids=["none", "several"],
)
def test_without_one_sure_address_the_person_is_told_what_to_type(
    monkeypatch: pytest.MonkeyPatch, there: list[str], said: str
) -> None:
    monkeypatch.setattr(ports, "own_addresses", lambda _: there)
    with pytest.raises(telling.CannotStartError, match=said):
        ports.address_in_the_room(HERE)


def test_the_environment_lists_the_address_that_the_system_would_use() -> None:
    outward = ports._address_outward()
    listed = ports.own_addresses(HERE)
    assert outward is None or outward in listed
    assert not [one for one in listed if one.startswith(("127.", "169.254."))]


@pytest.mark.usefixtures("no_way_out")
@pytest.mark.parametrize("python", ["not_there", "without_the_course"])
def test_an_environment_that_cannot_list_the_addresses_is_not_told_as_no_network(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, python: str
) -> None:
    there = tmp_path / "python"
    if python == "without_the_course":
        there = Path(sys.executable)
        monkeypatch.setattr(ports, "clean_environ", lambda _: {"PYTHONHOME": str(tmp_path)})
    monkeypatch.setattr(ports, "python_of", lambda _: there)
    with pytest.raises(telling.CannotStartError, match=r"could not be listed[\s\S]*--open-to-n"):
        ports.address_in_the_room(HERE)


@pytest.mark.parametrize(
    ("wanted", "said"),
    [
        # Kept free for examples (RFC 5737 and RFC 3849): no computer has them.
        ("192.0.2.1", "192.0.2.1 is not an address of this computer"),
        ("2001:db8::1", "2001:db8::1 is an IPv6 address"),
    ],
)
def test_an_address_at_which_no_server_can_be_opened_is_refused_before_anything_starts(
    wanted: str, said: str
) -> None:
    with pytest.raises(telling.CannotStartError, match=said):
        ports.address_in_the_room(HERE, wanted)
    assert ports.address_in_the_room(HERE, "127.0.0.1") == "127.0.0.1"


@pytest.mark.parametrize(
    ("code", "returned", "said"),
    [(3, 1, r"ended by itself[\s\S]*out of memory"), (0, 0, "Closed\\.")],
    ids=["dies", "stopped in its own menu"],
)
def test_a_server_that_ends_by_itself_is_not_said_to_be_closed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], code: int, returned: int, said: str
) -> None:
    class Ends(servers.Server):
        def wait_until_it_answers(self, seconds: float = 120) -> None:
            pass

    log = tmp_path / "log"
    log.write_text("out of memory\n", encoding="utf-8")
    process = subprocess.Popen([sys.executable, "-c", f"raise SystemExit({code})"])
    server = Ends(process, "127.0.0.1", 1, "", "http://127.0.0.1:1", log, "/", None)
    options, _ = program.read_options(["--no-browser"])
    assert program.serve_until_stopped(server, options, "Open.", "Closed.") == returned
    words = capsys.readouterr().err
    assert re.search(said, words)
    assert ("Closed." in words) == (code == 0)


def test_what_was_typed_is_told_to_a_command_so_that_it_can_be_typed_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    given = {}

    def started(_: object, env: dict[str, str]) -> SimpleNamespace:
        given.update(env)
        return SimpleNamespace(wait=lambda: 0)

    monkeypatch.setattr(program.subprocess, "Popen", started)
    monkeypatch.setattr(sys, "argv", ["my course/start.py"])
    assert program.run_command(tmp_path, ["grade"]) == 0
    words = json.loads(given["LENGTHWISE_TYPED"])
    assert words[1:] == ["my course/start.py", "run"]


@pytest.mark.slow
def test_a_workshop_stopped_while_its_pages_are_made_ready_leaves_no_process() -> None:
    if environment.state_of(environment.environment_folder(), ["course"]) != "ready":
        pytest.fail("the environment is not up to date: run python3 tests/run.py")
    program = subprocess.Popen(
        [sys.executable, str(PROGRAM), "--workshop", "--no-browser"],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    try:
        assert program.stdout is not None
        line = program.stdout.readline()
        assert re.match(r"Lengthwise is open at:  http://127\.0\.0\.1:\d+/\?token=\w{8}$", line)
        # On a busy machine the first kernel may be a moment behind the server.
        wait_for(lambda: len(psutil.Process(program.pid).children(recursive=True)) > 1)
        started = psutil.Process(program.pid).children(recursive=True)
    finally:
        # Ends it as Ctrl-C does; whatever a shell started in the background ignores Ctrl-C itself.
        program.send_signal(signal.SIGTERM)
        _, words = program.communicate(timeout=60)
    assert program.returncode == 0
    assert "Only this computer can open it" in words
    assert "The workshop is closed." in words
    assert not psutil.wait_procs(started, timeout=10)[1]
