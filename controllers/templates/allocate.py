"""An allocator to copy: rename the function, fly it with `--allocate my_law.py:my_allocate`.

What is asked times the inverse of what the rotors do, each rotor kept within its bounds; nothing has priority. What could not be
given is reported, so that integrals wait. `controllers/template.py` (for slot rate) says what each part is for.
"""

from controllers import block
from controllers.filters import limit
from controllers.thrust import command_for


@block("allocate")
def my_allocate(s, craft, gains, memory):
    """My allocator: inverse of the effectiveness, each rotor clipped by itself."""
    high = craft.max_thrust
    for row in range(3):
        s.unallocated[row] = s.angular_acceleration_wanted[row]
    s.unallocated[3] = s.thrust_wanted
    for i in range(4):
        asked = craft.allocation[i, 3] * s.thrust_wanted  # N of this rotor
        for axis in range(3):
            asked += craft.allocation[i, axis] * s.angular_acceleration_wanted[axis]
        given = limit(asked, 0.0, high)
        for row in range(4):
            s.unallocated[row] -= craft.effectiveness[row, i] * given
        share = given / high if high > 0.0 else 0.0
        s.motor[i] = limit(command_for(share, craft.thrust_curve), craft.idle, 1.0) if s.armed > 0.0 else 0.0
    for row in range(4):
        if abs(s.unallocated[row]) < 1e-6:  # rounding is nothing that was not given
            s.unallocated[row] = 0.0
