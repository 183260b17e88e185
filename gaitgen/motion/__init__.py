"""The finished motion and what can be measured on it."""
