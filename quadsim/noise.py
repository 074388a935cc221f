"""Random numbers that belong to a tick: a hash of (seed, count, channel), so no state is carried and any order of
calls gives the same draw."""

from __future__ import annotations

import math

import numpy as np

from quadsim.jit import JIT, kernel

_MASK = 0xFFFFFFFFFFFFFFFF
_GOLDEN = 0x9E3779B97F4A7C15
_LAYERS = 128
_TAIL = 3.442619855899
_AREA = 9.91256303526217e-3
"""Start of the tail and area of a layer for 128 layers; Marsaglia & Tsang, J. Statistical Software 5(8), 2000, p. 5."""


def _layer_edges() -> tuple[np.ndarray, np.ndarray]:
    """Edges of the layers, and the share of each layer's width that lies wholly under the curve."""
    x = np.zeros(_LAYERS + 1)
    f = math.exp(-0.5 * _TAIL * _TAIL)
    x[0], x[1] = _AREA / f, _TAIL
    for i in range(2, _LAYERS):
        x[i] = math.sqrt(-2.0 * math.log(_AREA / x[i - 1] + f))
        f = math.exp(-0.5 * x[i] * x[i])
    return x, x[1:] / x[:-1]


EDGE, INSIDE = _layer_edges()


if JIT:

    @kernel
    def mix(z):
        """SplitMix64 output for the state `z` (uint64): a well-mixed hash of 64 bits.

        G. Steele, D. Lea & C. Flood, Fast splittable pseudorandom number generators, OOPSLA 2014, 453-472.
        """
        z = np.uint64(z) + np.uint64(_GOLDEN)
        z = (z ^ (z >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
        z = (z ^ (z >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
        return z ^ (z >> np.uint64(31))

    @kernel
    def split(bits):
        """A layer 0..127 from the low bits and a number -1..1 from the high 53 bits."""
        return np.int64(bits & np.uint64(127)), float(np.int64(bits >> np.uint64(11))) * 2.0**-52 - 1.0

    @kernel
    def sample_key(key, count):
        """Key of all the draws that belong to sample number `count` of a flight with this `key`."""
        return mix(np.uint64(key) + np.uint64(count) * np.uint64(0xD1B54A32D192ED03))

    @kernel
    def channel_bits(sample, channel):
        """64 bits for one channel of a sample."""
        return mix(np.uint64(sample) ^ (np.uint64(channel) << np.uint64(56)))
else:
    # The same arithmetic on Python's own integers: numpy would warn of the wrap-around that is meant here.

    def mix(z):
        """SplitMix64 output for the state `z`."""
        z = (int(z) + _GOLDEN) & _MASK
        z = ((z ^ (z >> 30)) * 0xBF58476D1CE4E5B9) & _MASK
        z = ((z ^ (z >> 27)) * 0x94D049BB133111EB) & _MASK
        return z ^ (z >> 31)

    def split(bits):
        """A layer 0..127 from the low bits and a number -1..1 from the high 53 bits."""
        return bits & 127, float(bits >> 11) * 2.0**-52 - 1.0

    def sample_key(key, count):
        """Key of all the draws that belong to sample number `count` of a flight with this `key`."""
        return mix((int(key) + int(count) * 0xD1B54A32D192ED03) & _MASK)

    def channel_bits(sample, channel):
        """64 bits for one channel of a sample."""
        return mix(sample ^ (channel << 56))


@kernel
def gauss(sample, channel):
    """A standard normal number that belongs to the sample key `sample` and `channel` (0..255).

    Ziggurat of 128 layers: G. Marsaglia & W. W. Tsang, J. Statistical Software 5(8), 2000; layer and place from
    different bits after J. Doornik (2005; from memory). A rejected draw goes on with the hash of its own bits.
    """
    bits = channel_bits(sample, channel)
    layer, u = split(bits)
    while abs(u) >= INSIDE[layer]:
        x = u * EDGE[layer]
        if layer == 0:
            return math.copysign(_tail(bits), u)
        bits = mix(bits)
        low, high = math.exp(-0.5 * EDGE[layer] ** 2), math.exp(-0.5 * EDGE[layer + 1] ** 2)
        if low + 0.5 * (split(bits)[1] + 1.0) * (high - low) < math.exp(-0.5 * x * x):
            return x
        bits = mix(bits)
        layer, u = split(bits)
    return u * EDGE[layer]


@kernel
def _tail(bits):
    """A normal number beyond the last layer, by Marsaglia's method."""
    while True:
        bits = mix(bits)
        first = math.log(0.5 * (split(bits)[1] + 1.0) + 1e-17) / _TAIL
        bits = mix(bits)
        second = math.log(0.5 * (split(bits)[1] + 1.0) + 1e-17)
        if -2.0 * second > first * first:
            return _TAIL - first
