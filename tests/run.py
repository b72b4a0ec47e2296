"""Run every check:  python3 tests/run.py [--quick] [any arguments of pytest]

Makes or updates the same environment as course/start.py, with the tools for development.
--quick leaves out what takes more than a few seconds. -k WORD and other arguments go to pytest.
"""

import os
import shutil
import subprocess
import sys

HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.dirname(HERE)
sys.path.insert(0, os.path.join(ROOT, "course"))

import start  # noqa: E402, F401  (says so, and stops, when this Python is too old)
from opening.environment import clean_environ, prepare, python_of  # noqa: E402
from opening.servers import is_root  # noqa: E402
from opening.telling import CannotStartError, say  # noqa: E402

# The programs that tests need, the Debian package of each, and which tests go without it.
SYSTEM = (
    (("chromium", "chromium-browser", "google-chrome", "chrome"), "chromium", "browser"),
    (("ngspice",), "ngspice", "ngspice"),
    (("configurable-http-proxy",), "node-configurable-http-proxy", "hub"),
    (("pg_lsclusters",), "postgresql", "postgresql"),
)
NOTHING_COLLECTED = 5


def missing_programs(which=shutil.which):
    """Return (Debian package, mark of the tests) for each program that is not here."""
    return [
        (package, mark) for names, package, mark in SYSTEM if not any(which(name) for name in names)
    ]


def install_programs(missing, which=shutil.which, is_root=is_root, call=subprocess.call):
    """Install missing programs where this is allowed; return those that are missing still."""
    if not missing or not is_root() or not which("apt-get"):
        return missing
    environ = dict(os.environ, DEBIAN_FRONTEND="noninteractive")
    packages = [package for package, _ in missing]
    say("Installing " + " and ".join(packages) + " for the tests.")
    quiet = {"env": environ, "stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
    call(["apt-get", "update", "-qq"], **quiet)
    call(["apt-get", "install", "-y", "-qq", "--no-install-recommends"] + packages, **quiet)
    return missing_programs(which)


def skip_line(missing):
    """Say in one line which tests are skipped, and why."""
    return "Skipped: " + "; ".join(
        "the tests marked {0}, because {1} is not installed".format(mark, package)
        for package, mark in missing
    )


def as_path(argument):
    """Return an argument that names a file or folder of tests in full, and None for any other."""
    name = argument.split("::")[0]
    looks_like_one = "/" in name or os.sep in name or name.endswith(".py")
    return os.path.abspath(argument) if looks_like_one and os.path.exists(name) else None


def rounds(arguments):
    """Return the arguments of pytest for each round.

    Benchmarks compare times within one process, so they have the machine to themselves.
    """
    passed = [as_path(argument) or argument for argument in arguments if argument != "--quick"]
    if "--quick" in arguments:
        passed = ["-m", "not slow"] + passed
    if any(as_path(argument) for argument in arguments):
        return [passed]
    bench = os.path.join(HERE, "bench")
    library = os.path.join(ROOT, "lib", "lengthwise")
    # In the order of tests/conftest.py: the files with slow tests first. Three on two processors:
    # tests of browsers, servers and installations wait for much of their time.
    parallel = ["-n", "3", "--dist", "loadfile", "--no-loadscope-reorder", "--ignore", bench]
    together = parallel + passed + [HERE, library]
    return [together, passed + [bench]] if os.path.isdir(bench) else [together]


def verdict(codes):
    """Return the first failure; a round without tests is one only if no round had any."""
    found = [code for code in codes if code != NOTHING_COLLECTED]
    if not found:
        return NOTHING_COLLECTED
    return next((code for code in found if code), 0)


def main(arguments=None):
    """Prepare, run, and return the exit code."""
    arguments = sys.argv[1:] if arguments is None else arguments
    try:
        folder = prepare(["course", "dev", "hub"])
    except CannotStartError as problem:
        say(str(problem))
        return 1
    missing = install_programs(missing_programs())
    environ = clean_environ(folder)
    codes = []
    for selected in rounds(arguments):
        command = [str(python_of(folder)), "-m", "pytest"] + selected
        codes.append(subprocess.call(command, cwd=ROOT, env=environ))
    if missing:
        say(skip_line(missing))
    return verdict(codes)


if __name__ == "__main__":
    sys.exit(main())
