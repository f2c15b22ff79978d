"""Test pictures: frames that carry their own number and show how loud the stage is at that moment.

A frame is grey. Its upper half is sixteen bars, white for 1 and black for 0: the frame's number in binary, the highest
figure at the left. In the lower half a white column stands as high as the stage is loud while the frame is exposed;
light takes no time, so it rises when a drum is hit, not when the hit is heard.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

WIDTH, HEIGHT = 160, 96
BITS = 16
_BAR = WIDTH // BITS
_FLOOR_DB = -40.0
Picture = NDArray[np.uint8]


def picture(number: int, loud: float) -> Picture:
    """Draw one frame, shape (HEIGHT, WIDTH), one byte a pixel.

    Parameters
    ----------
    number
        Of the frame, from 0; it comes round after 65,536.
    loud
        How loud the stage is, re its loudest. [1]
    """
    out = np.full((HEIGHT, WIDTH), 128, np.uint8)
    for place in range(BITS):
        bit = number >> (BITS - 1 - place) & 1
        out[: HEIGHT // 2, place * _BAR + 1 : (place + 1) * _BAR - 1] = 235 if bit else 16
    share = np.clip(1 - 20 * np.log10(max(loud, 1e-6)) / _FLOOR_DB, 0, 1)
    height = round(float(share) * (HEIGHT // 2 - 4))
    out[HEIGHT - height :, WIDTH // 4 : 3 * WIDTH // 4] = 235
    return out


def read_number(frame: Picture) -> int:
    """Read a frame's number off its picture.

    >>> read_number(picture(25_417, 0.5))
    25417
    """
    number = 0
    for place in range(BITS):
        bar = frame[4 : HEIGHT // 2 - 4, place * _BAR + 3 : (place + 1) * _BAR - 3]
        number = 2 * number + int(bar.mean() > 125)
    return number
