"""The page of `record --web` in a real browser, served by the command itself."""

import re
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path

from browser import PHONE, TABLET, Window, open_window
from sheets import EYE, plan

from shotwindow.doe.runs import read_runs, write_plan
from shotwindow.doe.study import Study, parse_study


def planned(folder: Path) -> Study:
    """A study of two warm-up shots and three more at three pressures, nothing made yet."""
    (folder / "study.toml").write_text(EYE, encoding="utf-8")
    study = parse_study(EYE)
    write_plan(folder, study, plan([(p, 210.0) for p in (3.0, 3.0, 3.0, 3.5, 4.0)]))
    return study


@contextmanager
def command(folder: Path, host: str = "127.0.0.1") -> Iterator[tuple[str, "subprocess.Popen[str]"]]:
    """Run `record --web`; give the address that it prints, and the process."""
    words = ["record", str(folder), "--web", "--address", f"{host}:0"]
    process = subprocess.Popen(
        [sys.executable, "-m", "shotwindow.cli", *words], stderr=subprocess.PIPE, text=True,
        # tests that run in the background of a shell inherit that Ctrl-C is ignored
        preexec_fn=partial(signal.signal, signal.SIGINT, signal.SIG_DFL),
    )  # fmt: skip
    assert process.stderr is not None
    try:
        lines = iter(process.stderr.readline, "")
        found = next(m for line in lines if (m := re.search(r"http://[\d.]+:\d+/", line)))
        yield found.group(), process
    finally:
        process.kill()
        process.communicate()


def name(window: Window, who: str) -> None:
    window.type("input:not(#code)", who)  # and not into the page of the code that is just leaving
    window.tap("Go on")


def tap_digits(window: Window, number: str) -> None:
    for digit in number:
        window.tap(digit, ".pad button")


def tap_shot(window: Window, shot: int, fill: str) -> None:
    window.wait_for("h2", f"Shot {shot} of 5")
    window.wait_for("h2", "Fill in %")
    tap_digits(window, fill)
    window.tap("Enter")
    window.tap("No flash")
    window.tap(f"Save shot {shot}")


def warm_up(window: Window) -> None:
    for shot in (1, 2):
        window.wait_for("h2", f"Shot {shot} of 5")
        window.tap("Shot made and set aside")


def only_own(window: Window, address: str) -> bool:
    """Whether the console is quiet and nothing but the server was asked."""
    return not window.errors() and all(a.startswith(address) for a in window.requests())


def test_page__whole_study_tapped_on_two_devices__in_runs_csv(tmp_path: Path) -> None:
    folder = tmp_path / "study"
    folder.mkdir()
    study = planned(folder)
    with command(folder) as (address, process), open_window(tmp_path / "a", PHONE) as phone:
        phone.open(address)
        name(phone, "Ada")
        warm_up(phone)
        tap_shot(phone, 3, "96")
        phone.wait_for("h2", "Shot 4 of 5")
        tap_digits(phone, "97")
        phone.open(address)  # a reload loses nothing that was typed
        phone.wait_for("h2", "Fill in %")
        assert phone.wait_for("input").get_attribute("value") == "97"
        phone.tap("Enter")
        with open_window(tmp_path / "b", TABLET) as tablet:
            tablet.open(address)
            name(tablet, "Ben")
            tablet.wait_for("button", "97")  # sees what the other device answered
            tablet.tap("No flash")
            tablet.tap("Save shot 4")
            tap_shot(tablet, 5, "95")
            tablet.wait_for("h2", "All shots are made")
            assert only_own(tablet, address)
        phone.wait_for("h2", "All shots are made")
        assert only_own(phone, address)
        assert phone.width_of_content() == PHONE[0]
        process.send_signal(signal.SIGINT)
        assert process.wait(timeout=10) == 0
    made = [(r.fill, r.flash, r.status, r.by) for r in read_runs(folder, study)[2:]]
    assert made == [
        ((96.0,), (0.0,), "ok", "Ada"),
        ((97.0,), (0.0,), "ok", "Ben"),
        ((95.0,), (0.0,), "ok", "Ben"),
    ]


def test_page__second_recorder__told_who_has_the_study(tmp_path: Path) -> None:
    planned(tmp_path)
    with command(tmp_path):
        words = ["record", str(tmp_path), "--plain"]
        beside = subprocess.run(
            [sys.executable, "-m", "shotwindow.cli", *words],
            capture_output=True, text=True, input="", check=False,
        )  # fmt: skip
    assert beside.returncode == 1
    assert "Ctrl-C" in beside.stderr
