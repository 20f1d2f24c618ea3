"""Jobs -> their results, computed by the workers of a Dask cluster, as they come.

The workers are processes on any number of computers with the same version of shotwindow. A job
goes to another worker if the one that had it dies; only a cluster without any worker, or a job
that ends every worker it comes to, ends the run.
"""

import logging
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from importlib.metadata import PackageNotFoundError, version
from queue import Empty, SimpleQueue
from typing import TYPE_CHECKING, Any

from shotwindow.doe.errors import StudyError

if TYPE_CHECKING:  # an extra that need not be there
    from distributed import Client, Future

PATIENCE_S = 15.0  # for a scheduler to answer, and for a first worker to come
_LOOK_S = 2.0  # how often a cluster that says nothing is looked at


class ClusterLost(Exception):
    """The cluster cannot go on; the message says what was found."""


def done_on_cluster(
    task: Callable[..., dict[str, Any]], left: Mapping[str, tuple[Any, ...]], address: str
) -> Iterator[tuple[str, dict[str, Any]]]:
    """Give the results of jobs as they come, in any order.

    Parameters
    ----------
    task : callable
        Called with the arguments of a job; can be found by its name on the workers.
    left : mapping
        Key -> arguments.
    address : str
        Of the scheduler, such as ``tcp://192.168.1.20:8786``.

    Raises
    ------
    StudyError
        If the extra is not installed, or the workers have another version of shotwindow.
    ClusterLost
        If the scheduler is out of reach, has no worker, or a job ends its workers.
    """
    with _connected(address) as client:
        _check_workers(client, address)
        ready: SimpleQueue[Future[Any]] = SimpleQueue()
        waiting = {client.submit(task, *args, pure=False): key for key, args in left.items()}
        for future in waiting:
            # distributed gives this function no types
            future.add_done_callback(ready.put)  # type: ignore[no-untyped-call]
        while waiting:
            try:
                future = ready.get(timeout=_LOOK_S)
            except Empty:
                _check_alive(client, address)
                continue
            yield waiting.pop(future), _result(client, future, address)


@contextmanager
def _connected(address: str) -> "Iterator[Client]":
    try:
        from distributed import Client
    except ImportError as fault:
        raise StudyError.one(
            "--scheduler",
            "no Dask on this computer",
            "the extra `cluster`",
            'install it: pip install "shotwindow[cluster]", or pip install ".[cluster]" in a clone',
        ) from fault
    log = logging.getLogger("distributed")
    level = log.level
    log.setLevel(logging.CRITICAL)  # what it would say is said in our words
    try:
        client = _client(Client, address)
        try:
            yield client
        finally:
            # distributed gives this function no types
            client.close(timeout=_LOOK_S)  # type: ignore[no-untyped-call]
    finally:
        log.setLevel(level)


def _client(kind: "type[Client]", address: str) -> "Client":
    try:
        return kind(address, timeout=PATIENCE_S, set_as_default=False)
    except (OSError, ValueError, TimeoutError) as fault:  # nobody there, or no address
        raise ClusterLost(f"{address}, where no scheduler answers") from fault


def _check_workers(client: "Client", address: str) -> None:
    """Refuse a cluster without workers, and workers that might compute something else."""
    try:
        client.wait_for_workers(1, timeout=PATIENCE_S)
    except TimeoutError as fault:
        raise ClusterLost(f"{address}, a scheduler without workers") from fault
    here = own_version()
    # a worker that has died just now, and does not answer, is none to ask
    there = client.run(version, "shotwindow", on_error="return").values()
    versions = {"none" if isinstance(v, PackageNotFoundError) else v for v in there}
    others = sorted(v for v in versions if isinstance(v, str) and v != here)
    if others:
        found = f"workers with shotwindow {', '.join(others)}"
        do = "install the same version on all computers, and start their workers again"
        raise StudyError.one("--scheduler", found, here, do)


def own_version() -> str:
    """Return the version that workers must have."""
    return version("shotwindow")


def _check_alive(client: "Client", address: str) -> None:
    """Tell a cluster that is busy from one that will never answer."""
    if client.status != "running":
        raise ClusterLost(f"{address}, a scheduler that went away")
    if not client.scheduler_info()["workers"]:
        raise ClusterLost(f"{address}, a scheduler whose workers have all gone")


def _result(client: "Client", future: "Future[Any]", address: str) -> dict[str, Any]:
    """Return what a job gave, which may have to be computed again if its worker died just now."""
    from concurrent.futures import CancelledError

    from distributed import KilledWorker

    while True:
        try:
            result: dict[str, Any] = future.result(timeout=_LOOK_S)
            return result
        except TimeoutError:
            if future.status == "error":  # the job's own
                raise
            _check_alive(client, address)
        except KilledWorker as fault:
            found = f"{address}, where one job ended every worker that it came to"
            raise ClusterLost(f"{found}, perhaps for want of memory") from fault
        except (CancelledError, OSError) as fault:
            if future.status == "error":  # the job's own
                raise
            raise ClusterLost(f"{address}, a scheduler that went away") from fault
