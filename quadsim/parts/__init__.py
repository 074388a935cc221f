"""Parts of a craft: do they fit each other, and do they stay within their limits."""

from quadsim.parts.finding import Finding
from quadsim.parts.fit import NotAsked, fit_findings, not_asked, with_intervals

__all__ = ["Finding", "NotAsked", "fit_findings", "not_asked", "with_intervals"]
