"""From the stick to the screen: what this computer takes, measured frame by frame, and what the links of the craft add."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass

import numpy as np

FRAMES = 180
"""Frames over which the computer's share is taken."""


@dataclass(frozen=True)
class Latency:
    """Shares of the time from a movement of the stick to the picture that shows it [s]."""

    computer_s: float
    """Waiting for a frame to begin (half an interval), and from reading the sticks to the picture handed to the screen."""
    worst_s: float
    radio_s: float
    video_s: float

    @property
    def total_s(self) -> float:
        """All of it [s]; what the screen itself takes is not in it."""
        return self.computer_s + self.radio_s + self.video_s


class LatencyMeter:
    """Takes the wall time of each frame's reading of the sticks and of its showing."""

    def __init__(self) -> None:
        self._spans: deque[float] = deque(maxlen=FRAMES)
        self._reads: deque[float] = deque(maxlen=FRAMES)

    def frame(self, read_s: float, shown_s: float) -> None:
        """One frame: sticks read, picture shown [s, wall]."""
        self._reads.append(read_s)
        self._spans.append(max(shown_s - read_s, 0.0))

    @property
    def frames_per_s(self) -> float:
        """Frames per second achieved; 0 before there are two."""
        if len(self._reads) < 2 or self._reads[-1] <= self._reads[0]:
            return 0.0
        return (len(self._reads) - 1) / (self._reads[-1] - self._reads[0])

    def now(self, radio_s: float, video_s: float) -> Latency:
        """The latency over the last frames: the median of the computer's share, and its 95th percentile."""
        if not self._spans:
            return Latency(0.0, 0.0, radio_s, video_s)
        wait = 0.5 / self.frames_per_s if self.frames_per_s > 0.0 else 0.0
        typical, worst = np.percentile(np.array(self._spans), (50.0, 95.0))
        return Latency(float(typical) + wait, float(worst) + 2.0 * wait, radio_s, video_s)
