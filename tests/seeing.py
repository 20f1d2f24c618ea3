"""What eyes make of two colors: their contrast, and how far apart they look, for every vision."""

from math import atan2, cos, degrees, exp, hypot, pi, radians, sin, sqrt

import numpy as np
from matplotlib.colors import to_rgb
from numpy.typing import NDArray

#: Linear RGB as seen without one kind of cone, complete loss (Machado, Oliveira and Fernandes,
#: IEEE Transactions on Visualization and Computer Graphics 15 (2009) 1291, table for severity 1.0;
#: the numbers are those of the library colorspacious 1.1.2).
VISION = {
    "all": np.eye(3),
    "protan": np.array(
        [
            [0.152286, 1.052583, -0.204868],
            [0.114503, 0.786281, 0.099216],
            [-0.003882, -0.048116, 1.051998],
        ]
    ),
    "deutan": np.array(
        [
            [0.367322, 0.860646, -0.227968],
            [0.280085, 0.672501, 0.047413],
            [-0.011820, 0.042940, 0.968881],
        ]
    ),
    "tritan": np.array(
        [
            [1.255528, -0.076749, -0.178779],
            [-0.078411, 0.930809, 0.147602],
            [0.004733, 0.691367, 0.303900],
        ]
    ),
}
#: Linear sRGB to CIE XYZ, and the white of a screen (IEC 61966-2-1).
_XYZ = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
_WHITE = np.array([0.9505, 1.0, 1.0890])
Lab = tuple[float, float, float]


def _linear(color: str) -> NDArray[np.float64]:
    rgb = np.array(to_rgb(color))
    return np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)


def contrast(one: str, other: str) -> float:
    """Contrast ratio as WCAG 2.1 defines it (https://www.w3.org/TR/WCAG21/#dfn-contrast-ratio)."""
    low, high = sorted(float(_linear(color) @ _XYZ[1]) for color in (one, other))
    return (high + 0.05) / (low + 0.05)


def lab(color: str, vision: str = "all") -> Lab:
    """CIELAB of a color (CIE 015) as a kind of vision has it; L*, 0 to 100, is its grey."""
    seen = np.clip(VISION[vision] @ _linear(color), 0, 1)
    share = _XYZ @ seen / _WHITE
    x, y, z = np.where(share > (6 / 29) ** 3, np.cbrt(share), share * (29 / 6) ** 2 / 3 + 4 / 29)
    return float(116 * y - 16), float(500 * (x - y)), float(200 * (y - z))


def difference(one: Lab, other: Lab) -> float:
    """CIEDE2000, written after Sharma, Wu and Dalal, Color Research and Application 30 (2005) 21.

    About 1 is what a trained eye just sees beside each other, common practice.
    """
    (l1, a1, b1), (l2, a2, b2) = one, other
    mean_c7 = ((hypot(a1, b1) + hypot(a2, b2)) / 2) ** 7
    stretch = 1 + (1 - sqrt(mean_c7 / (mean_c7 + 25.0**7))) / 2
    c1, c2 = hypot(stretch * a1, b1), hypot(stretch * a2, b2)
    h1, h2 = (atan2(b, stretch * a) % (2 * pi) for a, b in ((a1, b1), (a2, b2)))
    turn = (h2 - h1 + pi) % (2 * pi) - pi if c1 * c2 else 0.0
    if abs(h2 - h1) <= pi or not c1 * c2:
        hue = (h1 + h2) / 2 if c1 * c2 else h1 + h2
    else:
        hue = (h1 + h2 + 2 * pi) / 2 % (2 * pi)
    light, chroma = (l1 + l2) / 2, (c1 + c2) / 2
    t = 1 - 0.17 * cos(hue - pi / 6) + 0.24 * cos(2 * hue)
    t += 0.32 * cos(3 * hue + radians(6)) - 0.20 * cos(4 * hue - radians(63))
    s_l = 1 + 0.015 * (light - 50) ** 2 / sqrt(20 + (light - 50) ** 2)
    s_c, s_h = 1 + 0.045 * chroma, 1 + 0.015 * chroma * t
    tilt = radians(30 * exp(-(((degrees(hue) - 275) / 25) ** 2)))
    r = -2 * sqrt(chroma**7 / (chroma**7 + 25.0**7)) * sin(2 * tilt)
    d_l = (l2 - l1) / s_l
    d_c = (c2 - c1) / s_c
    d_h = 2 * sqrt(c1 * c2) * sin(turn / 2) / s_h
    return sqrt(d_l**2 + d_c**2 + d_h**2 + r * d_c * d_h)


def apart(one: str, other: str, vision: str = "all") -> float:
    """How different two colors look to a kind of vision, in CIEDE2000."""
    return difference(lab(one, vision), lab(other, vision))
