"""The checks of the house rules, as functions that can be pointed at good or bad samples."""

import ast
import itertools
import json
import os
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).resolve().parents[2]
SETTINGS = ROOT / "lib" / "pyproject.toml"
PROGRAMS = Path(sys.executable).parent

MODULE_LINES = 300
# Modules that are tables, and may be longer.
TABLE_MODULES: frozenset[str] = frozenset()
TOP_LEVEL = {
    "README.md", "DEVELOPERS.md", "requirements.txt",
    "course", "lib", "tests", "datasets", "instructor_guide",
}  # fmt: skip
# Heavy packages that only what needs them may load.
HEAVY = (
    "scipy.stats", "matplotlib", "pandas", "nbgrader", "ipywidgets", "anywidget", "IPython",
    "typer", "rich", "statsmodels", "pingouin",
)  # fmt: skip
# Folders of one machine: whoever clones the project does not have them.
MACHINE_PATH = re.compile(r"(?<![\w.:/*<])/(?:root|home|work|Users|mnt)/\w|[A-Z]:\\Users\\\w")
INDEX_ADDRESS = re.compile(r"--(?:extra-)?index-url|--find-links|--hash|https?://|file:|(?: @ )")
# Words of an item that are as long as this stand nowhere by chance.
LONG_CHARS = 30
# What a built package may carry, and words that betray what it must not.
CARRIED = re.compile(r"\.(?:py|typed|mplstyle|css|js|mjs|html|j2|json|csv|svg|md)$")
BETRAYING = re.compile(r"(?:^|/)(?:items|answers|source|release|submitted|secret)(?:/|$|\.(?!py$))")


class Outcome(NamedTuple):
    """Whether a check passed, and what it said."""

    passed: bool
    words: str


def run(*command: str | Path, cwd: Path = ROOT, **variables: str) -> Outcome:
    """Run a program of the environment; it passes with exit code 0."""
    done = subprocess.run(
        [str(part) for part in command],
        cwd=cwd,
        env={**os.environ, **variables},
        capture_output=True,
        text=True,
        encoding="utf-8",
        errors="replace",
    )
    return Outcome(done.returncode == 0, done.stdout + done.stderr)


def contracts(package_parent: Path) -> Outcome:
    """Hold the import contracts over the package in a folder."""
    return run(
        PROGRAMS / "lint-imports", "--no-logo", "--no-cache", SETTINGS,
        cwd=package_parent, PYTHONPATH=str(package_parent),
    )  # fmt: skip


def types(path: Path, *, cache: Path) -> Outcome:
    """Check a file or package with mypy in the strict form of the project's settings."""
    return run(
        PROGRAMS / "mypy", "--config-file", SETTINGS, "--cache-dir", cache, path, cwd=path.parent
    )


def lint(path: Path) -> Outcome:
    """Check style and likely bugs."""
    return run(PROGRAMS / "ruff", "check", "--no-cache", "--config", SETTINGS, path)


def layout(path: Path) -> Outcome:
    """Check the layout of code."""
    return run(PROGRAMS / "ruff", "format", "--check", "--no-cache", "--config", SETTINGS, path)


def doctests(path: Path) -> Outcome:
    """Run the examples in docstrings."""
    return run(
        sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", "--noconftest",
        "-c", ROOT / ".pytest.ini", "--rootdir", path.parent, path,
        PYTEST_DISABLE_PLUGIN_AUTOLOAD="1",
    )  # fmt: skip


def stripped(*notebooks: Path) -> Outcome:
    """Check that notebooks store no outputs but those of cells tagged keep_output."""
    return run(PROGRAMS / "nbstripout", "--verify", "--keep-id", *notebooks)


def notebook_problems(text: str) -> list[str]:
    """Name what a notebook holds that it should not, or lacks: pictures, headings, texts for them.

    One heading of the first rank, no rank skipped, no stored picture, a text for every picture.
    """
    cells = json.loads(text)["cells"]
    problems = []
    ranks = []
    for number, cell in enumerate(cells, start=1):
        source = "".join(cell["source"])
        if cell.get("attachments"):
            problems.append(f"cell {number} has a picture attached")
        for output in cell.get("outputs", ()):
            kept = json.dumps(output.get("data", {}))
            if '"image/' in kept or "data:image/" in kept:
                problems.append(f"cell {number} stores a picture")
        if cell["cell_type"] == "markdown":
            if re.search(r"!\[\s*\]\(|<img(?![^>]*\balt=\"[^\"]+\")", source):
                problems.append(f"cell {number} shows a picture without a text for it")
            if "data:image/" in source:
                problems.append(f"cell {number} has a picture written into it")
            plain = re.sub(r"```.*?```", "", source, flags=re.DOTALL)
            ranks += [len(marks) for marks in re.findall(r"^(#{1,6}) ", plain, re.MULTILINE)]
    if ranks.count(1) != 1:
        problems.append(f"{ranks.count(1)} headings of the first rank where there should be one")
    if any(after > before + 1 for before, after in itertools.pairwise(ranks)):
        problems.append("a heading rank is skipped")
    return problems


def long_modules(package: Path) -> list[str]:
    """Name the modules of more than 300 lines in all."""
    return [
        f"{path.relative_to(package)}: {count} lines"
        for path in sorted(package.rglob("*.py"))
        if (count := len(path.read_text(encoding="utf-8").splitlines())) > MODULE_LINES
        and path.relative_to(package).as_posix() not in TABLE_MODULES
    ]


def heavy_after(statement: str, *, path: Path | None = None) -> list[str]:
    """Name the heavy packages that a statement loads in a fresh Python."""
    code = f"import sys; {statement}; print(*[m for m in {HEAVY!r} if m in sys.modules])"
    outcome = run(sys.executable, "-c", code, **({"PYTHONPATH": str(path)} if path else {}))
    if not outcome.passed:
        raise RuntimeError(outcome.words)
    return outcome.words.split()


def root_imports(package: Path) -> list[str]:
    """Name the modules that import from the package's own front, and so around the floors.

    Asking the package where it lies is no such import.
    """
    found = []
    for path in sorted(package.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            match node:
                case ast.ImportFrom(module="lengthwise", level=0):
                    found.append(f"{path.relative_to(package)}:{node.lineno}")
                case ast.Attribute(value=ast.Name(id="lengthwise"), attr=name) if (
                    name != "__file__" and not (package / name).exists()
                ):
                    found.append(f"{path.relative_to(package)}:{node.lineno}")
    # The front itself has to name its homes.
    return [place for place in found if not place.startswith("__init__.py:")]


def project_files(root: Path = ROOT) -> list[Path]:
    """Return the files that belong to the project: known to git, or not yet but not ignored."""
    listed = run("git", "ls-files", "-z", "--cached", "--others", "--exclude-standard", cwd=root)
    if not listed.passed:
        raise RuntimeError(listed.words)
    return [root / name for name in listed.words.split("\0") if name and (root / name).is_file()]


def machine_paths(files: Iterable[Path]) -> list[str]:
    """Name the lines that hold a path of somebody's machine."""
    found = []
    for path in files:
        try:
            lines = path.read_text(encoding="utf-8").splitlines()
        except UnicodeDecodeError:
            continue
        found += [
            f"{path.name}:{number}: {line.strip()[:100]}"
            for number, line in enumerate(lines, start=1)
            if MACHINE_PATH.search(line)
        ]
    return found


def strange_entries(names: Iterable[str]) -> list[str]:
    """Name the top-level entries that have no place there; those with a dot are free."""
    return sorted(name for name in names if name not in TOP_LEVEL and not name.startswith("."))


def strange_members(names: Iterable[str]) -> list[str]:
    """Name what a built package carries and must not: keys, classes, and kinds of file unknown."""
    return sorted(
        name
        for name in names
        if not name.endswith("/")
        and ".dist-info/" not in name
        and (BETRAYING.search(name) or not CARRIED.search(name))
    )


def words_of(text: str) -> str:
    """The words of a text alone, so that quotes, line ends and JSON do not hide it."""
    return " ".join(re.findall(r"\w+", re.sub(r"\\[nt\"]", " ", text)))


def item_words(folder: Path) -> dict[str, str]:
    """The first words of every question, option and feedback of the items, by where they stand."""
    found = {}
    for path in sorted(folder.glob("*.toml")):
        for name, item in tomllib.loads(path.read_text(encoding="utf-8"))["items"].items():
            texts = {"stem": item["stem"]}
            for number, option in enumerate(item["options"], 1):
                texts[f"option {number}"] = option["text"]
                texts[f"feedback {number}"] = option["feedback"]
            found |= {f"{path.stem} {name} {where}": text for where, text in texts.items()}
    return {where: words_of(text)[:80] for where, text in found.items()}


def telling(texts: Mapping[str, str], items: Mapping[str, str]) -> list[str]:
    """Name the texts that hold the words of an item; short options are left out, they are words."""
    plain = {name: words_of(text) for name, text in texts.items()}
    return [
        f"{name}: {where}"
        for name, text in plain.items()
        for where, words in items.items()
        if len(words) >= LONG_CHARS and words in text
    ]


def loose_lines(lock: str) -> list[str]:
    """Name the lines of a lock that pin no version, or name an index, a hash or an address."""
    pinned = re.compile(r"^[a-z0-9][a-z0-9.-]*==[^\s;]+(?: ; .+)?$")
    return [
        line
        for line in lock.splitlines()
        if line
        and not line.startswith("#")
        and (INDEX_ADDRESS.search(line) or not pinned.match(line))
    ]


def resolved_elsewhere(system: str, python: str, lock: Path) -> Outcome:
    """Resolve the lock for another system and Python against the index, from wheels alone."""
    return run(
        PROGRAMS / "uv", "pip", "compile", SETTINGS, "--extra", "course", "--extra", "dev",
        "--constraints", lock, "--python-platform", system, "--python-version", python,
        "--only-binary", ":all:", "--no-header", "--no-annotate", "--no-config", "--quiet",
    )  # fmt: skip
