import subprocess
import sys

import numpy as np
import pytest

from shotwindow.doe.seeds import generator


def test_generator__seed_one_stream__same_numbers_on_every_machine() -> None:
    # PCG64 is specified bit for bit; these are our own numbers, kept so that plans never change.
    drawn = generator(1, "run order", 3).integers(1000, size=5).tolist()
    code = (
        "from shotwindow.doe.seeds import generator;"
        "print(generator(1, 'run order', 3).integers(1000, size=5).tolist())"
    )
    again = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert again.stdout.strip() == str(drawn)
    assert drawn == DRAWN


DRAWN = [23, 214, 939, 816, 857]


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ((1, "a"), (2, "a")),
        ((1, "a"), (1, "b")),
        ((1, "3"), (1, 3)),
        ((1, "a", "b"), (1, "ab")),
        ((1,), (1, "")),
    ],
)
def test_generator__another_seed_or_stream__other_numbers(
    one: tuple[int, str], other: tuple[int, str]
) -> None:
    assert not np.array_equal(generator(*one).random(4), generator(*other).random(4))


def test_generator__two_streams__not_correlated() -> None:
    # Correlation of 10,000 independent pairs has sd 0.01: false alarm in 1 of 16,000 such pairs.
    first, second = generator(5, "shots").normal(size=10_000), generator(5, "x").normal(size=10_000)
    assert abs(np.corrcoef(first, second)[0, 1]) < 0.04


@pytest.mark.parametrize("seed", [-1, 1.0, True, "1"])
def test_generator__seed_that_is_no_whole_number__refused(seed: int) -> None:
    with pytest.raises(ValueError, match="zero or more"):
        generator(seed, "a")
