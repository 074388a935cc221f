"""Vary anything in a craft or a flight file, fly all of it on all cores, and say what matters."""
