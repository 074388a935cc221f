"""The five blocks on given sensor signals, with nothing that flies: for the bench."""

from __future__ import annotations

from quadsim.jit import as_block, kernel


@kernel
def run_chain(first, stride, every, h, gyro, accel, in_air, signals, builder, gains, memory, chain, motors):
    """Run every block when it is due, one row of `gyro` [rad/s] and `accel` [m/s2] (n, 3) per `stride` ticks of `h` [s].

    every : ticks between two runs of each block, (5,)
    in_air : above 0: `airborne` is 1 whatever the guide makes of it
    motors : result, (n, 4): motor commands after each row
    """
    estimate, guide, attitude = as_block(chain[0]), as_block(chain[1]), as_block(chain[2])
    rate, allocate = as_block(chain[3]), as_block(chain[4])
    for k in range(gyro.shape[0]):
        tick = first + k * stride
        signals.t = tick * h
        for n in range(3):
            signals.gyro[n], signals.accel[n] = gyro[k, n], accel[k, n]
        if tick % every[0] == 0:
            signals.dt = every[0] * h
            estimate(signals, builder, gains[0], memory[0])
        if tick % every[1] == 0:
            signals.dt = every[1] * h
            guide(signals, builder, gains[1], memory[1])
            if in_air > 0.0:
                signals.airborne = 1.0
        if tick % every[2] == 0:
            signals.dt = every[2] * h
            attitude(signals, builder, gains[2], memory[2])
        if tick % every[3] == 0:
            signals.dt = every[3] * h
            rate(signals, builder, gains[3], memory[3])
        if tick % every[4] == 0:
            signals.dt = every[4] * h
            allocate(signals, builder, gains[4], memory[4])
        for n in range(4):
            motors[k, n] = signals.motor[n]
