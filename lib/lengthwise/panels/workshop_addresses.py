"""The addresses of this computer: ``python -m lengthwise.panels.workshop_addresses`` prints them.

The program that starts the course may use the standard library only, which has no such list; so it
asks the Python of the environment.
"""

import ipaddress
import socket
import sys
from collections.abc import Iterable

import psutil  # type: ignore[import-untyped]  # comes with every Jupyter kernel


def that_a_network_gave(addresses: Iterable[str]) -> list[str]:
    """Leave out those by which no other device of a room finds this computer.

    These are its own loop, and the addresses that a computer gives itself when no network gives
    it one (RFC 3927).

    Examples
    --------
    >>> that_a_network_gave(["127.0.0.1", "169.254.7.9", "192.168.43.1"])
    ['192.168.43.1']
    """
    found = [ipaddress.ip_address(one) for one in addresses]
    return [str(one) for one in found if not (one.is_loopback or one.is_link_local)]


def own_addresses() -> list[str]:
    """List the IPv4 addresses of the network connections that are up."""
    up = {name for name, state in psutil.net_if_stats().items() if state.isup}
    return that_a_network_gave(
        one.address
        for name, addresses in psutil.net_if_addrs().items()
        if name in up
        for one in addresses
        if one.family == socket.AF_INET
    )


if __name__ == "__main__":
    sys.stdout.write("\n".join(own_addresses()))
