"""The animals: joint trees read from files, standing, and in motion."""
