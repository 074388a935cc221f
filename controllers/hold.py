"""Pass-through blocks: for a law that does two steps at once, `hold` stands in the slot it makes idle.

A law in slot `guide` that asks for rates by itself is followed by the attitude block `hold`; a law in slot `attitude` that
asks for angular acceleration by itself is followed by the rate block `hold`.
"""

from __future__ import annotations

from controllers.contract import block


@block("attitude", name="hold")
def hold_attitude(s, craft, gains, memory):
    """Leaves `rates_wanted` as the guide set them."""


@block("rate", name="hold")
def hold_rate(s, craft, gains, memory):
    """Leaves `angular_acceleration_wanted` as the attitude block set it."""
