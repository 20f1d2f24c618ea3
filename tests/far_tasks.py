"""Tasks for another process, which finds them by the name of this module."""

import os
import signal
import sys
import time
from pathlib import Path

from shotwindow.cli.second_process import LOADED


def ends_elsewhere(at_home: int) -> int:
    """End the process unless it is the one at home."""
    if os.getpid() != at_home:
        os._exit(1)
    return os.getpid()


def told() -> tuple[int, bool, list[str]]:
    """Return which process this is, whether it hears Ctrl-C, and which modules it has loaded."""
    loaded = [name for name in LOADED if name in sys.modules]
    return os.getpid(), signal.getsignal(signal.SIGINT) != signal.SIG_IGN, loaded


def late(folder: Path) -> None:
    """Leave a file at once, and another one after a while."""
    (folder / "begun").touch()
    time.sleep(3)
    (folder / "ended").touch()
