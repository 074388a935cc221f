"""A control block run over and over on sensors that stand still, until its filters rest."""

from __future__ import annotations

from quadsim.jit import as_block, kernel


@kernel
def rest_runs(entry, first, runs, every, signals, craft, gains, memory, kept):
    """Run a block `runs` times, the counting of runs beginning at `first`.

    Parameters
    ----------
    entry : address of the block, element of a chain
    every : runs between two samples of barometer, satellite receiver, magnetometer and rangefinder, (4,); 0: none
    kept : attitude (4), height, place (3) that the estimate is put back to after each run, (8,); rates and velocity to zero
    """
    block = as_block(entry)
    for n in range(first, first + runs):
        if every[0] > 0 and n % every[0] == 0:
            signals.baro_count += 1.0
        if every[1] > 0 and n % every[1] == 0:
            signals.gnss_count += 1.0
        if every[2] > 0 and n % every[2] == 0:
            signals.mag_count += 1.0
        if every[3] > 0 and n % every[3] == 0:
            signals.range_count += 1.0
        block(signals, craft, gains, memory)
        for k in range(4):
            signals.attitude[k] = kept[k]
        signals.height, signals.climb_rate = kept[4], 0.0
        for k in range(3):
            signals.position[k], signals.velocity[k], signals.rates[k] = kept[5 + k], 0.0, 0.0
