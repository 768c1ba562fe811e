"""Which addresses of push services messages may be sent to.

A browser names the address, so anybody can: it must be https, on the usual port, of a host whose
every address is a public one. Between this look and the connection a name may change; then the
certificate of the host is what a server inside the network does not have.
"""

import socket
from ipaddress import ip_address
from urllib.parse import SplitResult, urlsplit

LONGEST = 500


def is_push_address(url: str, *, local: bool = False) -> bool:
    """Return whether an address can be one of a push service, without asking for its name.

    `local` lets in http and addresses of this machine, for a trial.
    """
    parts = _parts(url)
    if parts is None or len(url) > LONGEST or not url.isascii():
        return False
    if local:
        return True
    host = parts.hostname or ""
    return parts.scheme == "https" and parts.port in (None, 443) and _may_be_public(host)


def is_public(url: str) -> bool:
    """Return whether every address of the host is a public one; False where it has none."""
    host = urlsplit(url).hostname or ""
    try:
        found = {str(one[4][0]) for one in socket.getaddrinfo(host, 443, type=socket.SOCK_STREAM)}
    except OSError:
        return False
    return bool(found) and all(ip_address(one.partition("%")[0]).is_global for one in found)


def _parts(url: str) -> SplitResult | None:
    try:
        parts = urlsplit(url)
        sound = parts.scheme in {"http", "https"} and parts.hostname and parts.port != 0
    except ValueError:
        return None
    return parts if sound and not (parts.username or parts.password or parts.fragment) else None


def _may_be_public(host: str) -> bool:
    try:
        return ip_address(host).is_global
    except ValueError:
        # a name without a dot is one of the own network
        return "." in host.strip(".")
