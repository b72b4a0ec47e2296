"""At which address of this computer a server listens, and whether it answers."""

import ipaddress
import socket
import subprocess
import urllib.error
import urllib.request
from pathlib import Path

from opening.environment import WINDOWS, clean_environ, python_of
from opening.telling import CannotStartError

FIRST_PORT = 8888
THIS_COMPUTER = "127.0.0.1"
FIND_IT = "find"


def address_in_the_room(folder: Path, wanted: str = FIND_IT) -> str:
    """Return the address by which other devices of the room reach this computer.

    What lies in the environment's folder is asked where no network leads further.
    """
    return _found_address(folder) if wanted == FIND_IT else _own_address(wanted)


def _own_address(wanted: str) -> str:
    """Return the address that was named, if it is one of this computer's."""
    try:
        address = ipaddress.ip_address(wanted)
    except ValueError:
        address = None
    if address is None or address.is_unspecified:
        raise CannotStartError(
            "The address after --open-to-network must be one of this computer's own, such as "
            "192.168.1.5.\nLeave it out, and it is found."
        )
    if address.version != 4:
        raise CannotStartError(
            f"{wanted} is an IPv6 address, and pages are shown at IPv4 addresses only, such as "
            "192.168.1.5.\nLeave it out, and one is found."
        )
    if not is_free(0, wanted):  # the system chooses a port, so it is not that one is in use
        raise CannotStartError(
            f"{wanted} is not an address of this computer, or not any more. Leave it out, and the "
            "right one is found."
        )
    return wanted


def _found_address(folder: Path) -> str:
    """Return the address towards the internet, or else the only one that there is."""
    outward = _address_outward()
    if outward is not None:
        return outward
    there = own_addresses(folder)
    if len(there) > 1:
        raise CannotStartError(
            f"This computer has several addresses: {', '.join(there)}.\nNone of them leads to the "
            "internet, so it cannot be told which is that of the room. Name it "
            f"(the\nsystem's network settings show it), for example: --open-to-network {there[0]}"
        )
    if not there:
        raise CannotStartError(
            "This computer is in no network. Connect it to the one of the room and start again; a "
            "router or a\nhotspot without the internet will do. If it is in one, name its address: "
            "--open-to-network 192.168.1.5\n(the system's network settings show it). Or leave "
            "--open-to-network out and show the pages on a screen."
        )
    return there[0]


def _address_outward() -> str | None:
    """Return the address that the system would use to reach the internet, if it knows a way."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            # Nothing is sent: the system only says which of its addresses it would use. The other
            # end is one that the standards keep free for examples (RFC 5737).
            probe.connect(("192.0.2.1", 9))
            found = str(probe.getsockname()[0])
        except OSError:
            return None
    return None if ipaddress.ip_address(found).is_loopback else found


def own_addresses(folder: Path) -> list[str]:
    """List the addresses that networks gave this computer, asked of the environment's Python."""
    try:
        asked = subprocess.run(
            [str(python_of(folder)), "-m", "lengthwise.panels.workshop_addresses"],
            env=clean_environ(folder), stdin=subprocess.DEVNULL, capture_output=True, text=True,
            check=True,
        )  # fmt: skip
    except (OSError, subprocess.CalledProcessError):
        raise CannotStartError(
            "The addresses of this computer could not be listed. Name the one that it has in the "
            "room (the\nsystem's network settings show it), for example: --open-to-network "
            "192.168.1.5"
        ) from None
    return asked.stdout.split()


def is_free(port: int, host: str = THIS_COMPUTER) -> bool:
    """Tell whether nothing listens on a port of this machine."""
    with socket.socket() as probe:
        if not WINDOWS:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except (OSError, OverflowError):
            return False
    return True


def choose_port(wanted: int | None = None, host: str = THIS_COMPUTER) -> int:
    """Return the port asked for, or the first free one."""
    if wanted is not None:
        if not 1024 <= wanted <= 65535:
            raise CannotStartError("The port must be a number from 1024 to 65535, such as 8890.")
        if not is_free(wanted, host):
            raise CannotStartError(
                f"Port {wanted} is in use, perhaps by a Lengthwise that is still open. Close that "
                "one,\nor leave --port out and a free one is found."
            )
        return wanted
    for port in range(FIRST_PORT, FIRST_PORT + 200):
        if is_free(port, host):
            return port
    raise CannotStartError("No free port was found. Close other programs and start again.")


def ask(
    port: int, token: str, path: str, method: str = "GET", host: str = THIS_COMPUTER
) -> int | None:
    """Send the server a request and return its status, or None when it does not answer."""
    request = urllib.request.Request(
        f"http://{host}:{port}{path}",
        headers={"Authorization": "token " + token},
        method=method,
    )
    opener = urllib.request.build_opener(urllib.request.ProxyHandler({}))
    try:
        with opener.open(request, timeout=5) as answer:
            return int(answer.status)
    except urllib.error.HTTPError as error:
        return error.code
    except OSError:
        return None
