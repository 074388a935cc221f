"""Gains and filters found for a craft: that reject disturbances best within limits, over everything the craft will meet."""
