"""Names and addresses of this machine and of the page."""

from __future__ import annotations

from ipaddress import ip_address
from urllib.parse import urlsplit


def is_loopback(host: str) -> bool:
    """Return whether only this machine can reach the address.

    >>> is_loopback("127.0.0.1"), is_loopback("localhost"), is_loopback("0.0.0.0")
    (True, True, False)
    """
    try:
        return ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"


def is_our_name(host: str, names: frozenset[str]) -> bool:
    """Return whether a request is for this page: by one of its names, or by a bare address, which DNS cannot rebind.

    >>> is_our_name("127.0.0.1:8740", frozenset()), is_our_name("[::1]:8740", frozenset())
    (True, True)
    >>> is_our_name("shop.example", frozenset({"shop.example"})), is_our_name("elsewhere.example", frozenset())
    (True, False)
    """
    try:
        name = urlsplit(f"//{host}").hostname or ""
    except ValueError:
        return False
    try:
        return bool(ip_address(name))
    except ValueError:
        return name in names
