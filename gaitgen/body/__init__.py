"""The two ends of the body, the back between them, and the forces under them."""
