"""Courses: their geometry, the fastest line through them, how they are set out."""
