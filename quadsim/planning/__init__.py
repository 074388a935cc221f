"""Lines through a course: minimum-control splines, the craft's limits, and the fastest line within them."""
