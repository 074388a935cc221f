"""Questions asked of the loop or of its equilibrium."""
