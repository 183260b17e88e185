"""Clips without a period: what an animal does in each stretch of them, and what is wrong in it."""
