"""A second process that draws half of a report while this one goes on."""

import gc
import os
import signal
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from importlib import import_module
from pathlib import Path
from typing import Any

#: What the second process loads while this one fits.
LOADED = (
    "statsmodels.regression.linear_model",
    "shotwindow.reports.page_explained",
    "matplotlib.backends.backend_svg",
)


def pays(folder: Path) -> bool:
    """Return whether a second process makes the report of a study sooner.

    Not where there is no study; whether it is sound is not looked at, so that the process can begin
    before anything is loaded.
    """
    return (folder / "study.toml").exists() and (os.cpu_count() or 1) > 1


@contextmanager
def second_process() -> Iterator[Callable[..., Callable[[], Any]]]:
    """Start a process that loads what half of a report needs, and yield what hands it a task.

    Tasks, their arguments and what they give must be what can be sent to another process. Where
    that process ends before its time, perhaps for want of memory, the task is done in this one. It
    is ended at once where this one fails or is interrupted.
    """
    from concurrent.futures import ProcessPoolExecutor
    from concurrent.futures.process import BrokenProcessPool
    from multiprocessing import get_context

    # a process that begins anew, as on every system; one that is copied can hang on copied locks
    pool = ProcessPoolExecutor(1, get_context("spawn"), initializer=_begin)

    def elsewhere(task: Callable[..., Any], *arguments: Any) -> Callable[[], Any]:
        asked = pool.submit(_last, task, *arguments)

        def result() -> Any:
            try:
                return asked.result()
            except BrokenProcessPool:
                return task(*arguments)

        return result

    with _deaf():  # what starts here is deaf from its first line on
        number = pool.submit(os.getpid)
        for module in LOADED:
            pool.submit(import_module, module)
    try:
        yield elsewhere
    except BaseException:  # nobody waits for what it does
        with suppress(OSError, BrokenProcessPool):  # it may have ended by itself
            if number.done():
                os.kill(number.result(), signal.SIGTERM)
        raise
    finally:
        pool.shutdown(cancel_futures=True)  # and wait, or Python closes it once more when it ends


def _last(task: Callable[..., Any], *arguments: Any) -> Any:
    """Do a task after which the process may end at once: nothing is looked through before."""
    result = task(*arguments)
    gc.freeze()
    return result


@contextmanager
def _deaf() -> Iterator[None]:
    """Do not hear Ctrl-C meanwhile, nor ever in a process that is begun meanwhile."""
    heard = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, heard)


def _begin() -> None:
    """Leave Ctrl-C to the process that was asked for the report; keep all there is to the end."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # where deafness is not inherited
    gc.disable()
