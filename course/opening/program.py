"""What the command line asks for: the course, a class, a workshop, or a command of the library."""

import argparse
import json
import os
import shlex
import signal
import subprocess
import sys
import webbrowser
from pathlib import Path
from types import FrameType

from opening.environment import CLONE, WINDOWS, clean_environ, prepare, programs_folder
from opening.ports import FIND_IT, THIS_COMPUTER, address_in_the_room, choose_port
from opening.servers import FORM_VIEW, START_PAGE, Server, start_course, start_workshop
from opening.telling import CannotStartError, say

COMMANDS = frozenset([
    "new-class", "own-cases", "pack", "collect", "grade", "marks", "feedback", "report", "demo",
    "pages", "reconcile", "reconcile-class", "teeth", "teeth-template", "move-gradebook", "doctor",
])  # fmt: skip
"""The words that may follow run; listed here, because the library may not be installed yet."""


class Options(argparse.Namespace):
    """What can be asked for on the command line."""

    no_browser: bool
    port: int | None
    class_folder: str | None
    workshop: bool
    open_to_network: str | None


def stop_on_signals() -> None:
    """Treat a closed terminal and a polite request to end as Ctrl-C."""

    def stop(number: int, frame: FrameType | None) -> None:
        raise KeyboardInterrupt

    for name in ("SIGTERM", "SIGHUP", "SIGBREAK"):
        if hasattr(signal, name):
            signal.signal(getattr(signal, name), stop)


def serve(folder: Path, options: Options) -> int:
    """Serve the course, or a class folder for its instructor, until stopped."""
    root_dir, landing = CLONE / "course", START_PAGE
    if options.class_folder:
        root_dir, landing = Path(options.class_folder).resolve(), FORM_VIEW
        if not (root_dir / "nbgrader_config.py").is_file():
            raise CannotStartError(
                f"{root_dir} is not a class folder. Make one with:\n"
                "  python3 course/start.py run new-class NAME --roster roster.csv"
            )
    port = choose_port(options.port)
    server = start_course(folder, port, root_dir, landing, options.class_folder)
    return serve_until_stopped(
        server, options, "Leave this window open while you work. To stop, press Ctrl-C in it.",
        "Lengthwise is closed. Your notebooks are kept.",
    )  # fmt: skip


def serve_workshop(folder: Path, options: Options) -> int:
    """Serve the pages of a workshop, on this computer or in the room, until stopped."""
    host, most_each = THIS_COMPUTER, 1
    words = "Only this computer can open it: show it on a screen.\n"
    if options.open_to_network:
        host = address_in_the_room(folder, options.open_to_network)
        most_each = os.cpu_count() or 1
        words = (
            "Every device in this network that has the whole address can open it, phones too.\n"
            "What is sent can be read by others in the network: use one that you trust, never an "
            "open one.\n"
        )
    workshop = start_workshop(folder, choose_port(options.port, host), host, most_each)
    return serve_until_stopped(
        workshop, options,
        words + "Each open page takes 150 MB of memory. To stop, press Ctrl-C in this window.",
        "The workshop is closed. Nothing of it is kept.",
    )  # fmt: skip


def serve_until_stopped(server: Server, options: Options, at_first: str, at_last: str) -> int:
    """Show a server's first page and wait until somebody stops it, here or in its own menu."""
    ended_badly = False
    try:
        server.wait_until_it_answers()
        sys.stdout.write("Lengthwise is open at:  " + server.address + "\n")
        sys.stdout.flush()
        say(at_first)
        if not options.no_browser:
            webbrowser.open(server.address)
        ended_badly = server.process.wait() != 0
    except KeyboardInterrupt:
        pass
    finally:
        server.stop()
    if ended_badly:
        say(
            "The server ended by itself. What was saved is kept. Start again; if it happens again, "
            "this is why:\n" + server.last_words()
        )
        return 1
    say(at_last)
    return 0


def typed_before() -> list[str]:
    """Return what is typed before a command, in the words that this program was started with."""
    return ["py" if WINDOWS else "python3", sys.argv[0], "run"]


def run_command(folder: Path, arguments: list[str]) -> int:
    """Run the lengthwise command of the environment and return its exit code."""
    program = programs_folder(folder) / ("lengthwise.exe" if WINDOWS else "lengthwise")
    environ = clean_environ(folder)
    # So that the command can say what to type next in the words that were typed.
    environ["LENGTHWISE_TYPED"] = json.dumps(typed_before())
    process = subprocess.Popen([str(program), *arguments], env=environ)
    while True:
        try:
            return process.wait()
        except KeyboardInterrupt:
            # The command heard it too; let it end in its own way.
            continue


def read_options(arguments: list[str]) -> tuple[Options, list[str] | None]:
    """Return the options and what follows the word run, which is None without that word."""
    parser = argparse.ArgumentParser(
        prog="start.py",
        description="Open the course in a browser, or run one of its commands.",
        epilog="run ARGUMENTS ...   runs the command lengthwise, for example: run --help",
        allow_abbrev=False,  # a slip of the keyboard is said, not guessed at
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
    if arguments and arguments[0] in COMMANDS:
        words = [*typed_before(), *arguments]
        line = subprocess.list2cmdline(words) if WINDOWS else shlex.join(words)
        parser.exit(2, f"Did you mean: {line}\n")
    at = arguments.index("run") if "run" in arguments else len(arguments)
    options = parser.parse_args(arguments[:at], Options())
    if options.open_to_network and not options.workshop:
        parser.error("--open-to-network belongs to --workshop: notebooks stay on this computer")
    if options.workshop and options.class_folder:
        parser.error("--workshop and --class are two things: start one, then the other")
    return options, arguments[at + 1 :] if at < len(arguments) else None


def main(arguments: list[str] | None = None) -> int:
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
