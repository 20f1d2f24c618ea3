"""The shots of a study -> one sentence on what is known so far, found while the press soaks.

The numbers come from a process of their own: recording neither waits for it nor fails with it.
"""

import json
import subprocess
import sys
from pathlib import Path


class SoFar:
    """Finds what is known so far, and has it ready when it is asked for."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._process: subprocess.Popen[str] | None = None

    def start(self) -> None:
        """Begin with the shots that are recorded now; an older search is given up."""
        self.stop()
        words = [sys.executable, "-m", "shotwindow.cli", "window", str(self._folder), "--json"]
        try:
            self._process = subprocess.Popen(
                words,
                stdin=subprocess.DEVNULL,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                encoding="utf-8",
            )
        except OSError:
            self._process = None

    def news(self) -> str:
        """Return the sentence once it is found, and "" before and after."""
        process = self._process
        if process is None or process.poll() is None:
            return ""
        self._process = None
        said = process.communicate()[0]
        try:
            verdict = json.loads(said)["window"]["verdict"]
        except (ValueError, KeyError, TypeError):
            return "What is known so far could not be worked out yet; recording goes on."
        return f"So far: {verdict}"

    def stop(self) -> None:
        """Give up what is not found yet."""
        if self._process is not None:
            self._process.kill()
            self._process.communicate()
            self._process = None
