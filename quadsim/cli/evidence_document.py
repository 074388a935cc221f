"""How sure an inspection is, as `--json` prints it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from quadsim.analysis.evidence import CraftEvidence
    from quadsim.analysis.inspection import Inspection
    from quadsim.analysis.measurements import Best


def evidence_document(seen: Inspection) -> dict[str, Any]:
    """Rotor map, 80 % intervals, contributions per standard deviation of each input, and the best measurement."""
    evidence = seen.evidence
    return {
        "rotor_map": rotor_map_document(seen),
        "intervals": {name: _interval(evidence, name) for name in evidence.answers},
        "contributions": [
            {
                "input": one.input,
                "sigma": one.sigma,
                "unit": one.unit,
                **{name: evidence.effect(one, name) for name in evidence.answers},
            }
            for one in evidence.contributions
        ],
        "best_measurement": seen.best and _best(evidence, seen.best),
    }


def rotor_map_document(seen: Inspection) -> dict[str, Any]:
    """What the map rests on and its standard deviations, those of a scale from a bench in place of the map's own."""
    from quadsim.analysis.evidence import map_sigmas

    blades = seen.evidence.blades
    thrust, power = map_sigmas(seen.craft, blades)
    return {
        "evidence": blades.evidence,
        "kind": blades.evidence_kind,
        "measured_on": blades.measured_on,
        "thrust_sigma_pct": 100.0 * thrust,
        "power_sigma_pct": 100.0 * power,
        "sweep_sigma_pct": 100.0 * blades.sweep_sigma,
    }


def _interval(evidence: CraftEvidence, name: str, left: dict[str, float] | None = None) -> list[float] | None:
    return list(evidence.interval(name, left)) if math.isfinite(evidence.answers[name]) else None


def _best(evidence: CraftEvidence, best: Best) -> dict[str, Any]:
    left = best.measurement.left
    return {
        "measure": best.measurement.measure,
        "narrows": list(best.measurement.narrows),
        "from": {name: _interval(evidence, name) for name in best.before},
        "to": {name: _interval(evidence, name, left) for name in best.after},
    }
