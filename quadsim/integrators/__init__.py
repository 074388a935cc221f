"""Steppers: classical Runge-Kutta and semi-implicit Euler (compiled), and scipy's adaptive solvers."""
