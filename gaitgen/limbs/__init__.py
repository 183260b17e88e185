"""Hooves and legs."""
