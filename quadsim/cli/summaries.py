"""What each command answers, in one line of `quadsim --help`: short enough to be whole at 80 columns."""

from __future__ import annotations

SUMMARIES = {
    "inspect": "do the parts fit; mass, thrust, hover, minutes, and how sure",
    "fly": "fly a flight file, judge it, keep the run",
    "plot": "draw a run on one sheet",
    "watch": "replay a run, or fly live with your own sticks",
    "export": "write a run as CSV",
    "sweep": "vary keys of craft and flight; what matters most",
    "measure": "your bench's tables to keys of a craft file",
    "compare": "a flight log against the model, and what would mend it",
    "lift": "greatest payload with reserve, and what limits it",
    "dash": "top level speed, run-up, braking, field",
    "hover": "minutes of hover, and what ends it",
    "lap": "fastest line through a course, and flown",
    "pilot": "practise a course with radio, gamepad or keys",
    "setout": "lay a course out with tape and pegs; where people stand",
    "choose": "the parts that win within a budget",
    "report": "sheet for the day: go or no-go, weights, packs, checks",
    "margins": "how near each loop is to oscillation",
    "tune": "find gains and filters within limits, confirmed in flight",
    "card": "gains card for the field: four sets, what to look for",
    "sticks": "what the sticks ask for; calibrate your radio",
    "responses": "answers to steps, torques and a downdraught",
    "laws": "control laws, and yours, on the same flights",
    "blocks": "list the control blocks; check one of your own",
}
"""A command that is not in it shows the first sentence of its own help."""
GREATEST = 62
"""Letters that 80 columns leave."""
