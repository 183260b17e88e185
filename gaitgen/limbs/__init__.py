"""Feet and legs."""
