"""Parts of a craft: do they fit each other, and do they stay within their limits."""

from quadsim.parts.fit import Finding, fit_findings, with_intervals

__all__ = ["Finding", "fit_findings", "with_intervals"]
