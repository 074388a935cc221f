"""Practice with real sticks on a course: the lap clock, strikes, picture delay, best runs. Draws nothing."""
