"""Opening the bench in the browser."""

from __future__ import annotations

import os
import signal
import webbrowser
from importlib import import_module
from pathlib import Path
from threading import Thread
from urllib.parse import urlsplit

import click

from pegwood.cli._open import OneLine, open_book, who
from pegwood.frame.server import Address, BadCertificate, bracketed, is_loopback

_A_FILE = click.Path(exists=True, dir_okay=False, path_type=Path)


@click.command(epilog="Example: pegwood serve")
@click.option("--host", default="127.0.0.1", show_default=True, help="The address to listen on.")
@click.option(
    "--port", default=8417, show_default=True, type=click.IntRange(0, 65535), help="0 takes a free one."
)
@click.option("--certificate", type=_A_FILE, help="PEM certificate, for TLS.")
@click.option("--key", type=_A_FILE, help="PEM key of the certificate.")
@click.option("--name", "names", multiple=True, help="A name the bench is called by, such as bench.lan.")
@click.option(
    "--behind-proxy", metavar="ORIGIN", help="A proxy does the TLS, at ORIGIN: https://bench.example"
)
@click.option("--browser/--no-browser", default=True, help="Open the browser, or only print the address.")
def serve(
    host: str,
    port: int,
    certificate: Path | None,
    key: Path | None,
    names: tuple[str, ...],
    behind_proxy: str | None,
    browser: bool,
) -> None:
    """
    Open your own bench in the browser.

    It listens on this machine only, and there the bench is open to whoever sits at it. On any other address
    everybody signs in and the line is encrypted: `pegwood user add` somebody first, and give a certificate or
    name the proxy that has one.
    """
    if bool(certificate) != bool(key):
        raise OneLine("A certificate needs its key and a key its certificate. Give both, or neither.", 2)
    origin = _origin(behind_proxy) if behind_proxy is not None else None
    # A certificate is made out to a name, and nobody can open "every address".
    known_as = origin or (names[0] if names and certificate else "")
    address = Address(host, port, certificate, key, known_as)
    _set_up_access(address, names, origin)
    open_book()
    if os.environ.get("PEGWOOD_SIGN_IN") == "1":
        _refuse_without_users()
    run(address, browser=browser)


def run(address: Address, *, browser: bool) -> None:
    """Serve until interrupted, and say so in one line if that cannot be."""
    from pegwood.frame.server import serve as serve_pages
    from pegwood.web.reading import reader
    from pegwood.web.warming import learn_lessons

    def ready(url: str) -> None:
        click.echo(f"The bench is open at {url}  (Ctrl+C closes it)")
        reader.take_up_again(by=who())
        # The chart library takes a second or two to load: now, and not before the first chart.
        Thread(target=import_module, args=("bokeh.plotting",), daemon=True).start()
        # Learning from hundreds of closed jobs takes seconds, too, and is kept until one more closes.
        Thread(target=learn_lessons, name="lessons", daemon=True).start()
        if browser:
            webbrowser.open(url)

    signal.signal(signal.SIGTERM, signal.default_int_handler)
    try:
        serve_pages(address, ready)
    except BadCertificate as reason:
        raise OneLine(
            f"The certificate or its key cannot be used: {reason}. Give PEM files that belong together."
        ) from None
    except OSError as error:
        raise OneLine(
            f"Cannot listen on {address.host}, port {address.port}: {error.strerror or error}. "
            "Choose another with --port, or close what uses it."
        ) from None


def _origin(text: str) -> str:
    """The proxy's origin (RFC 6454) as a browser sends it, or a refusal."""
    try:
        parts = urlsplit(text.strip())
        port = "" if parts.port in {None, 443} else f":{parts.port}"
    except ValueError:
        parts, port = urlsplit(""), ""
    beyond = parts.path not in {"", "/"} or parts.query or parts.fragment or parts.username
    if parts.scheme != "https" or not parts.hostname or beyond:
        raise OneLine("The proxy's origin must be such as https://bench.example, with TLS and no path.", 2)
    return f"https://{bracketed(parts.hostname)}{port}"


def _set_up_access(address: Address, names: tuple[str, ...], origin: str | None) -> None:
    """Tell the settings, before they are read, who may reach the bench and how."""
    hosts = ["localhost", "127.0.0.1", "[::1]", *names]
    if origin is not None:
        hosts.append(bracketed(urlsplit(origin).hostname or ""))
        os.environ.update(
            PEGWOOD_PROXY="1",
            PEGWOOD_ENCRYPTED="1",
            PEGWOOD_SIGN_IN="1",
            PEGWOOD_ORIGINS=origin,
        )
    elif not is_loopback(address.host):
        if address.certificate is None:
            raise OneLine(
                f"On {address.host} others can listen in. Give --certificate and --key, or name the proxy "
                "that does the TLS with --behind-proxy.",
                2,
            )
        if address.host not in {"0.0.0.0", "::"}:
            hosts.append(bracketed(address.host))
        elif not names:
            raise OneLine("On every address the bench needs a name to be called by: --name bench.lan", 2)
        os.environ.update(PEGWOOD_SIGN_IN="1")
    if address.certificate is not None:
        os.environ.update(PEGWOOD_ENCRYPTED="1")
    os.environ["PEGWOOD_HOSTS"] = ",".join(hosts)


def _refuse_without_users() -> None:
    from django.contrib.auth.models import User

    if not User.objects.filter(is_active=True).exists():
        raise OneLine("Nobody could sign in: there is no user yet. `pegwood user add NAME` makes one.")
