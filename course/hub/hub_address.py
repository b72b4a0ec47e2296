"""Where the hub listens: on this computer alone, for a web server in front of it that adds TLS."""

from ipaddress import ip_address
from urllib.parse import urlsplit

from hub_faults import fault


def address(told: dict) -> str:
    """The address that the hub listens at; raises where a network could hear passwords.

    JupyterHub itself takes https without a certificate for http, so that is refused as well.
    """
    came = told.get("address", "http://127.0.0.1:8000")
    if not isinstance(came, str) or not _is_of_this_computer(came):
        raise fault(
            "address", came, "http, this computer and a port, such as http://127.0.0.1:8000",
            "write it so, and let a web server in front of the hub add TLS, as the guide says",
        )  # fmt: skip
    return came


def _is_of_this_computer(came: str) -> bool:
    try:
        parts = urlsplit(came)
        host, port = parts.hostname or "", parts.port
        here = host == "localhost" or ip_address(host).is_loopback
    except ValueError:
        return False
    return parts.scheme == "http" and here and bool(port)
