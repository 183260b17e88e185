"""Shots: passages of gaits along a path, over ground, from a start to an end, as one motion."""
