"""Reports: the sheet of a flight, and its numbers as CSV. matplotlib is imported here and nowhere else."""
