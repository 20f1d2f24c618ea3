from collections.abc import Iterator

import pytest

from shotwindow.cli.keyboard import Screen

GRADE = {key: key for key in "0123"}


def screen(*keys: str | None, step: float = 0.0) -> Screen:
    """A screen whose keys are given, and whose clock moves on by `step` at each key."""
    given: Iterator[str | None] = iter(keys)
    seconds = [0.0]

    def key_within(wait: float | None) -> str | None:
        seconds[0] += step
        return next(given)

    return Screen(True, key_within, lambda: seconds[0])


@pytest.mark.parametrize(
    ("keys", "line"),
    [
        ("2", "2\n"),
        ("\r", "\n"),
        ("v5\n", "v5\n"),
        ("n\x7f3", "3\n"),
        ("c 2\n", "c 2\n"),  # a grade's key within a line is a part of it
        ("x\x7f\x7f\n", "\n"),
        ("\x1b1", "1\n"),
        ("\x04", ""),
    ],
)
def test_line__one_key_or_a_line(keys: str, line: str) -> None:
    assert screen(*keys).line(GRADE) == line


def test_line__word_for_a_key() -> None:
    assert screen("1").line({"1": "full"}) == "full\n"


def test_count_down__to_its_end__rings_once(capsys: pytest.CaptureFixture[str]) -> None:
    assert screen(*[None] * 120, step=1.0).count_down(2) == "over"
    shown = capsys.readouterr().err
    assert "  2:00 left" in shown
    assert "  0:01 left" in shown
    assert shown.count("\a") == 1


@pytest.mark.parametrize(("key", "end"), [("\n", "skipped"), ("q", "left"), ("\x04", "left")])
def test_count_down__cut_short__no_bell(
    key: str, end: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert screen(None, "5", key, step=1.0).count_down(10) == end
    assert "\a" not in capsys.readouterr().err


def test_count_down__w__only_where_there_is_something_to_weigh(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert screen("w", "\n", step=1.0).count_down(10, weighs=True) == "weigh"
    assert "w weighs" in capsys.readouterr().err
    assert screen("w", "\n", step=1.0).count_down(10) == "skipped"
    assert "w weighs" not in capsys.readouterr().err


def test_count_down__nothing_to_wait_for() -> None:
    assert screen().count_down(0) == "over"
