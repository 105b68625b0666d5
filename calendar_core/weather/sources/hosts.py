"""Which addresses belong to the public internet, and which to this machine or its network."""

from __future__ import annotations

from ipaddress import IPv4Address, IPv6Address, IPv6Network, ip_address

TRANSLATED = (IPv6Network("64:ff9b::/96"), IPv6Network("::/96"))
"""IPv6 addresses whose last 32 bits are an IPv4 address (RFC 6052, NAT64; RFC 4291, compatible)."""

LOCAL = (IPv6Network("fec0::/10"), IPv6Network("64:ff9b:1::/48"))
"""Taken out of use, and still routed in some networks (RFC 3879); a network's own translation (RFC 8215)."""


def is_public(address: str) -> bool:
    """Tell whether an IP address belongs to the public internet; one that carries another is judged by that.

    >>> is_public("1.1.1.1"), is_public("::ffff:10.0.0.1"), is_public("169.254.169.254")
    (True, False, False)
    """
    ip = ip_address(address.partition("%")[0])
    if isinstance(ip, IPv6Address):
        if any(ip in network for network in LOCAL):
            return False
        ip = _carried(ip) or ip
    return ip.is_global and not ip.is_multicast


def _carried(ip: IPv6Address) -> IPv4Address | None:
    """Return the IPv4 address that an IPv6 address leads to, by RFC 4291, RFC 6052 or RFC 3056 (6to4)."""
    if any(ip in network for network in TRANSLATED):
        return IPv4Address(int(ip) & 0xFFFFFFFF)
    return ip.ipv4_mapped or ip.sixtofour
