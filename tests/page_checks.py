"""Two judges of pages that others made and keep: axe-core for access, the Nu checker for markup.

Both come from the npm registry, into a folder outside of the sources that the environment variable
PAGE_CHECKS names; `.ci/run` says how, and which versions. Where they are not, these tests are
skipped with a reason; under CI (the environment variable CI is true) that is an error.
"""

import json
import os
import shutil
import subprocess
from collections.abc import Iterable
from pathlib import Path
from typing import NoReturn

import pytest
from browser import Window

AXE, NU = "axe-core/axe.min.js", "vnu-jar/build/dist/vnu.jar"
_LONGEST_S = 60
#: Room for deep pages; and it runs too shortly for Java's thorough compiler to pay.
_JAVA = ("-Xss8m", "-XX:TieredStopAtLevel=1", "-XX:+UseSerialGC")


def _want(what: str) -> NoReturn:
    """End a test for want of something: as failed under CI, elsewhere as skipped."""
    reason = f"needs {what}; .ci/run shows how to get it"
    if os.environ.get("CI") == "true":
        pytest.fail(reason)
    pytest.skip(reason)


def _program(name: str) -> Path:
    """Return a file of the folder PAGE_CHECKS."""
    path = Path(os.environ.get("PAGE_CHECKS", "nowhere")) / "node_modules" / name
    if not path.is_file():
        _want(f"{name} in the folder that PAGE_CHECKS names")
    return path


def access_faults(window: Window) -> list[str]:
    """Return what axe-core has against the page as it stands now, by all rules that it has on."""
    axe = _program(AXE).read_text("utf-8")
    window.driver.set_script_timeout(_LONGEST_S)
    found = window.driver.execute_async_script(
        axe + "; const done = arguments[arguments.length - 1];"
        "axe.run(document, { preload: false, resultTypes: ['violations'] })"
        ".then((r) => done(r.violations), (e) => done([{ id: String(e), help: '', nodes: [] }]));"
    )
    return [
        f"{fault['id']}: {fault['help']}: {node['html'][:200]}: {node['failureSummary'][:300]}"
        for fault in found
        for node in fault["nodes"] or [{"html": "", "failureSummary": ""}]
    ]


def markup_faults(pages: Iterable[Path]) -> list[str]:
    """Return what the Nu checker calls an error against the HTML standard in any of the pages."""
    java, checker = shutil.which("java"), _program(NU)
    if java is None:
        _want("java (Debian: default-jre-headless)")
    words = [java, *_JAVA, "-jar", str(checker), "--format", "json", "--errors-only"]
    done = subprocess.run([*words, *map(str, pages)], capture_output=True, text=True)
    # the checker ends with 1 where it finds anything, and says so on the stream of errors
    return [
        f"{Path(fault['url']).name}:{fault.get('lastLine')}: {fault['message']}"
        for fault in json.loads(done.stderr)["messages"]
    ]
