"""Start Lengthwise:  python3 course/start.py   (Windows:  py course\\start.py)

The first start makes an environment of its own and needs the internet; later ones take seconds.
Only the standard library is used, and the syntax is old on purpose: an old Python must be able
to read this file as far as the sentence that says it is too old.
"""

import os
import sys

OLDEST = (3, 11)
NEWEST_TESTED = (3, 14)


def python_problem(version, is_64_bit=True, search_path=None):
    """Say what is wrong with a Python of this version, or return None."""
    name = "{0}.{1}".format(version[0], version[1])
    if tuple(version[:2]) < OLDEST:
        words = "Lengthwise needs Python {0}.{1} or later, and this is Python {2} ({3}).\n".format(
            OLDEST[0], OLDEST[1], name, sys.executable
        )
        newer = newer_python(os.environ.get("PATH", "") if search_path is None else search_path)
        if newer:
            return words + "There is a newer one here. Type:  {0} course/start.py".format(newer)
        return words + "Install a newer one from https://www.python.org/downloads/ and start again."
    if not is_64_bit:
        return (
            "This is a 32-bit Python, and the numerical packages are made for 64-bit ones.\n"
            "Install the 64-bit Python from https://www.python.org/downloads/ and start again."
        )
    return None


def newer_python(search_path):
    """Return the name of a Python on the search path that is new enough, or None."""
    for minor in range(NEWEST_TESTED[1], OLDEST[1] - 1, -1):
        name = "python3.{0}".format(minor)
        for folder in search_path.split(os.pathsep):
            if os.path.isfile(os.path.join(folder, name)):
                return name
    return None


if python_problem(sys.version_info, sys.maxsize > 2**32):
    sys.exit(python_problem(sys.version_info, sys.maxsize > 2**32))

# From here on the Python is new enough to have all of these.
import argparse  # noqa: E402
import contextlib  # noqa: E402
import hashlib  # noqa: E402
import importlib.util  # noqa: E402
import ipaddress  # noqa: E402
import json  # noqa: E402
import secrets  # noqa: E402
import shutil  # noqa: E402
import signal  # noqa: E402
import socket  # noqa: E402
import subprocess  # noqa: E402
import time  # noqa: E402
import urllib.error  # noqa: E402
import urllib.request  # noqa: E402
import webbrowser  # noqa: E402
from pathlib import Path  # noqa: E402

WINDOWS = os.name == "nt"
CLONE = Path(__file__).resolve().parent.parent
FIRST_PORT = 8888
THIS_COMPUTER = "127.0.0.1"
FIND_IT = "find"
# The word in a workshop's address: 8 of 32 characters, 10**12 words, for half a day in one room.
WORD_LETTERS = "abcdefghijkmnpqrstuvwxyz23456789"
WORD_LENGTH = 8
START_PAGE = "/voila/render/index.ipynb"
# Its list of what is to be marked by hand; its first page speaks of an exchange that nobody has.
FORM_VIEW = "/formgrader/gradebook"
# What a student has no use for, beside what Jupyter hides by itself.
HIDDEN_FILES = [
    "__pycache__", "*.pyc", ".DS_Store", "*~", "items", "source", "hub", "handed_out", "start.py",
    "nbgrader_config.py",
]  # fmt: skip
PAGE_TEMPLATES = CLONE / "lib" / "lengthwise" / "panels" / "pages"
SPACE_NEEDED_BYTES = 2 * 10**9
STAMP = "lengthwise-stamp.json"

# What a failed installation prints, and what to tell the person who was waiting for it.
INSTALL_PROBLEMS = (
    (
        ("No space left on device", "Errno 28", "not enough space on the disk"),
        "The disk is full. Free about 2 GB and start again.",
    ),
    (
        ("NewConnectionError", "NameResolutionError", "name resolution", "getaddrinfo failed",
         "Network is unreachable", "ConnectTimeout", "Max retries", "Connection refused",
         "ProxyError", "nodename nor servname", "Read timed out"),
        "The package index could not be reached. The first start, and the first after an update,\n"
        "needs the internet. Connect and start again; what has arrived is kept.",
    ),
    (
        ("Permission denied", "Errno 13", "WinError 5"),
        "A file could not be written. Move the course to a folder of your own, such as your home\n"
        "folder, close other windows that use it, and start again.",
    ),
    (
        ("No matching distribution found", "Could not find a version"),
        "A package has no version for this Python and this system. Python {0}.{1} to {2}.{3} are\n"
        "tested: install one of them from https://www.python.org/downloads/ and start "
        "again.".format(*(OLDEST + NEWEST_TESTED)),
    ),
)  # fmt: skip


class CannotStartError(Exception):
    """A sentence for the person at the keyboard."""


def say(sentence):
    """Tell the person something; never on the output that a command may be piped from."""
    sys.stderr.write(sentence + "\n")
    sys.stderr.flush()


# ------------------------------------------------------------------ the environment


def environment_folder(clone=CLONE, windows=WINDOWS, environ=os.environ):
    """Return where the environment lies: in the clone, except on Windows, whose paths are short."""
    if not windows:
        return Path(clone) / ".venv"
    base = environ.get("LOCALAPPDATA") or str(Path.home() / "AppData" / "Local")
    tag = hashlib.sha256(str(clone).lower().encode("utf-8")).hexdigest()[:8]
    return Path(base) / "Lengthwise" / tag


def programs_folder(folder):
    """Return the folder of the environment's programs."""
    return Path(folder) / ("Scripts" if WINDOWS else "bin")


def python_of(folder):
    """Return the environment's Python."""
    return programs_folder(folder) / ("python.exe" if WINDOWS else "python")


def fingerprint(clone=CLONE):
    """Return a digest of everything that decides what has to be installed, and where."""
    digest = hashlib.sha256(str(clone).encode("utf-8"))
    for name in ("requirements.txt", "lib/pyproject.toml"):
        digest.update((Path(clone) / name).read_bytes())
    return digest.hexdigest()


def read_stamp(folder):
    """Return what the last complete installation wrote, or an empty record."""
    try:
        stamp = json.loads((Path(folder) / STAMP).read_text(encoding="utf-8"))
        return {"fingerprint": str(stamp["fingerprint"]), "clone": str(stamp["clone"]),
                "extras": sorted(stamp["extras"])}  # fmt: skip
    except (OSError, ValueError, KeyError, TypeError):
        return {"fingerprint": "", "clone": "", "extras": []}


def unfinished_mark(folder):
    """Return the file that lies beside an environment while it is being made."""
    return Path(str(folder) + ".unfinished")


def state_of(folder, extras, clone=CLONE):
    """Return "ready", "update" or "rebuild" for the environment in a folder."""
    stamp = read_stamp(folder)
    moved = stamp["clone"] not in ("", str(clone))
    if unfinished_mark(folder).exists() or not python_of(folder).exists() or moved:
        return "rebuild"
    if stamp["fingerprint"] == fingerprint(clone) and set(extras) <= set(stamp["extras"]):
        return "ready"
    return "update"


@contextlib.contextmanager
def only_one_at_a_time(folder):
    """Hold a lock, so that two starts do not build the same environment at once."""
    path = Path(str(folder) + ".lock")
    path.parent.mkdir(parents=True, exist_ok=True)
    with open(str(path), "a") as lock:
        if not take(lock):
            raise CannotStartError(
                "Another window is preparing Lengthwise just now. Wait until it is done, then type "
                "the same command again."
            )
        yield


def take(lock):
    """Lock an open file until it is closed; tell whether that worked."""
    try:
        if WINDOWS:
            import msvcrt

            msvcrt.locking(lock.fileno(), msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True


def what_is_missing(folder):
    """Say what the machine lacks to make an environment, or return None."""
    if importlib.util.find_spec("venv") is None or importlib.util.find_spec("ensurepip") is None:
        return (
            "This Python cannot make an environment: its venv part is missing.\n"
            "On Debian and Ubuntu type:  sudo apt install python{0}.{1}-venv\n"
            "Elsewhere install Python from https://www.python.org/downloads/. "
            "Then start again.".format(*sys.version_info[:2])
        )
    parent = Path(folder).parent
    parent.mkdir(parents=True, exist_ok=True)
    if not os.access(str(parent), os.W_OK):
        return (
            "The folder {0} cannot be written to. Move the course to a folder of your own,\n"
            "such as your home folder, and start again.".format(parent)
        )
    free = shutil.disk_usage(str(parent)).free
    if free < SPACE_NEEDED_BYTES:
        return (
            "The disk of {0} has {1:.1f} GB free, and about {2:.0f} GB are needed.\n"
            "Make room and start again.".format(parent, free / 1e9, SPACE_NEEDED_BYTES / 1e9)
        )
    return None


def explain_install(output):
    """Turn what a failed installation printed into a sentence that says what to do."""
    for signs, sentence in INSTALL_PROBLEMS:
        if any(sign in output for sign in signs):
            return sentence
    last = "\n".join(line for line in output.strip().splitlines()[-12:])
    return (
        "The packages could not be installed. Start again; if it fails again, this is why:\n" + last
    )


def run_quietly(command, environ):
    """Run a command and return its output; a terminal sees a dot for every few lines."""
    process = subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, stdin=subprocess.DEVNULL,
        env=environ, encoding="utf-8", errors="replace",
    )  # fmt: skip
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


def clean_environ(folder, environ=None):
    """Return the variables for programs of the environment: its folder first on the path."""
    result = dict(os.environ if environ is None else environ)
    for name in ("PYTHONHOME", "PYTHONPATH", "JUPYTER_PATH", "JUPYTER_CONFIG_PATH"):
        result.pop(name, None)
    result["PATH"] = str(programs_folder(folder)) + os.pathsep + result.get("PATH", "")
    result["VIRTUAL_ENV"] = str(folder)
    result["PYTHONNOUSERSITE"] = "1"
    result["PYTHONUTF8"] = "1"
    result["JUPYTER_PREFER_ENV_PATH"] = "1"
    return result


def prepare(extras, clone=CLONE, folder=None):
    """Make or update the environment if it needs it, and return its folder.

    The stamp is written last and a mark lies beside the environment until then, so whatever was
    interrupted is made anew at the next start.
    """
    folder = environment_folder(clone) if folder is None else Path(folder)
    if state_of(folder, extras, clone) == "ready":
        return folder
    with only_one_at_a_time(folder):
        state = state_of(folder, extras, clone)
        if state == "ready":
            return folder
        problem = what_is_missing(folder)
        if problem:
            raise CannotStartError(problem)
        wanted = sorted(set(extras) | set(read_stamp(folder)["extras"]))
        say("Preparing Lengthwise. This is done once and takes a few minutes.")
        unfinished_mark(folder).touch()
        environ = clean_environ(folder)
        if state == "rebuild":
            shutil.rmtree(str(folder), ignore_errors=True)
            run_quietly([sys.executable, "-m", "venv", str(folder)], environ)
        (folder / STAMP).unlink(missing_ok=True)
        run_quietly(
            [
                str(python_of(folder)), "-m", "pip", "install",
                "--disable-pip-version-check", "--no-input", "--retries", "2",
                "--only-binary", ":all:", "--progress-bar", "off",
                "-c", str(Path(clone) / "requirements.txt"),
                "-e", "{0}[{1}]".format(Path(clone) / "lib", ",".join(wanted)),
            ],
            environ,
        )  # fmt: skip
        stamp = {"fingerprint": fingerprint(clone), "clone": str(clone), "extras": wanted}
        write_json(folder / STAMP, stamp)
        unfinished_mark(folder).unlink()
        say("Ready.")
    return folder


# ------------------------------------------------------------------ Jupyter


def write_settings(folder, class_folder=None):
    """Write Jupyter's settings for a student, or for the instructor of a class.

    They lie in the environment and replace the person's own Jupyter settings, so that a password
    or an extension from elsewhere cannot get in the way.
    """
    settings = Path(folder) / ("jupyter-class" if class_folder else "jupyter-student")
    hidden = {"@jupyterlab/apputils-extension:announcements": True}
    grader = ("formgrader", "validate_assignment", "assignment_list", "course_list")
    shown = ("formgrader",) if class_folder else ()
    if class_folder:
        hidden.update(
            {"@jupyter/nbgrader:assignment-list": True, "@jupyter/nbgrader:course-list": True}
        )
    else:
        hidden["@jupyter/nbgrader"] = True
    server = {
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


def write_json(path, value):
    """Write a file whole or not at all: a server that is starting may be reading it."""
    draft = path.with_name("{0}.{1}".format(path.name, os.getpid()))
    draft.write_text(json.dumps(value), encoding="utf-8")
    os.replace(str(draft), str(path))


def is_root():
    """Tell whether this is the administrator of a Unix machine."""
    return hasattr(os, "geteuid") and os.geteuid() == 0


def jupyter_command(folder, port, root_dir, landing=START_PAGE, as_root=None):
    """Return the command that serves a folder on this machine only."""
    command = [
        str(python_of(folder)), "-m", "jupyterlab", "--no-browser",
        "--ServerApp.ip=127.0.0.1",
        "--ServerApp.port={0}".format(port),
        "--ServerApp.port_retries=0",
        "--ServerApp.root_dir={0}".format(root_dir),
        "--LabApp.default_url={0}".format(landing),
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
        command.append("--ServerApp.terminado_settings={0!r}".format({"shell_command": [shell]}))
    if is_root() if as_root is None else as_root:
        command.append("--allow-root")
    return command


def workshop_command(folder, port, host, most_each, course):
    """Return the command that serves the pages of a workshop."""
    return [
        str(python_of(folder)), "-m", "lengthwise.panels.workshop_server",
        "--course={0}".format(course),
        "--address={0}".format(host),
        "--port={0}".format(port),
        "--most-each={0}".format(most_each),
    ]  # fmt: skip


def address_in_the_room(wanted=FIND_IT):
    """Return the address by which other devices of the room reach this computer."""
    if wanted != FIND_IT:
        try:
            ipaddress.ip_address(wanted)
        except ValueError:
            wanted = "0.0.0.0"
        if ipaddress.ip_address(wanted).is_unspecified:
            raise CannotStartError(
                "The address after --open-to-network must be one of this computer's own, such as "
                "192.168.1.5.\nLeave it out, and it is found."
            )
        return wanted
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            # Nothing is sent: the system only says which of its addresses it would use. The other
            # end is one that the standards keep free for examples (RFC 5737).
            probe.connect(("192.0.2.1", 9))
            found = probe.getsockname()[0]
        except OSError:
            found = "127.0.0.1"
    if ipaddress.ip_address(found).is_loopback:
        raise CannotStartError(
            "This computer is in no network. Connect it to the one of the room and start again,\n"
            "or leave --open-to-network out and show the pages on a screen."
        )
    return found


def is_free(port, host=THIS_COMPUTER):
    """Tell whether nothing listens on a port of this machine."""
    with socket.socket() as probe:
        if not WINDOWS:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except (OSError, OverflowError):
            return False
    return True


def choose_port(wanted=None, host=THIS_COMPUTER):
    """Return the port asked for, or the first free one."""
    if wanted is not None:
        if not 1024 <= wanted <= 65535:
            raise CannotStartError("The port must be a number from 1024 to 65535, such as 8890.")
        if not is_free(wanted, host):
            raise CannotStartError(
                "Port {0} is in use, perhaps by a Lengthwise that is still open. Close that "
                "one,\nor leave --port out and a free one is found.".format(wanted)
            )
        return wanted
    for port in range(FIRST_PORT, FIRST_PORT + 200):
        if is_free(port, host):
            return port
    raise CannotStartError("No free port was found. Close other programs and start again.")


def ask(port, token, path, method="GET", host=THIS_COMPUTER):
    """Send the server a request and return its status, or None when it does not answer."""
    request = urllib.request.Request(
        "http://{0}:{1}{2}".format(host, port, path),
        headers={"Authorization": "token " + token},
        method=method,
    )
    opener = urllib.request.build_opener(urllib.request.ProxyHandler({}))
    try:
        with opener.open(request, timeout=5) as answer:
            return answer.status
    except urllib.error.HTTPError as error:
        return error.code
    except OSError:
        return None


def start_apart(command, **settings):
    """Start a server that does not hear Ctrl-C: this program does, and stops it in good order."""
    apart = (
        {"creationflags": subprocess.CREATE_NEW_PROCESS_GROUP}
        if WINDOWS
        else {"start_new_session": True}
    )
    settings.update(apart)
    return subprocess.Popen(command, stdin=subprocess.DEVNULL, **settings)


class Jupyter:
    """A running server: where it is, and how to stop it."""

    def __init__(self, folder, port, root_dir, landing=START_PAGE, class_folder=None):
        self.port, self.token = port, secrets.token_hex(24)
        self.address = "http://127.0.0.1:{0}{1}?token={2}".format(port, landing, self.token)
        self.log = Path(folder) / "jupyter-{0}.log".format(port)
        environ = clean_environ(folder)
        environ["JUPYTER_CONFIG_DIR"] = str(write_settings(folder, class_folder))
        environ["JUPYTER_PATH"] = str(PAGE_TEMPLATES)
        environ["JUPYTER_TOKEN"] = self.token
        with open(str(self.log), "w") as log:
            self.process = start_apart(
                jupyter_command(folder, port, root_dir, landing),
                cwd=str(root_dir), env=environ, stdout=log, stderr=subprocess.STDOUT,
            )  # fmt: skip

    def answers(self):
        """Tell whether the server answers."""
        return ask(self.port, self.token, "/api/status") == 200

    def wait_until_it_answers(self, seconds=120):
        """Return when the server answers; raise CannotStartError when it ends or never does."""
        end = time.monotonic() + seconds
        while time.monotonic() < end and self.process.poll() is None:
            if self.answers():
                return
            time.sleep(0.2)
        tail = self.log.read_text(encoding="utf-8", errors="replace").splitlines()[-8:]
        raise CannotStartError(
            "Jupyter did not start. Close other windows of it and start again; if it fails "
            "again, this is why:\n" + "\n".join(tail)
        )

    def ask_to_stop(self):
        """Ask the server to end, and its kernels with it."""
        if ask(self.port, self.token, "/api/shutdown", "POST") is None:
            self.process.terminate()

    def stop(self):
        """Stop the server and its kernels, gently first."""
        if self.process.poll() is None:
            self.ask_to_stop()
        for harder in (self.process.terminate, self.process.kill):
            try:
                return self.process.wait(timeout=10)
            except subprocess.TimeoutExpired:
                harder()
        return self.process.wait()


class Workshop(Jupyter):
    """A running server of a workshop's pages: no notebooks, no files, nothing to change."""

    def __init__(self, folder, port, host=THIS_COMPUTER, most_each=1, course=CLONE / "course"):
        self.port, self.host = port, host
        # Short, because people type it on their phones; without letters that look alike.
        self.token = "".join(secrets.choice(WORD_LETTERS) for _ in range(WORD_LENGTH))
        self.address = "http://{0}:{1}/?token={2}".format(host, port, self.token)
        self.log = Path(folder) / "workshop-{0}.log".format(port)
        environ = clean_environ(folder)
        environ["JUPYTER_CONFIG_DIR"] = str(write_settings(folder))
        environ["JUPYTER_PATH"] = str(PAGE_TEMPLATES)
        environ["JUPYTER_TOKEN"] = self.token
        with open(str(self.log), "w") as log:
            # What it says to the person comes to this window, what it writes down to the log.
            self.process = start_apart(
                workshop_command(folder, port, host, most_each, course),
                env=environ, stdout=2, stderr=log,
            )  # fmt: skip

    def answers(self):
        """Tell whether the server answers."""
        return ask(self.port, self.token, "/login", host=self.host) == 200

    def ask_to_stop(self):
        """End the server, and its kernels with it: no address of it does that."""
        self.process.terminate()


def stop_on_signals():
    """Treat a closed terminal and a polite request to end as Ctrl-C."""

    def stop(number, frame):
        raise KeyboardInterrupt

    for name in ("SIGTERM", "SIGHUP", "SIGBREAK"):
        if hasattr(signal, name):
            signal.signal(getattr(signal, name), stop)


def serve(folder, options):
    """Serve the course, or a class folder for its instructor, until stopped."""
    root_dir, landing = CLONE / "course", START_PAGE
    if options.class_folder:
        root_dir, landing = Path(options.class_folder).resolve(), FORM_VIEW
        if not (root_dir / "nbgrader_config.py").is_file():
            raise CannotStartError(
                "{0} is not a class folder. Make one with:\n"
                "  python3 course/start.py run new-class NAME --roster roster.csv".format(root_dir)
            )
    port = choose_port(options.port)
    server = Jupyter(folder, port, root_dir, landing, options.class_folder)
    return serve_until_stopped(
        server, options, "Leave this window open while you work. To stop, press Ctrl-C in it.",
        "Lengthwise is closed. Your notebooks are kept.",
    )  # fmt: skip


def serve_workshop(folder, options):
    """Serve the pages of a workshop, on this computer or in the room, until stopped."""
    host, most_each = THIS_COMPUTER, 1
    words = "Only this computer can open it: show it on a screen.\n"
    if options.open_to_network:
        host, most_each = address_in_the_room(options.open_to_network), os.cpu_count() or 1
        words = (
            "Every device in this network that has the whole address can open it, phones too.\n"
            "What is sent can be read by others in the network: use one that you trust, never an "
            "open one.\n"
        )
    workshop = Workshop(folder, choose_port(options.port, host), host, most_each)
    return serve_until_stopped(
        workshop, options,
        words + "Each open page takes 150 MB of memory. To stop, press Ctrl-C in this window.",
        "The workshop is closed. Nothing of it is kept.",
    )  # fmt: skip


def serve_until_stopped(server, options, at_first, at_last):
    """Show a server's first page and wait until somebody stops it."""
    try:
        server.wait_until_it_answers()
        sys.stdout.write("Lengthwise is open at:  " + server.address + "\n")
        sys.stdout.flush()
        say(at_first)
        if not options.no_browser:
            webbrowser.open(server.address)
        server.process.wait()
    except KeyboardInterrupt:
        pass
    finally:
        server.stop()
    say(at_last)
    return 0


def run_command(folder, arguments):
    """Run the lengthwise command of the environment and return its exit code."""
    program = programs_folder(folder) / ("lengthwise.exe" if WINDOWS else "lengthwise")
    environ = clean_environ(folder)
    # So that the command can say what to type next in the words that were typed.
    environ["LENGTHWISE_TYPED"] = "%s %s run" % ("py" if WINDOWS else "python3", sys.argv[0])
    process = subprocess.Popen([str(program)] + arguments, env=environ)
    while True:
        try:
            return process.wait()
        except KeyboardInterrupt:
            # The command heard it too; let it end in its own way.
            continue


def read_options(arguments):
    """Return the options and what follows the word run, which is None without that word."""
    parser = argparse.ArgumentParser(
        prog="start.py",
        description="Open the course in a browser, or run one of its commands.",
        epilog="run ARGUMENTS ...   runs the command lengthwise, for example: run --help",
    )
    parser.add_argument("--no-browser", action="store_true", help="only print the address")
    parser.add_argument("--port", type=int, help="use this port, not the first free one")
    parser.add_argument(
        "--class", dest="class_folder", metavar="FOLDER",
        help="for instructors: open a class folder with the grader's menus",
    )  # fmt: skip
    parser.add_argument(
        "--workshop", action="store_true",
        help="the lessons and practice as pages only: no code, no files, nothing kept",
    )  # fmt: skip
    parser.add_argument(
        "--open-to-network", nargs="?", const=FIND_IT, metavar="ADDRESS",
        help="with --workshop: let other devices of the room open it, at this computer's address",
    )  # fmt: skip
    at = arguments.index("run") if "run" in arguments else len(arguments)
    options = parser.parse_args(arguments[:at])
    if options.open_to_network and not options.workshop:
        parser.error("--open-to-network belongs to --workshop: notebooks stay on this computer")
    if options.workshop and options.class_folder:
        parser.error("--workshop and --class are two things: start one, then the other")
    return options, arguments[at + 1 :] if at < len(arguments) else None


def main(arguments=None):
    """Do what the command line asks and return the exit code."""
    options, forwarded = read_options(sys.argv[1:] if arguments is None else arguments)
    stop_on_signals()
    try:
        folder = prepare(["course"])
        if forwarded is not None:
            return run_command(folder, forwarded)
        if options.workshop:
            return serve_workshop(folder, options)
        return serve(folder, options)
    except CannotStartError as problem:
        say(str(problem))
        return 1
    except KeyboardInterrupt:
        say("Stopped. What was begun is done again at the next start.")
        return 130


if __name__ == "__main__":
    sys.exit(main())
