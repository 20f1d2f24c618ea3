"""A request's headers and the code that somebody types -> let in, or not.

A device that typed the code bears a cookie from then on, signed with a key that lives as long as
the server. A code lets one device in; the next one gets a code of its own.
"""

import hashlib
import hmac
import secrets
import time
from collections.abc import Callable
from ipaddress import ip_address
from threading import Lock

_DIGITS = 8
_TRIES = 5
_CLOSED_S = 600.0


class Refused(Exception):
    """A code is not taken; the message says why."""


class Gate:
    """Lets requests in: those of the own pages, from devices that typed the code.

    Parameters
    ----------
    hosts : frozenset of str
        What browsers may name as the host, with its port; see `own_hosts`.
    tell : function of str, optional
        Shows a new code to whoever sits at the terminal. Absent: no code is needed.
    clock : function, optional
        Gives seconds that only go forward.
    """

    def __init__(
        self,
        hosts: frozenset[str],
        tell: Callable[[str], None] | None = None,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self._hosts, self._tell, self._clock = hosts, tell, clock
        self._key = secrets.token_bytes(32)
        self._lock = Lock()
        self._wrong, self._closed_until = 0, -float("inf")
        self._code = self._new_code()

    @property
    def needs_code(self) -> bool:
        """Whether a device has to type a code."""
        return self._tell is not None

    def is_own_host(self, host: str) -> bool:
        """Return whether a browser asked for this server by a name that is its own.

        A page from elsewhere whose name was bent to this address still names its own host.
        """
        return host.lower() in self._hosts

    def is_own_page(self, host: str, origin: str | None, site: str | None) -> bool:
        """Return whether a posted request comes from a page of this server.

        Parameters
        ----------
        host : str
        origin : str or None
            The header Origin, which browsers send with whatever is posted.
        site : str or None
            The header Sec-Fetch-Site, which most browsers send.
        """
        return origin == f"http://{host}" and site in (None, "same-origin")

    def cookie_for(self, code: str) -> str:
        """Return the cookie of a device that typed a code.

        Raises
        ------
        Refused
            If the code is wrong, or too many were.
        """
        with self._lock:  # no two tries at once, or the limit would not hold
            if self._clock() < self._closed_until:
                raise Refused("Too many wrong codes: none is taken for now. Try again later.")
            typed = "".join(sign for sign in code if sign not in " -").encode()
            if hmac.compare_digest(typed, self._code.encode()):
                self._wrong = 0
                self._code = self._new_code()
                return self.new_cookie()
            self._wrong += 1
            if self._wrong < _TRIES:
                left = _TRIES - self._wrong
                raise Refused(f"That is not the code in the terminal. Tries left: {left}.")
            self._wrong, self._closed_until = 0, self._clock() + _CLOSED_S
            self._code = self._new_code()
            raise Refused(f"Too many wrong codes: none is taken for {_CLOSED_S / 60:.0f} minutes.")

    def new_cookie(self) -> str:
        """Return a cookie for a device that is let in."""
        name = secrets.token_urlsafe(24)
        return f"{name}.{self._signed('device', name)}"

    def is_in(self, cookie: str) -> bool:
        """Return whether a cookie is one that this server gave."""
        name, _, signature = cookie.partition(".")
        return hmac.compare_digest(signature.encode(), self._signed("device", name).encode())

    def token(self, cookie: str) -> str:
        """Return what the page of a device sends with each entry, and no other page knows."""
        return self._signed("page", cookie)

    def has_token(self, cookie: str, token: str) -> bool:
        """Return whether an entry comes with the token of its device."""
        return hmac.compare_digest(token.encode(), self.token(cookie).encode())

    def _signed(self, use: str, text: str) -> str:
        return hmac.new(self._key, f"{use}:{text}".encode(), hashlib.sha256).hexdigest()

    def _new_code(self) -> str:
        code = "".join(secrets.choice("0123456789") for _ in range(_DIGITS))
        if self._tell is not None:
            self._tell(f"{code[:4]} {code[4:]}")
        return code


def is_loopback(host: str) -> bool:
    """Return whether only this machine reaches an address.

    Examples
    --------
    >>> from shotwindow.cli.web_access import is_loopback
    >>> is_loopback("127.0.0.1"), is_loopback("localhost"), is_loopback("192.0.2.7")
    (True, True, False)
    """
    if host.lower() == "localhost":
        return True
    try:
        return ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return False


def own_hosts(host: str, port: int) -> frozenset[str]:
    """Return what a browser may send as the host of a server at an address.

    Examples
    --------
    >>> from shotwindow.cli.web_access import own_hosts
    >>> sorted(own_hosts("192.0.2.7", 8431))
    ['192.0.2.7:8431']
    """
    names = {host, "localhost", "127.0.0.1", "[::1]"} if is_loopback(host) else {host}
    ends = (f":{port}", "") if port == 80 else (f":{port}",)  # browsers leave port 80 out
    return frozenset(f"{name.lower()}{end}" for name in names for end in ends)
