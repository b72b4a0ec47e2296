"""What the instructor's guide tells people to do, as data, and checks that it can be done.

A page is read from the top: a block that is to be saved as a file, a command, the next command. So
a test may also do what a page says, step by step, in an empty folder.
"""

import re
import shlex
from collections.abc import Iterable
from pathlib import Path
from typing import Any, NamedTuple

from lengthwise.cli import app
from lengthwise.marking.casebook import COMPOSERS
from opening.program import read_options
from typer.main import get_command

ROOT = Path(__file__).resolve().parents[2]
GUIDE = ROOT / "instructor_guide"
MOST_LINES = 250
NEEDED_OPTIONS = ("--class", "--roster", "--second-marks")
READS_A_FILE = ("reconcile", "reconcile-class", "teeth")

START = "python3 course/start.py"
_BLOCK = re.compile(r"^```(\w*)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
_SAVE_AS = re.compile(r"\b[Ss]ave[ds]?\b[^.`]*`([\w.-]+\.(?:csv|json))`")
_INLINE = re.compile(r"`(python3 course/start\.py[^`\n]*)`")
_LINK = re.compile(r"\[[^\]]+\]\(([^)\s]+)\)")
_FILE = re.compile(r"`((?:course|lib|datasets|tests|instructor_guide)/[\w./-]*)`")
_ASSIGNMENT = re.compile(r"\ba[1-9]_[a-z_]+\b")


class Saved(NamedTuple):
    """A block that the reader saves under this name, in the folder of the course."""

    name: str
    text: str


class Command(NamedTuple):
    """A line that somebody types, and what follows ``python3 course/start.py`` in it."""

    arguments: tuple[str, ...]
    line: str


def pages(folder: Path = GUIDE) -> list[Path]:
    """The pages of the guide."""
    return sorted(folder.glob("*.md"))


def steps(text: str) -> list[Saved | Command]:
    """What a page says to do, in its order."""
    found: list[Saved | Command] = []
    before = 0
    for block in _BLOCK.finditer(text):
        names = _SAVE_AS.findall(text[before : block.start()])
        before = block.end()
        if block[1] in ("csv", "json"):
            found += [Saved(names[-1] if names else "", block[2])]
        elif not block[1]:
            found += [command(line) for line in block[2].splitlines() if line.startswith(START)]
    return found


def command(line: str) -> Command:
    """A line of the guide as arguments."""
    return Command(tuple(shlex.split(line.removeprefix(START), comments=False)), line)


def between(text: str, first: str, last: str = "") -> str:
    r"""What a page says from the heading that begins with ``first`` up to ``last``, or to its end.

    >>> between("# A\n## 1. One\nx\n## 2. Two\ny\n", "## 1.", "## 2.")
    '## 1. One\nx\n'
    """
    start_at = text.index(f"\n{first}") + 1
    return text[start_at : text.index(f"\n{last}", start_at) + 1] if last else text[start_at:]


def inline(text: str) -> list[Command]:
    """Commands that stand within a sentence of a page."""
    return [command(line) for line in _INLINE.findall(text)]


def refused(arguments: Iterable[str]) -> str:
    """Why ``start.py`` or the command behind it refuses these arguments; empty if it does not."""
    arguments = list(arguments)
    try:
        _, forwarded = read_options(arguments)
    except SystemExit:
        return f"start.py does not know {' '.join(arguments)}"
    if forwarded is None or "--help" in forwarded:
        return ""
    commands: Any = get_command(app)
    name, *rest = forwarded or [""]
    context = commands.make_context("lengthwise", [name, *rest] if name else ["--version"])
    one = commands.get_command(context, name)
    if one is None:
        return f"there is no command {name}"
    try:
        one.make_context(name, rest)
    except Exception as error:
        if not hasattr(error, "format_message"):
            raise
        return f"{name}: {error.format_message()}"
    return ""


def problems(text: str, home: Path) -> list[str]:
    """Name what a page that lies at ``home`` asks for and is not there."""
    found = []
    lines = len(text.splitlines())
    if lines > MOST_LINES:
        found.append(f"{lines} lines, more than {MOST_LINES}")
    there = steps(text)
    commands = [one for one in there if isinstance(one, Command)]
    commands += inline(text)
    found += [why for one in commands if (why := refused(one.arguments))]
    found += _not_made_before(there)
    found += [why for link in _LINK.findall(text) if (why := _broken(link, text, home))]
    found += [f"no file {name}" for name in _FILE.findall(text) if not (ROOT / name).exists()]
    files = tuple(f"{name}_" for name in COMPOSERS)  # names that begin with an assignment's
    named = [a for a in _ASSIGNMENT.findall(text) if not a.startswith(files)]
    found += [f"no assignment {a}" for a in named if a not in COMPOSERS]
    return found


def _not_made_before(there: list[Saved | Command]) -> list[str]:
    """Classes and files that a command needs and nothing above it has made."""
    made: set[str] = set()
    found = []
    for one in there:
        if isinstance(one, Saved):
            made.add(one.name)
            continue
        words = list(one.arguments)
        if words[:2] == ["run", "new-class"]:
            made.add(f"{_after('--in', words) or '.'}/{words[2]}")
        if words[:2] == ["run", "demo"]:
            made.add(f"{words[2]}/demo-class")
        needed = [_after(option, words) for option in NEEDED_OPTIONS]
        needed += words[2:3] if words[1:2] and words[1] in READS_A_FILE else []
        found += [f"{name} is made nowhere above" for name in needed if name and name not in made]
    return found


def _after(option: str, words: list[str]) -> str:
    return words[words.index(option) + 1] if option in words[:-1] else ""


def _broken(link: str, text: str, home: Path) -> str:
    """Why a link leads nowhere; empty if it leads somewhere."""
    if "://" in link:
        return ""
    name, _, place = link.partition("#")
    target = (home / name).resolve()
    if name and not target.exists():
        return f"no file {link}"
    there = target.read_text(encoding="utf-8") if name else text
    return f"no heading for {link}" if place and place not in anchors(there) else ""


def anchors(text: str) -> set[str]:
    r"""The places that a link may lead to: headings in small letters, with hyphens.

    >>> sorted(anchors("# One\n## 2. Hand out, twice (a)\n"))
    ['2-hand-out-twice-a', 'one']
    """
    plain = _BLOCK.sub("", text)
    heads = re.findall(r"^#{1,6} (.+)$", plain, re.MULTILINE)
    return {re.sub(r"[^\w -]", "", head.casefold()).replace(" ", "-") for head in heads}
