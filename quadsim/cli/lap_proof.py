"""What `quadsim lap --proof` adds: a time that is proven, beside the point mass that was found by search."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from quadsim.cli.out import say

if TYPE_CHECKING:
    from quadsim.planning.plan import Plan


def proof_document(plan: Plan, bound: float | None) -> dict[str, Any]:
    """As JSON: the time from the start signal to the last gate [s], and by what share the plan is above it."""
    if bound is None:
        return {}
    return {"proven_bound_s": bound, "above_proven_bound": plan.line.total / bound - 1.0}


def show_proof(plan: Plan, bound: float | None) -> None:
    """One sentence, nothing without a proof."""
    if bound is None:
        return
    over = 100.0 * (plan.line.total / bound - 1.0)
    say(
        f"  proven: no point mass with this craft's thrust, drag and tilt reaches the last gate under {bound:.2f} s, "
        f"whatever its line; planned {over:+.0f} % of it"
    )
