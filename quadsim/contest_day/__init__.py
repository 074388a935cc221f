"""The day of a contest: what to fly with, how far to go in today's weather, and what to look at between two runs."""
