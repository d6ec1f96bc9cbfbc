"""The web server a person starts: threads, TLS if asked for, bound to this machine unless told."""

from __future__ import annotations

import ipaddress
import signal
import socket
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

THREADS = 8
#: A little more than the largest recording, so that the book says no in its own words.
LARGEST_REQUEST = 2 * 1024**3 + 64 * 1024**2
LARGEST_HEAD = 64 * 1024


class BadCertificate(Exception):
    """A certificate or key that cannot be used; the message says why."""


@dataclass(frozen=True)
class Address:
    """
    Where the bench is served.

    `certificate` and `key` are PEM files; with them the line is encrypted. `known_as` is the address people
    type, where that is not the one listened on: a name, or a proxy's.
    """

    host: str = "127.0.0.1"
    port: int = 8417
    certificate: Path | None = None
    key: Path | None = None
    known_as: str = ""

    @property
    def is_loopback(self) -> bool:
        return is_loopback(self.host)

    def url(self, port: int) -> str:
        if self.known_as.startswith("https://"):
            return f"{self.known_as}/"
        host = self.known_as or bracketed(self.host)
        return f"{'https' if self.certificate else 'http'}://{host}:{port}/"


def bracketed(host: str) -> str:
    """A host as it stands in an address: IPv6 in brackets, and as short as browsers send it."""
    try:
        address = ipaddress.ip_address(host)
    except ValueError:
        return host
    return f"[{address.compressed}]" if address.version == 6 else host


def is_loopback(host: str) -> bool:
    """Whether only this machine itself reaches that host."""
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def serve(address: Address, ready: Callable[[str], None]) -> None:
    """
    Serve until interrupted; `ready` is called with the address once it answers.

    Raises
    ------
    OSError
        If the address is taken, or is not this machine's.
    BadCertificate
        If the certificate or its key cannot be read, or they do not belong together.
    """
    from cheroot.wsgi import Server

    from pegwood.frame.wsgi import application

    server = Server((address.host, address.port), application, numthreads=THREADS, server_name="pegwood")
    server.max_request_body_size = LARGEST_REQUEST
    server.max_request_header_size = LARGEST_HEAD
    server.shutdown_timeout = 2
    if address.certificate and address.key:
        from cheroot.ssl.builtin import BuiltinSSLAdapter

        try:
            server.ssl_adapter = BuiltinSSLAdapter(str(address.certificate), str(address.key))
        except (OSError, ValueError) as error:  # OpenSSL's own errors are OSErrors
            raise BadCertificate(getattr(error, "reason", "") or str(error)) from error
    server.prepare()
    try:
        ready(address.url(_port(server.socket)))
        server.serve()
    except KeyboardInterrupt:
        # Pressed again while it closes: it is closing already.
        for again in (signal.SIGINT, signal.SIGTERM):
            signal.signal(again, signal.SIG_IGN)
    finally:
        server.stop()


def _port(listening: socket.socket) -> int:
    return int(listening.getsockname()[1])
