"""Many cycles at once: lengths, animals and styles."""
