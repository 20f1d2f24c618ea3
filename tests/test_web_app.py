"""Who is let in, and what becomes of requests that no page of ours sends."""

from pathlib import Path
from typing import Any

import pytest
from sheets import EYE, study_in
from web_client import HOST, Device, served

from shotwindow.cli.web_access import Gate, own_hosts
from shotwindow.cli.web_app import TOKEN, make_app
from shotwindow.cli.web_desk import Desk
from shotwindow.doe.session import open_session

LAN = "192.0.2.7:8431"


def test_page__first_visit_on_this_machine__cookie_then_page(tmp_path: Path) -> None:
    with served(tmp_path, study_in(tmp_path)) as (app, _, _):
        client = app.test_client()
        first = client.get("/", base_url=f"http://{HOST}")
        cookie = first.headers["Set-Cookie"]
        assert first.status_code == 302
        assert "HttpOnly" in cookie and "SameSite=Strict" in cookie
        page = client.get("/", base_url=f"http://{HOST}")
        assert page.status_code == 200 and "invented lid" in page.text
        assert "default-src 'none'" in page.headers["Content-Security-Policy"]
        assert page.headers["X-Content-Type-Options"] == "nosniff"
        assert "http" not in page.text  # no address of anywhere


def test_page__title_with_markup__shown_as_text(tmp_path: Path) -> None:
    title = 'title = "<script>alert(1)</script>"\n'
    with served(tmp_path, study_in(tmp_path, title + EYE)) as (app, gate, _):
        page = Device(app, gate).client.get("/", base_url=f"http://{HOST}").text
    assert "<script>alert" not in page and "&lt;script&gt;alert" in page


@pytest.mark.parametrize("path", ["/", "/state", "/files/record.css", "/nowhere"])
def test_host__another__refused_everywhere(tmp_path: Path, path: str) -> None:
    with served(tmp_path, study_in(tmp_path)) as (app, gate, _):
        client = Device(app, gate).client
        for host in ("evil.example:8431", "127.0.0.1:9999", LAN):
            got = client.get(path, base_url=f"http://{HOST}", headers={"Host": host})
            assert got.status_code == 421
            assert "invented" not in got.text


def test_state_and_entry__without_cookie__refused(tmp_path: Path) -> None:
    with served(tmp_path, study_in(tmp_path)) as (app, _, session):
        client, origin = app.test_client(), {"Origin": f"http://{HOST}"}
        before = session.entries
        assert client.get("/state", base_url=f"http://{HOST}").status_code == 401
        got = client.post("/entry", json={}, base_url=f"http://{HOST}", headers=origin)
        assert got.status_code == 401
        assert session.entries == before


@pytest.mark.parametrize(
    "headers",
    [
        {},  # no Origin, as from a script beside the browser
        {"Origin": "http://evil.example"},
        {"Origin": "null"},
        {"Origin": f"http://{HOST}", "Sec-Fetch-Site": "cross-site"},
        {"Origin": f"http://{HOST}"},  # our own page always sends its token
        {"Origin": f"http://{HOST}", TOKEN: "0" * 64},
    ],
)
def test_entry__from_another_page__refused(tmp_path: Path, headers: dict[str, str]) -> None:
    with served(tmp_path, study_in(tmp_path)) as (app, gate, session):
        before = session.entries
        body = {"id": "0" * 32, "who": "Ada", "act": "accept", "shot": 1}
        got = Device(app, gate).client.post(
            "/entry", json=body, headers=headers, base_url=f"http://{HOST}"
        )
        assert got.status_code == 403
        assert session.entries == before


@pytest.mark.parametrize(
    "entry",
    [
        {"act": "delete", "shot": 1},
        {"act": "accept", "shot": "1"},
        {"act": "accept", "shot": 1, "id": "short"},
        {"act": "accept", "shot": 1, "id": "0" * 32 + "\n"},
        {"act": "accept", "shot": 1, "who": ""},
        {"act": "accept", "shot": 1, "who": "x" * 61},
        {"act": "accept", "shot": 1, "more": "<b>"},
        {"act": "accept", "shot": 1, "values": {"fill (%)": 96}},
        {"act": "accept", "shot": 1, "sure": "yes"},
    ],
)
def test_entry__not_of_the_agreed_form__refused(tmp_path: Path, entry: dict[str, Any]) -> None:
    with served(tmp_path, study_in(tmp_path)) as (app, gate, session):
        before = session.entries
        got = Device(app, gate).send(**entry)
        assert got.status_code == 400 and got.content_type.startswith("text/plain")
        assert session.entries == before


def test_entry__too_large_or_no_json__refused_plainly(tmp_path: Path) -> None:
    with served(tmp_path, study_in(tmp_path)) as (app, gate, _):
        device = Device(app, gate)
        assert device.send(act="note", shot=1, text="x" * 70_000).status_code == 413
        headers = {"Origin": f"http://{HOST}", TOKEN: device._token}
        for body, kind, code in (("{", "application/json", 400), ("act=note", "text/plain", 415)):
            got = device.client.post(
                "/entry", data=body, headers=headers, content_type=kind, base_url=f"http://{HOST}"
            )
            assert got.status_code == code
            assert "<" not in got.text


def test_code__asked_for_beyond_this_machine__and_locked_out(tmp_path: Path) -> None:
    codes: list[str] = []
    study = study_in(tmp_path)
    with open_session(tmp_path, study) as session:
        app = make_app(Desk(session), Gate(own_hosts("192.0.2.7", 8431), codes.append))
        client, base = app.test_client(), f"http://{LAN}"
        origin = {"Origin": base}

        def enter(code: str, **headers: str) -> int:
            data = {"code": code}
            got = client.post("/enter", data=data, headers=headers or origin, base_url=base)
            return got.status_code

        asked = client.get("/", base_url=base)
        assert "The code that the terminal shows" in asked.text
        assert "invented lid" not in asked.text and "Set-Cookie" not in asked.headers
        assert enter(codes[0], Origin="http://evil.example") == 403
        assert len(codes) == 1  # not even tried
        assert enter("12") == 403
        assert enter(codes[0]) == 303
        assert "invented lid" in client.get("/", base_url=base).text
        other = app.test_client()
        for _ in range(5):
            other.post("/enter", data={"code": "1"}, headers=origin, base_url=base)
        got = other.post("/enter", data={"code": codes[-1]}, headers=origin, base_url=base)
        assert got.status_code == 403 and "Too many wrong codes" in got.text
        assert client.get("/state", base_url=base).status_code == 200  # who is in stays in


def test_enter__on_this_machine__no_such_page(tmp_path: Path) -> None:
    with served(tmp_path, study_in(tmp_path)) as (app, _, _):
        headers = {"Origin": f"http://{HOST}"}
        got = app.test_client().post(
            "/enter", data={"code": "1"}, headers=headers, base_url=f"http://{HOST}"
        )
        assert got.status_code == 404


@pytest.mark.parametrize("name", ["..%2fpage.html", "page.html", "__init__.py", "record.html"])
def test_files__only_those_of_the_page(tmp_path: Path, name: str) -> None:
    with served(tmp_path, study_in(tmp_path)) as (app, _, _):
        client = app.test_client()
        assert client.get(f"/files/{name}", base_url=f"http://{HOST}").status_code == 404
        assert client.get("/files/record.js", base_url=f"http://{HOST}").status_code == 200


def test_fault_of_ours__traceback_in_the_terminal_and_a_plain_page(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise RuntimeError("secret detail")

    monkeypatch.setattr(Desk, "state", broken)
    with served(tmp_path, study_in(tmp_path)) as (app, gate, _):
        got = Device(app, gate).client.get("/state", base_url=f"http://{HOST}")
    assert got.status_code == 500
    assert "secret detail" not in got.text and "fault of shotwindow" in got.text
    assert "RuntimeError: secret detail" in capsys.readouterr().err
