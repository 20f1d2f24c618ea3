"""`record --web` -> a page for phones and tablets beside the press, served until Ctrl-C."""

import logging
import os
import socket
from importlib.util import find_spec
from ipaddress import ip_address
from pathlib import Path

from shotwindow.cli.console import say
from shotwindow.cli.recorder import has_actual, report_first_edits, say_guards
from shotwindow.cli.so_far import SoFar
from shotwindow.cli.web_access import Gate, is_loopback, own_hosts
from shotwindow.cli.web_app import make_app
from shotwindow.cli.web_desk import Desk
from shotwindow.doe.card_finding import find_card
from shotwindow.doe.errors import StudyError
from shotwindow.doe.session import Session

_ADDRESS = "127.0.0.1:8431"
_NEEDED = ("flask", "waitress")
_THREADS = 4


def record_by_page(
    session: Session, folder: Path, *, address: str | None = None, actual: bool = False
) -> None:
    """Serve the page until it is interrupted.

    Parameters
    ----------
    session : Session
    folder : Path
    address : str, optional
        HOST:PORT; only this machine reaches the one that is taken otherwise.
    actual : bool, optional
        Ask for actual settings.

    Raises
    ------
    StudyError
        If what serves pages is not installed, or the address is none that can be served.
    """
    check_installed()
    host, listener = listen(address or _ADDRESS)
    with listener:
        told = say_guards(session, folder)
        report_first_edits(session)
        card, so_far = find_card(session.study.material.name, folder), SoFar(folder)
        desk = Desk(session, actual=actual or has_actual(session), card=card, so_far=so_far)
        port = listener.getsockname()[1]
        _tell_address(host, port)
        gate = Gate(own_hosts(host, port), None if is_loopback(host) else _tell_code)
        app = make_app(desk, gate, cautions=told, by=session.who)
        try:
            _serve(app, listener)
        finally:
            so_far.stop()


def check_installed() -> None:
    """Raise a StudyError if a library that serves pages is missing."""
    missing = [name for name in _NEEDED if find_spec(name) is None]
    if missing:
        raise StudyError.one(
            "record --web",
            f"no {' and no '.join(missing)}",
            "the libraries that serve a page",
            'install them: pip install "shotwindow[web]", or pip install ".[web]" in a clone',
        )


def listen(address: str) -> tuple[str, socket.socket]:
    """Return the host of an address as browsers name it, and a socket that listens there.

    Raises
    ------
    StudyError
        If the address cannot be read or is not this machine's, or its port is taken.

    Examples
    --------
    >>> from shotwindow.cli.web import listen
    >>> host, listener = listen("127.0.0.1:0")
    >>> listener.close()
    >>> host
    '127.0.0.1'
    """
    name, _, port = address.rpartition(":")
    name = name.strip("[]")
    if not name or not (port.isdecimal() and int(port) < 65536):
        raise _no_address(address, "HOST:PORT, such as 192.168.1.20:8431")
    try:
        found = socket.getaddrinfo(name, int(port), type=socket.SOCK_STREAM)
        family, kind, protocol, _, place = found[0]
        if ip_address(str(place[0]).partition("%")[0]).is_unspecified:  # however it was written
            do = "name one: `hostname -I` lists them on Linux, `ipconfig` on Windows"
            raise _no_address(address, "one address of this machine, not all of them", do)
        listener = socket.socket(family, kind, protocol)
        try:
            if os.name == "posix":  # elsewhere it would let two programs have one port
                listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            listener.bind(place)
            listener.listen()
        except OSError:
            listener.close()
            raise
    except OSError as fault:
        expected = f"an address of this machine with a free port ({fault.strerror or fault})"
        do = "another program may have the port: try the next number"
        raise _no_address(address, expected, do) from fault
    return f"[{name}]" if ":" in name else name, listener


def _no_address(found: str, expected: str, do: str = "") -> StudyError:
    return StudyError.one("--address", found, expected, do)


def _tell_address(host: str, port: int) -> None:
    say(f"\nOpen  http://{host}:{port}/  and record there. Ctrl-C ends it; everything is saved.")
    if is_loopback(host):
        say("Only this machine can reach it; --address HOST:PORT is for a tablet or phone.")
    else:
        text = "Nothing on the way is encrypted, and whoever is let in can write to this study:"
        say(f"{text} use it on a network that you trust. See SECURITY.md.", kind="warning")


def _tell_code(code: str) -> None:
    say(f"Code for the next device:  {code}", kind="heading")


def _serve(app: object, listener: socket.socket) -> None:
    from waitress.server import create_server

    logging.getLogger("waitress").setLevel(logging.ERROR)
    server = create_server(app, sockets=[listener], threads=_THREADS, ident=None)
    try:
        server.run()  # until Ctrl-C, which it takes for its end
    finally:
        server.close()
