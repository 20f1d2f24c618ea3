"""Long work -> how much of it is done, for whoever listens; nobody has to.

The work knows nothing of terminals, and nothing has to be handed down to it: whoever wants to show
how far it is calls it within `heard_by`. Nothing that is computed depends on it.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar

#: Is told the share that is done, from 0 to 1; it begins anew where a next piece of work does.
Listener = Callable[[float], None]

_listener: ContextVar[Listener | None] = ContextVar("listener", default=None)


@contextmanager
def heard_by(listener: Listener) -> Iterator[None]:
    """Let a listener be told of all work that is done within.

    Examples
    --------
    >>> from shotwindow.doe.progress import heard_by, tell
    >>> shares = []
    >>> with heard_by(shares.append):
    ...     tell(0.5)
    >>> tell(1.0)
    >>> shares
    [0.5]
    """
    before = _listener.set(listener)
    try:
        yield
    finally:
        _listener.reset(before)


def tell(share: float) -> None:
    """Tell the listener, if there is one, how much of the work is done."""
    listener = _listener.get()
    if listener is not None:
        listener(share)
