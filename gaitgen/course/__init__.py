"""When and where the feet are down."""
