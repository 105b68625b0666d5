"""Connections on which nothing lasts beyond a moment: not connecting to one address after another, not TLS, not an answer.

The timeout of a socket is one for each piece that arrives; here each gets what is left of the whole time at most.
"""

from __future__ import annotations

import socket
import ssl
from typing import TYPE_CHECKING, Any

import urllib3
from requests.adapters import HTTPAdapter
from urllib3.exceptions import ConnectTimeoutError, NameResolutionError, NewConnectionError
from urllib3.util.ssl_ import create_urllib3_context

if TYPE_CHECKING:
    from collections.abc import Callable

Left = "Callable[[], float]"


class TimedAdapter(HTTPAdapter):
    """Carries requests over connections of which every step takes at most the seconds that ``left`` tells."""

    def __init__(self, left: Callable[[], float]) -> None:
        self._left, self._pools = left, _pools(left)
        super().__init__()

    def init_poolmanager(self, *how: Any, **more: Any) -> None:
        """Make the pools of direct connections."""
        super().init_poolmanager(*how, ssl_context=_context(self._left), **more)
        self.poolmanager.pool_classes_by_scheme = self._pools

    def proxy_manager_for(self, proxy: str, **more: Any) -> Any:
        """Return the pools of connections through a proxy."""
        manager = super().proxy_manager_for(proxy, **{"ssl_context": _context(self._left), **more})
        if not proxy.lower().startswith("socks"):
            manager.pool_classes_by_scheme = self._pools
        return manager


def _pools(left: Callable[[], float]) -> dict[str, type[urllib3.HTTPConnectionPool]]:
    """Return the classes of pools by scheme, as urllib3 wants them told."""

    class Plain(urllib3.connection.HTTPConnection):
        def _new_conn(self) -> socket.socket:
            return _connected(self, left)

    class Secure(urllib3.connection.HTTPSConnection):
        def _new_conn(self) -> socket.socket:
            return _connected(self, left)

    class PlainPool(urllib3.HTTPConnectionPool):
        ConnectionCls = Plain

    class SecurePool(urllib3.HTTPSConnectionPool):
        ConnectionCls = Secure

    return {"http": PlainPool, "https": SecurePool}


def _connected(asking: urllib3.connection.HTTPConnection, left: Callable[[], float]) -> socket.socket:
    """Return a connection to the first address of a host that takes one, in what is left for all of them."""
    try:
        found = socket.getaddrinfo(asking._dns_host, asking.port, type=socket.SOCK_STREAM)  # noqa: SLF001 - as its own _new_conn
    except (OSError, UnicodeError) as error:
        known = error if isinstance(error, socket.gaierror) else socket.gaierror(str(error))
        raise NameResolutionError(asking.host, asking, known) from error
    last: OSError | None = None
    for family, kind, protocol, _, address in found:
        line = _plain(left)(family, kind, protocol)
        try:
            line.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
            line.settimeout(_shorter(asking.timeout, left))
            line.connect(address)
        except OSError as error:
            line.close()
            last = error
        else:
            return line
    if isinstance(last, TimeoutError):
        raise ConnectTimeoutError(asking, "no connection in time") from last
    raise NewConnectionError(asking, f"no connection: {last}") from last


def _shorter(wanted: object, left: Callable[[], float]) -> float:
    """Return the seconds that a step may take. Raises TimeoutError where none is left."""
    rest = left()
    if rest <= 0:
        raise TimeoutError("the time for the whole answer is over")
    return min(wanted, rest) if isinstance(wanted, int | float) else rest


def _plain(left: Callable[[], float]) -> type[socket.socket]:
    class Timed(socket.socket):
        def recv_into(self, *how: Any, **more: Any) -> int:
            self.settimeout(_shorter(self.gettimeout(), left))
            return super().recv_into(*how, **more)

    return Timed


def _context(left: Callable[[], float]) -> ssl.SSLContext:
    """Return a context as urllib3 makes it; its handshake ends by the timeout that connecting had."""

    class Timed(ssl.SSLSocket):
        def do_handshake(self, block: bool = False) -> None:  # noqa: FBT001, FBT002 - as it is declared
            self.settimeout(_shorter(self.gettimeout(), left))
            super().do_handshake(block)

        def recv_into(self, *how: Any, **more: Any) -> int:
            self.settimeout(_shorter(self.gettimeout(), left))
            return super().recv_into(*how, **more)

    context = create_urllib3_context()
    context.sslsocket_class = Timed
    return context
