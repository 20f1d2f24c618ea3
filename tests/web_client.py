"""Devices without a browser, for the tests of `record --web`: they post what its page posts."""

from collections.abc import Iterator
from contextlib import contextmanager
from itertools import count
from pathlib import Path
from typing import Any

from flask import Flask
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from shotwindow.cli.web_access import Gate, own_hosts
from shotwindow.cli.web_app import TOKEN, make_app
from shotwindow.cli.web_desk import Desk
from shotwindow.doe.session import Session, open_session
from shotwindow.doe.study import Study

HOST = "127.0.0.1:8431"
_numbers = count(1)


class Device:
    """A phone that is let in, with the name of who holds it."""

    def __init__(self, app: Flask, gate: Gate, who: str = "Ada") -> None:
        self.client: FlaskClient = app.test_client()
        self.who = who
        self._cookie = gate.new_cookie()
        self._token = gate.token(self._cookie)
        self.client.set_cookie("shotwindow-8431", self._cookie, domain="127.0.0.1")

    def state(self, focus: int | None = None) -> dict[str, Any]:
        """Return what the page would show."""
        query = "" if focus is None else f"?focus={focus}"
        got = self.client.get(f"/state{query}", base_url=f"http://{HOST}")
        assert got.status_code == 200, got.text
        found: dict[str, Any] = got.get_json()
        return found

    def send(self, **entry: Any) -> TestResponse:
        """Post an entry as it is, with headers of our own page."""
        headers = {"Origin": f"http://{HOST}", TOKEN: self._token}
        whole = {"id": f"{next(_numbers):032x}", "who": self.who, "shot": 0, **entry}
        return self.client.post("/entry", json=whole, headers=headers, base_url=f"http://{HOST}")

    def post(self, act: str, shot: int = 0, **entry: Any) -> dict[str, Any]:
        """Post an entry; return the reply."""
        got = self.send(act=act, shot=shot, **entry)
        assert got.status_code == 200, got.text
        reply: dict[str, Any] = got.get_json()["reply"]
        return reply

    def answer(self, shot: int, was: str = "", **texts: str) -> dict[str, Any]:
        """Answer one question."""
        ((heading, text),) = texts.items()
        return self.post("answer", shot, heading=HEADINGS[heading], text=text, was=was)

    def record(self, shot: int, fill: str = "96", flash: str = "0") -> dict[str, Any]:
        """Answer everything about a shot that is judged by eye, and save it."""
        self.answer(shot, fill=fill)
        self.answer(shot, flash=flash)
        values = {HEADINGS["fill"]: fill, HEADINGS["flash"]: flash}
        return self.post("accept", shot, values=values)


HEADINGS = {
    "fill": "fill (%)",
    "flash": "flash (mm)",
    "other": "other",
    "mass1": "mass 1 (g)",
    "mass2": "mass 2 (g)",
    "pressure": "actual pressure (bar)",
}


@contextmanager
def served(folder: Path, study: Study, **more: Any) -> Iterator[tuple[Flask, Gate, Session]]:
    """Serve a study to devices on this machine, without a network."""
    with open_session(folder, study) as session:
        gate = Gate(own_hosts("127.0.0.1", 8431))
        yield make_app(Desk(session, **more), gate), gate, session
