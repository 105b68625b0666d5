"""A real line between a program and its PostgreSQL server that can fall silent: it stays open and passes nothing on."""

from __future__ import annotations

import selectors
import socket
import tempfile
import threading
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import parse_qs, urlsplit

if TYPE_CHECKING:
    from collections.abc import Iterator

SOCKET = ".s.PGSQL.5432"  # PostgreSQL's name for the socket of its usual port


class Proxy:
    """Passes bytes between two sockets of the file system for as long as it is not silent."""

    def __init__(self, listening: socket.socket, server: str) -> None:
        self.silent = threading.Event()
        self._listening, self._server = listening, server
        self._ended = threading.Event()
        self._lines: list[socket.socket] = []
        self._thread = threading.Thread(target=self._accept)
        self._thread.start()

    def _accept(self) -> None:
        with suppress(OSError):
            while True:
                client, _ = self._listening.accept()
                server = socket.socket(socket.AF_UNIX)
                server.connect(self._server)
                self._lines += [client, server]
                threading.Thread(target=self._pass_on, args=(client, server)).start()

    def _pass_on(self, client: socket.socket, server: socket.socket) -> None:
        with selectors.DefaultSelector() as either, suppress(OSError):
            either.register(client, selectors.EVENT_READ, server)
            either.register(server, selectors.EVENT_READ, client)
            silent = False
            while not self._ended.is_set():
                silent = silent or self.silent.is_set()  # a line that fell silent stays so
                for key, _ in [] if silent else either.select(0.02):
                    assert isinstance(key.fileobj, socket.socket)
                    data = key.fileobj.recv(65536)
                    if self.silent.is_set():
                        continue
                    if not data:
                        client.shutdown(socket.SHUT_RDWR)
                        server.shutdown(socket.SHUT_RDWR)
                        return
                    key.data.sendall(data)
                self._ended.wait(0.02 if silent else 0)

    def end(self) -> None:
        self._ended.set()
        self._listening.shutdown(socket.SHUT_RDWR)
        self._thread.join()
        for line in (*self._lines, self._listening):
            line.close()


@contextmanager
def proxied(url: str) -> Iterator[tuple[str, Proxy]]:
    """Give a URL that leads through a proxy to the database of ``url``, and the proxy."""
    (server,) = parse_qs(urlsplit(url).query)["host"]
    with tempfile.TemporaryDirectory(prefix="px.", dir="/tmp") as folder:
        listening = socket.socket(socket.AF_UNIX)
        listening.bind(f"{folder}/{SOCKET}")
        listening.listen()
        proxy = Proxy(listening, str(Path(server) / SOCKET))
        try:
            yield url.replace(server, folder), proxy
        finally:
            proxy.end()
