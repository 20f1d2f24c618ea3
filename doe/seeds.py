"""A seed and the name of a stream turned into a random generator, the same on every machine.

Each use of chance in the program names its own stream. Two streams of one seed are independent,
and adding a new stream never changes what an old one gives.
"""

import hashlib

import numpy as np


def generator(seed: int, *stream: str | int) -> np.random.Generator:
    """Return the generator of a named stream under a seed.

    Parameters
    ----------
    seed : int
        The user's seed, zero or more.
    *stream : str or int
        Words and numbers that name the use, for instance ``"run order", 3``.

    Raises
    ------
    ValueError
        If the seed is negative or is no whole number.

    Examples
    --------
    >>> from shotwindow.doe.seeds import generator
    >>> first, again = generator(1, "run order"), generator(1, "run order")
    >>> bool(first.random() == again.random())
    True
    """
    if isinstance(seed, bool) or not isinstance(seed, int) or seed < 0:
        raise ValueError(f"seed must be a whole number, zero or more, but {seed!r} was given")
    # repr keeps the word "3" and the number 3, and ("a", "b") and ("ab",), apart; Python's own
    # hash() differs between two runs of the program, so it cannot be used here.
    digest = hashlib.sha256(repr(stream).encode()).digest()
    words = [int.from_bytes(digest[i : i + 4], "little") for i in range(0, 16, 4)]
    return np.random.Generator(np.random.PCG64(np.random.SeedSequence([seed, *words])))
