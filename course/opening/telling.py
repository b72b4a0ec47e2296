"""What is said to the person at the keyboard, above all where something went wrong."""

import sys

from opening.python_version import NEWEST_TESTED, OLDEST

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
        "A package has no version for this Python and this system. Python {}.{} to {}.{} are\n"
        "tested: install one of them from https://www.python.org/downloads/ and start "
        "again.".format(*(OLDEST + NEWEST_TESTED)),
    ),
)  # fmt: skip


class CannotStartError(Exception):
    """A sentence for the person at the keyboard."""


def say(sentence: str) -> None:
    """Tell the person something; never on the output that a command may be piped from."""
    sys.stderr.write(sentence + "\n")
    sys.stderr.flush()


def explain_install(output: str) -> str:
    """Turn what a failed installation printed into a sentence that says what to do."""
    for signs, sentence in INSTALL_PROBLEMS:
        if any(sign in output for sign in signs):
            return sentence
    last = "\n".join(line for line in output.strip().splitlines()[-12:])
    return (
        "The packages could not be installed. Start again; if it fails again, this is why:\n" + last
    )
