"""What to set for a shot -> lines that can be read from beside the press, within 80 columns."""

from collections.abc import Sequence

from shotwindow.cli.wording import Move, shot_title
from shotwindow.doe.rows import Row
from shotwindow.doe.study import Study

_WIDTH = 78
# Three rows for each sign, in signs that every terminal has.
_SIGNS = {
    "0": (" _ ", "| |", "|_|"),
    "1": ("   ", "  |", "  |"),
    "2": (" _ ", " _|", "|_ "),
    "3": (" _ ", " _|", " _|"),
    "4": ("   ", "|_|", "  |"),
    "5": (" _ ", "|_ ", " _|"),
    "6": (" _ ", "|_ ", "|_|"),
    "7": (" _ ", "  |", "  |"),
    "8": (" _ ", "|_|", "|_|"),
    "9": (" _ ", "|_|", " _|"),
    "-": ("   ", " _ ", "   "),
    ".": (" ", " ", "."),
}
_MOST = 4  # so many large settings leave room for the questions on 24 lines


def large_number(text: str) -> tuple[str, str, str]:
    """Return a number in three rows.

    Examples
    --------
    >>> from shotwindow.cli.large import large_number
    >>> large_number("4.5")
    ('       _ ', '|_|   |_ ', '  | .  _|')
    """
    rows = [_SIGNS[sign] for sign in text]
    return (
        " ".join(sign[0] for sign in rows),
        " ".join(sign[1] for sign in rows),
        " ".join(sign[2] for sign in rows),
    )


def large_announcement(
    study: Study, row: Row, moves: Sequence[Move], warm_ups: int, last: int
) -> str:
    """Return what to set for a shot, the numbers large.

    Parameters
    ----------
    study : Study
    row : Row
    moves : sequence of Move
        What is to be set.
    warm_ups : int
        Warm-up shots still to be made, this one counted.
    last : int
        Number of the last shot.
    """
    lines = ["=" * _WIDTH, f"  {shot_title(row, warm_ups, last).upper()}", "-" * _WIDTH]
    for move in moves:
        name = move.factor.name.replace("_", " ").upper()
        value = move.factor.text(move.value)
        if len(moves) > _MOST:
            lines.append(f"  {name:<20}{value} {move.factor.unit} {move.remark}".rstrip())
            continue
        top, middle, bottom = large_number(value)
        lines += [
            (" " * 22 + top).rstrip(),
            f"  {name:<20}{middle}  {move.remark}".rstrip(),
            " " * 22 + f"{bottom}  {move.factor.unit}",
        ]
    if not moves:
        kept = zip(study.factors, row.settings, strict=True)
        told = [f"{f.name.replace('_', ' ')} {f.text(value)} {f.unit}" for f, value in kept]
        lines += ["  LEAVE EVERYTHING AS IT IS", f"  {', '.join(told)}"]
    if moves and all(move.before is None for move in moves) and study.held:
        held = ", ".join(f"{held.name.replace('_', ' ')} {held.text}" for held in study.held)
        lines.append(f"  Keep {held}")
    return "\n".join([*lines, "=" * _WIDTH])
