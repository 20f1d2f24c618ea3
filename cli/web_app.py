"""Requests -> the page, its files, its state, and replies to its entries; nothing for strangers.

Every request has to name this server as its host. Whatever holds something of the study needs the
cookie of a device that was let in, and an entry also the token of that device's page.
"""

import sys
import traceback
from collections.abc import Callable
from importlib.resources import files
from typing import TYPE_CHECKING, Any

from pydantic import ValidationError

from shotwindow.cli.web_access import Gate, Refused
from shotwindow.cli.web_desk import Desk
from shotwindow.cli.web_entries import Posted
from shotwindow.reports.templates import filled

if TYPE_CHECKING:
    from flask import Flask, Response
    from werkzeug.exceptions import HTTPException

TOKEN = "X-Shotwindow-Token"
_MOST_BYTES = 65536
_PLAIN = "text/plain; charset=utf-8"
_FILES = {
    "record.css": "text/css",
    "record.js": "text/javascript",
    "record_fields.js": "text/javascript",
    "record_talk.js": "text/javascript",
}
# Nothing comes from elsewhere, goes elsewhere, or shows this page inside another one.
_HEADERS = {
    "Content-Security-Policy": "default-src 'none'; script-src 'self'; style-src 'self'; "
    "connect-src 'self'; img-src 'self' data:; form-action 'self'; base-uri 'none'; "
    "frame-ancestors 'none'",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cache-Control": "no-store",
}


def make_app(desk: Desk, gate: Gate, *, cautions: tuple[str, ...] = (), by: str = "") -> "Flask":
    """Return the application.

    Parameters
    ----------
    desk : Desk
        Takes the entries.
    gate : Gate
        Says who is let in.
    cautions : tuple of str, optional
        Shown before a device records.
    by : str, optional
        The name that a device is offered.
    """
    from flask import Flask

    app = Flask(__name__, static_folder=None)
    app.config["MAX_CONTENT_LENGTH"] = _MOST_BYTES
    _add_checks(app, gate)
    _add_page(app, gate, desk, cautions, by)
    if gate.needs_code:
        _add_code(app, gate)
    _add_files(app)
    _add_entries(app, gate, desk)
    _add_errors(app)
    return app


def cookie_name(host: str) -> str:
    """Return what the cookie of a device is called.

    Browsers give a cookie to every port of a host, so two presses need two names.
    """
    return f"shotwindow-{host.rpartition(':')[2]}"


def device_cookie() -> str:
    """Return the cookie that the request bears; "" for none."""
    from flask import request

    return request.cookies.get(cookie_name(request.host), "")


def _add_checks(app: "Flask", gate: Gate) -> None:
    """Refuse requests that name another host or come from another page."""
    from flask import abort, request

    def check() -> None:
        host = request.headers.get("Host", "")
        if not gate.is_own_host(host):
            abort(421, "This server has another address; it is in the terminal.")
        origin, site = request.headers.get("Origin"), request.headers.get("Sec-Fetch-Site")
        if request.method == "POST" and not gate.is_own_page(host, origin, site):
            abort(403, "This came from another page than this server's own.")

    def add_headers(response: "Response") -> "Response":
        response.headers.update(_HEADERS)
        return response

    app.before_request(check)
    app.after_request(add_headers)


def _add_page(app: "Flask", gate: Gate, desk: Desk, cautions: tuple[str, ...], by: str) -> None:
    """Add the page itself, for devices that are let in."""
    from flask import Response, redirect

    def page() -> Response:
        cookie = device_cookie()
        if gate.is_in(cookie):
            words = {"title": desk.title, "cautions": cautions, "by": by}
            return Response(filled("record.html", token=gate.token(cookie), **words))
        if gate.needs_code:
            return Response(filled("record_code.html", told=""))
        return _let_in(redirect("/"), gate.new_cookie())

    app.add_url_rule("/", view_func=page)


def _add_code(app: "Flask", gate: Gate) -> None:
    """Add what takes the code."""
    from flask import Response, redirect, request

    def enter() -> Response:
        try:
            cookie = gate.cookie_for(request.form.get("code", ""))
        except Refused as refused:
            return Response(filled("record_code.html", told=str(refused)), 403)
        return _let_in(redirect("/", 303), cookie)

    app.add_url_rule("/enter", view_func=enter, methods=["POST"])


def _let_in(response: Any, cookie: str) -> "Response":
    """Give a device its cookie: none of its scripts reads it, no other site's page sends it."""
    from flask import Response, request

    assert isinstance(response, Response)
    response.set_cookie(cookie_name(request.host), cookie, httponly=True, samesite="Strict")
    return response


def _add_files(app: "Flask") -> None:
    """Add style and script, which hold nothing of the study."""
    from flask import Response, abort

    def file(name: str) -> Response:
        if name not in _FILES:
            abort(404)
        data = files("shotwindow.reports").joinpath(name).read_bytes()
        return Response(data, content_type=f"{_FILES[name]}; charset=utf-8")

    app.add_url_rule("/files/<name>", view_func=file)


def _add_entries(app: "Flask", gate: Gate, desk: Desk) -> None:
    """Add what the page's script talks to."""
    from flask import abort, jsonify, request

    def in_only(view: Callable[[], "Response"]) -> Callable[[], "Response"]:
        def checked() -> "Response":
            if not gate.is_in(device_cookie()):
                abort(401, "This device is not let in (any more): load the page again.")
            return view()

        checked.__name__ = view.__name__
        return checked

    def state() -> "Response":
        focus = request.args.get("focus", type=int)
        return jsonify(desk.state(focus=focus, known=request.args.get("known", "")))

    def entry() -> "Response":
        if not gate.has_token(device_cookie(), request.headers.get(TOKEN, "")):
            abort(403, "This page is out of date: load it again.")
        try:
            posted = Posted.model_validate(request.get_json())
        except ValidationError as error:
            abort(400, f"No entry: {error.error_count()} of its parts are not as they should be.")
        reply = desk.take(posted).fields()
        focus = request.args.get("focus", type=int)
        return jsonify({"reply": reply, "state": desk.state(focus=focus)})

    app.add_url_rule("/state", view_func=in_only(state))
    app.add_url_rule("/entry", view_func=in_only(entry), methods=["POST"])


def _add_errors(app: "Flask") -> None:
    """Say in one plain line what went wrong; what is our own fault goes to the terminal, too."""
    from flask import Response
    from werkzeug.exceptions import HTTPException

    def told(error: "HTTPException") -> Response:
        return Response(
            f"{error.description}\n", error.code, content_type="text/plain; charset=utf-8"
        )

    def ours(error: Exception) -> Response:
        traceback.print_exception(error, file=sys.stderr)
        text = (
            "This is a fault of shotwindow, not of your data: what was saved is safe."
            " The terminal in which it runs says more; please report that.\n"
        )
        return Response(text, 500, content_type=_PLAIN)

    app.register_error_handler(HTTPException, told)
    app.register_error_handler(Exception, ours)
