"""A rate law to copy: put this file anywhere, rename the function, fly it with `--rate my_law.py:my_rate`.

It is proportional control with an integral that waits for lift-off and stops while the rotors have nothing left to give.
"""

from enum import IntEnum

from controllers import Gains, block


# 1. Gains: NAME = index, unit, default, least, greatest. They can be changed in a flight without compiling again.
class Gain(Gains):
    P = 0, "1/s", 15.0, 0.0, 100.0
    I = 1, "1/s2", 40.0, 0.0, 500.0


# 2. Memory: names for the numbers you keep from run to run. They are all zero before the first run.
class Memory(IntEnum):
    INTEGRAL = 0  # this one and the next two: roll, pitch, yaw


# 3. The slot says where the law stands in the chain: estimate, guide, attitude, rate or allocate.
#    `memory=3` is how many numbers you keep. The function takes exactly these four arguments.
@block("rate", gains=Gain, memory=3)
def my_rate(s, craft, gains, memory):
    """My rate law: PI on the body rates."""
    # 4. `s` holds everything the flight controller knows; `quadsim blocks` lists the names with units.
    #    Axes are 0 roll, 1 pitch, 2 yaw, about body axes forward, right, down. Angles in rad, rates in rad/s.
    for axis in range(3):
        error = s.rates_wanted[axis] - s.rates[axis]
        # 5. `s.unallocated` is what was asked last time and could not be given: do not ask for more of it.
        free = s.unallocated[axis] * error <= 0.0
        # 6. `s.dt` is the time since your last run [s]; `s.airborne` is 1 in the air, 0 on the ground.
        if free:
            memory[Memory.INTEGRAL + axis] += gains[Gain.I] * error * s.dt
        memory[Memory.INTEGRAL + axis] *= s.airborne
        # 7. A rate law writes `angular_acceleration_wanted` [rad/s2] and nothing else; `craft` has mass and inertia.
        s.angular_acceleration_wanted[axis] = gains[Gain.P] * error + memory[Memory.INTEGRAL + axis]
    # 8. Numbers, loops, `math` and functions of your own under @kernel compile; lists, strings and files do not.
    # 9. Check your law with `quadsim blocks my_law.py`, then fly it.
