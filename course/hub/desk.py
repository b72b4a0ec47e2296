"""One user's server, started by the hub under the user's own name: a student's or a grader's.

A student finds the course's pages in the folder lengthwise of their home, each class by itself;
the pages are the school's and are renewed at every start, the assignments beside them are theirs.
"""

import os
import sys
from pathlib import Path

COURSE = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(COURSE))

from lengthwise.classroom.hub_login import Login, this_login  # noqa: E402
from opening.environment import clean_environ  # noqa: E402
from opening.servers import (  # noqa: E402
    PAGE_TEMPLATES,
    START_PAGE,
    jupyter_command,
    write_settings,
)

NOT_OURS = ("--ServerApp.ip=", "--ServerApp.port", "--MappingKernelManager.cull_idle_timeout=")


def student_folder(login: Login) -> Path:
    """Return the student's folder of a class, with the pages of the course in it."""
    from lengthwise.panels.hub_pages import HANDS_IN, ON_A_HUB, write_pages

    folder = Path.home() / "lengthwise" / login.class_name
    folder.mkdir(parents=True, exist_ok=True)
    write_pages(COURSE, folder, {**ON_A_HUB, **(HANDS_IN if login.hands_in else {})})
    return folder


def command(root: Path, landing: str, class_folder: str | None) -> list[str]:
    """Return the command of the server; where it listens, the hub says in the environment."""
    settled = jupyter_command(Path(sys.prefix), 0, root, landing, as_root=False)[3:]
    idle = os.environ["LENGTHWISE_IDLE_PAGE_S"]
    return [
        sys.executable, "-m", "jupyterhub.singleuser",
        *(option for option in settled if not option.startswith(NOT_OURS)),
        f"--MappingKernelManager.cull_idle_timeout={idle}",
    ]  # fmt: skip


def main() -> None:
    """Become the server."""
    class_folder = os.environ.get("LENGTHWISE_CLASS")
    home = Path.home() / ".local" / "share" / "lengthwise-hub"
    if class_folder:
        # What one grader writes, the other may change; nobody else may see it.
        os.umask(0o007)
        root, landing = Path(class_folder), "/formgrader"
    else:
        os.umask(0o077)
        root, landing = student_folder(this_login()), START_PAGE
    environ = clean_environ(Path(sys.prefix))
    environ["JUPYTER_CONFIG_DIR"] = str(write_settings(home, class_folder))
    environ["JUPYTER_PATH"] = str(PAGE_TEMPLATES)
    os.chdir(root)
    arguments = command(root, landing, class_folder)
    os.execve(arguments[0], arguments, environ)


if __name__ == "__main__":
    main()
