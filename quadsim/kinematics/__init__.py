"""Attitude: quaternions (Hamilton, scalar first, body to world) and rotation matrices."""
