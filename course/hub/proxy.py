"""The proxy of the hub: free ports, and where Debian keeps what it needs."""

import os
import shutil
import socket
import subprocess

DEBIAN = "/usr/share/nodejs"
PROGRAM = "configurable-http-proxy"


def free_port() -> int:
    """Return a port of this computer on which nothing listens."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def starts(environ) -> bool:
    """Tell whether the proxy finds its own modules."""
    done = subprocess.run(
        [shutil.which(PROGRAM) or PROGRAM, "--version"], env=dict(environ),
        capture_output=True, check=False,
    )  # fmt: skip
    return done.returncode == 0


def find_node_modules(environ) -> None:
    """Set NODE_PATH where the proxy is Debian's and node is not: it looks elsewhere by itself."""
    if shutil.which(PROGRAM) is None:
        raise SystemExit(
            f"The hub was not started. The program {PROGRAM} is missing; install it. On Debian and "
            "Ubuntu: apt install node-configurable-http-proxy"
        )
    if starts(environ):
        return
    paths = [DEBIAN, *filter(None, [environ.get("NODE_PATH")])]
    changed = {**environ, "NODE_PATH": os.pathsep.join(paths)}
    if not starts(changed):
        raise SystemExit(
            f"The hub was not started. {PROGRAM} does not run, with NODE_PATH={DEBIAN} neither; "
            f"type {PROGRAM} --version and mend what it says."
        )
    environ["NODE_PATH"] = changed["NODE_PATH"]
