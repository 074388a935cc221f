"""With three rotors: what allocation does once a rotor is found not to answer any more.

Three rotors cannot hold a heading as well: yaw is given up and the craft spins. Roll, pitch and thrust have three rotors left,
none of which can pull down. In an X the rotor opposite the lost one can then only push one way, so that about the line through
the two others a moment is to be had one way at a time, until the spin has turned that way round. A craft that finds the loss
within some hundredths of a second so keeps its height in our simulations; one that takes 0.15 s is upside down by then and falls.
`quadsim inspect CRAFT --lost-rotor` flies both.

References
----------
M. W. Mueller, R. D'Andrea, Stability and control of a quadrocopter despite the complete loss of one, two, or three propellers,
IEEE ICRA (2014), doi 10.1109/ICRA.2014.6906588: yaw given up, the thrust's direction alone is controlled. Their periodic solution
and its regulator are not used: here the attitude and rate laws go on without yaw, without integrals and without cancelling
the gyroscopic moment, half of which would drive the wobble of the spinning craft.
"""

from __future__ import annotations

from controllers.contract import inner, kernel
from controllers.filters import limit

SINGULAR = 1e-9
"""Determinant, over the size of its rows, below which rotors cannot serve what is asked."""


@inner
def lost_rotor(s):
    """Number 0 to 3 of the first rotor found lost; -1 while all answer."""
    for i in range(4):
        if s.rotor_lost[i] > 0.5:
            return i
    return -1


@inner
def _three(effectiveness, a, b, c, roll, pitch, thrust):
    """Thrusts of rotors a, b, c that give roll, pitch and thrust exactly (Cramer's rule), and whether they exist."""
    ra, rb, rc = effectiveness[0, a], effectiveness[0, b], effectiveness[0, c]
    pa, pb, pc = effectiveness[1, a], effectiveness[1, b], effectiveness[1, c]
    whole = ra * (pb - pc) - rb * (pa - pc) + rc * (pa - pb)
    size = (abs(ra) + abs(rb) + abs(rc)) * (abs(pa) + abs(pb) + abs(pc))
    if abs(whole) <= SINGULAR * size or size == 0.0:
        return 0.0, 0.0, 0.0, False
    over = 1.0 / whole
    ta = (roll * (pb - pc) - pitch * (rb - rc) + thrust * (rb * pc - rc * pb)) * over
    tb = (-roll * (pa - pc) + pitch * (ra - rc) - thrust * (ra * pc - rc * pa)) * over
    return ta, tb, thrust - ta - tb, True


@inner
def _two(effectiveness, a, b, roll, pitch, thrust, low, high):
    """Thrusts of rotors a and b: the moment about the one axis that their difference turns, then as much thrust as fits."""
    dr, dp = effectiveness[0, a] - effectiveness[0, b], effectiveness[1, a] - effectiveness[1, b]
    square = dr * dr + dp * dp
    if square <= 0.0:
        half = limit(0.5 * thrust, low, high)
        return half, half
    mean_r, mean_p = effectiveness[0, a] + effectiveness[0, b], effectiveness[1, a] + effectiveness[1, b]
    wanted = dr * (roll - 0.5 * thrust * mean_r) + dp * (pitch - 0.5 * thrust * mean_p)
    half = limit(wanted / square, -0.5 * (high - low), 0.5 * (high - low))
    middle = limit(0.5 * thrust, low + abs(half), high - abs(half))
    return middle + half, middle - half


@kernel(_nrt=False)
def allocate_without(effectiveness, lost, roll, pitch, yaw, thrust, low, high, thrusts, missing):
    """Rotor thrusts for roll, pitch and thrust with rotor `lost` switched off; yaw is not served.

    Roll and pitch before thrust. Arguments as for `allocate.allocate_thrusts`; `effectiveness` (4, 4) is roll, pitch, yaw
    acceleration and thrust per newton of each rotor. `missing` in yaw is all that comes
    otherwise than asked: a law that adds to what it was given must know.
    """
    a, b, c = (lost + 1) % 4, (lost + 2) % 4, (lost + 3) % 4
    ta, tb, tc, sound = _three(effectiveness, a, b, c, roll, pitch, thrust)
    if sound:
        if tb < low:
            tb = low
            ta, tc = _two(
                effectiveness, a, c, roll - effectiveness[0, b] * tb, pitch - effectiveness[1, b] * tb, thrust - tb, low, high
            )  # fmt: skip
        elif ta < low:
            ta = low
            tb, tc = _two(
                effectiveness, b, c, roll - effectiveness[0, a] * ta, pitch - effectiveness[1, a] * ta, thrust - ta, low, high
            )  # fmt: skip
        elif tc < low:
            tc = low
            ta, tb = _two(
                effectiveness, a, b, roll - effectiveness[0, c] * tc, pitch - effectiveness[1, c] * tc, thrust - tc, low, high
            )  # fmt: skip
    thrusts[lost] = 0.0
    thrusts[a], thrusts[b], thrusts[c] = limit(ta, low, high), limit(tb, low, high), limit(tc, low, high)
    missing[0], missing[1], missing[2], missing[3] = roll, pitch, yaw, thrust
    for i in range(4):
        missing[0] -= effectiveness[0, i] * thrusts[i]
        missing[1] -= effectiveness[1, i] * thrusts[i]
        missing[2] -= effectiveness[2, i] * thrusts[i]
        missing[3] -= thrusts[i]
