"""Arithmetic that knows nothing of animals: curves over time, rotations."""
