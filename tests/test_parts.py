"""Connected parts, against a general-purpose library's labeling of images (scipy.ndimage)."""

import numpy as np
import pytest

from shotwindow.models.parts import connected_parts


@pytest.mark.parametrize("shape", [(40,), (13, 17), (6, 7, 8), (4, 5, 4, 6), (3,) * 6])
@pytest.mark.parametrize("share", [0.25, 0.5, 0.8])
def test_connected_parts__as_labeled_by_scipy(shape: tuple[int, ...], share: float) -> None:
    from scipy.ndimage import find_objects, label

    rng = np.random.default_rng(len(shape))
    flags, values = rng.uniform(size=shape) < share, rng.uniform(size=shape)
    labels, count = label(flags)
    found = connected_parts(flags, values)
    assert len(found) == count
    assert [p.marks for p in found] == sorted(np.bincount(labels.ravel())[1:].tolist())[::-1]
    boxes = {tuple((s.start, s.stop - 1) for s in box) for box in find_objects(labels)}
    assert {tuple(zip(p.low, p.high, strict=True)) for p in found} <= boxes
    for part in found:
        own = labels == labels[part.inside]
        assert values[part.inside] == values[own].max() and own.sum() == part.marks


def test_connected_parts__nothing_true__none() -> None:
    assert connected_parts(np.zeros((3, 4), dtype=bool), np.zeros((3, 4))) == ()


def test_connected_parts__touching_by_a_corner_only__apart() -> None:
    assert len(connected_parts(np.eye(4, dtype=bool), np.ones((4, 4)))) == 4
