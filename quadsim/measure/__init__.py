"""Bench measurements of a builder turned into keys of the craft file, each with its standard uncertainty."""
