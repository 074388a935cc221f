"""An attitude law to copy: rename the function, fly it with `--attitude my_law.py:my_attitude`.

Proportional control of the turn from the attitude flown to the one wanted; its comments and those of `controllers/template.py`
(the longer text, for slot rate) say what each part is for.
"""

from controllers import Gains, block
from controllers.filters import limit
from controllers.rotation import multiply


class Gain(Gains):
    P = 0, "1/s", 6.0, 0.0, 30.0
    RATE_MAX = 1, "rad/s", 4.0, 0.1, 20.0


@block("attitude", gains=Gain)
def my_attitude(s, craft, gains, memory):
    """My attitude law: proportional to the turn that is left."""
    a, b = s.attitude, s.attitude_wanted
    # conjugate of the attitude times the one wanted: the turn that is left, in body axes
    w, x, y, z = multiply(a[0], -a[1], -a[2], -a[3], b[0], b[1], b[2], b[3])
    sign = (
        2.0 if w >= 0.0 else -2.0
    )  # the short way round; twice the vector part is the angle, where it is small
    most = gains[Gain.RATE_MAX]
    for axis, left in ((0, x), (1, y), (2, z)):
        # `attitude_weight` is 0 in rate command; there `rates_fed_forward` alone is what the sticks ask for
        rate = s.attitude_weight * gains[Gain.P] * sign * left
        s.rates_wanted[axis] = limit(rate, -most, most) + s.rates_fed_forward[axis]
