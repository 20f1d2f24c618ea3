"""`record --web` from the command line: what is missing, addresses that cannot be, the code."""

import os
import re
import signal
import socket
import subprocess
from importlib.util import find_spec
from pathlib import Path
from threading import Timer

import pytest
from browser import PHONE, Window, open_window
from sheets import study_in
from test_recording import call
from test_web_page import command, name, planned

from shotwindow.cli import web
from shotwindow.doe.errors import StudyError

_LONGEST_S = 20.0


@pytest.mark.parametrize(
    ("missing", "found"),
    [
        ({"flask"}, "no flask;"),
        ({"waitress"}, "no waitress;"),
        ({"flask", "waitress"}, "no flask and no waitress;"),
    ],
)
def test_web__extra_not_installed__named_and_nothing_begun(
    missing: set[str], found: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    study_in(tmp_path)
    monkeypatch.setattr(web, "find_spec", lambda name: None if name in missing else find_spec(name))
    monkeypatch.setattr(web, "listen", lambda _: pytest.fail("it serves without its libraries"))
    with pytest.raises(StudyError, match=found) as caught:
        call("record", tmp_path, "--web")
    assert 'pip install "shotwindow[web]"' in str(caught.value)


@pytest.mark.parametrize(
    "address",
    ["", ":", "8431", "localhost", "127.0.0.1:", ":8431", "127.0.0.1:http", "127.0.0.1:-1",
     "127.0.0.1:65536", "127.0.0.1:8 431", "http://127.0.0.1", "127.0.0.1:8431/"],
)  # fmt: skip
def test_address__not_host_and_port__said(address: str) -> None:
    with pytest.raises(StudyError, match=r"expected HOST:PORT, such as 192\.168\.1\.20:8431"):
        web.listen(address)


@pytest.mark.parametrize(
    "address", ["0.0.0.0:8431", "[::]:8431", ":::8431", "0:8431", "[0::0]:8431"]
)
def test_address__all_of_them__refused(address: str) -> None:
    with pytest.raises(StudyError, match="one address of this machine, not all of them"):
        web.listen(address)


# RFC 5737 and RFC 6761 keep these for documents and tests: no machine has them.
@pytest.mark.parametrize("address", ["198.51.100.7:8431", "no-such-host.invalid:8431"])
def test_address__of_another_machine_or_of_none__said(address: str) -> None:
    with pytest.raises(StudyError, match="an address of this machine with a free port"):
        web.listen(address)


def test_address__port_taken__said_what_to_do() -> None:
    _, listener = web.listen("127.0.0.1:0")
    with listener, pytest.raises(StudyError, match="try the next number"):
        web.listen(f"127.0.0.1:{listener.getsockname()[1]}")


def test_address__bad__command_ends_before_anything_is_served(tmp_path: Path) -> None:
    study_in(tmp_path)
    with pytest.raises(StudyError, match="HOST:PORT"):
        call("record", tmp_path, "--web", "--address", "everywhere")
    for words in (["--address", "127.0.0.1:0"], ["--web", "--weigh"], ["--web", "--plain"]):
        assert call("record", tmp_path, *words).exit_code == 2


def own_address() -> str:
    """An address of this machine that is not its loopback; nothing is sent to find it."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as seeker:
        try:
            seeker.connect(("192.0.2.1", 9))  # RFC 5737: an address of documents
            found = str(seeker.getsockname()[0])
        except OSError:
            found = "127.0.0.1"
    if found.startswith("127."):
        reason = "needs a machine with an address of its own in some network"
        if os.environ.get("CI") == "true":
            pytest.fail(reason)
        pytest.skip(reason)
    return found


def next_code(process: "subprocess.Popen[str]") -> str:
    """Return the code that the terminal shows next."""
    assert process.stderr is not None
    lines = iter(process.stderr.readline, "")
    found = (m[1] for line in lines if (m := re.search(r"next device: +(\d{4} \d{4})", line)))
    too_long = Timer(_LONGEST_S, process.kill)  # a line that never comes would never end
    too_long.start()
    try:
        return next(found)
    finally:
        too_long.cancel()


def enter(window: Window, code: str) -> None:
    field = window.wait_for("#code")
    field.clear()
    field.send_keys(code)
    window.tap("Go on")


def lock_out(window: Window) -> None:
    for left in (4, 3, 2, 1):
        enter(window, "1234")
        window.wait_for("[role=alert]", f"Tries left: {left}.")
    enter(window, "1234")
    window.wait_for("[role=alert]", "none is taken for 10 minutes")


def test_code_page__off_loopback_in_a_browser__lets_one_device_in_and_locks_after_five(
    tmp_path: Path,
) -> None:
    folder = tmp_path / "study"
    folder.mkdir()
    planned(folder)
    with command(folder, host=own_address()) as (address, process):
        code = next_code(process)
        with open_window(tmp_path / "a", PHONE) as phone:
            phone.open(address)
            phone.wait_for("label", "The code that the terminal shows")
            assert "invented" not in phone.driver.page_source
            assert phone.width_of_content() == PHONE[0]
            enter(phone, "0000 000x")
            phone.wait_for("[role=alert]", "not the code in the terminal. Tries left: 4.")
            enter(phone, code)
            name(phone, "Ada")
            phone.tap("Shot made and set aside")
            phone.wait_for("h2", "Shot 2 of 5")
            code = next_code(process)
            with open_window(tmp_path / "b", PHONE) as stranger:
                stranger.open(address)
                lock_out(stranger)
                for late in (code, next_code(process)):
                    enter(stranger, late)
                    stranger.wait_for("[role=alert]", "none is taken for now")
                assert all(asked.startswith(address) for asked in stranger.requests())
            phone.tap("Shot made and set aside")  # who is in stays in
            phone.wait_for("h2", "Shot 3 of 5")
            assert all(asked.startswith(address) for asked in phone.requests())
        process.send_signal(signal.SIGINT)
        assert process.wait(timeout=10) == 0
