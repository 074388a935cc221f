"""Short texts of the gains card that page, web page and terminal share."""

from __future__ import annotations

from controllers.contract import SLOTS
from quadsim import __version__
from quadsim.analysis.gains_card import RATE, GainsCard


def summary_of(card: GainsCard) -> str:
    """One line on the craft and its law."""
    blocks = {slot: card.bench.blocks[row].name for row, slot in enumerate(SLOTS)}
    builder = card.bench.builder
    payload = f", and with {1000.0 * card.payload:.0f} g of payload" if card.payload else ""
    return (
        f"{1000.0 * float(builder.mass):.0f} g{payload}; hovers at {100.0 * float(builder.hover_throttle):.0f} % motor command; "
        f"laws {blocks['attitude']}, {blocks['rate']}; quadsim {__version__}"
    )


def converted_number(value: float) -> str:
    """A converted gain with three digits, such as 2.20e-4."""
    if value == 0.0:
        return "0"
    digits, power = f"{value:.2e}".split("e")
    return f"{digits}e{int(power)}"


def lacking_words(card: GainsCard) -> str:
    """Why the gains stay in physical units."""
    if card.lacking:
        keys = ", ".join(card.lacking)
        return (
            "The craft file does not say what its flight controller makes of a gain. Missing in "
            f"[flight_controller.conventions]: {keys}."
            " Take them from its handbook or its makers; a guess can be wrong by a factor that no flight forgives."
        )
    return f"The rate law {card.bench.blocks[RATE].name} is not P, I and D on the rates, so there is nothing to convert."


def throttle_words(card: GainsCard) -> str:
    """What "throttle" in a converted unit is, and for what state of the craft the conversion holds."""
    builder = card.bench.builder
    return (
        "throttle: fraction 0 to 1 of the span from idle to full. Converted for hover at "
        f"{float(builder.nominal_voltage):.1f} V under load, by [flight_controller.conventions] of the craft file."
    )
