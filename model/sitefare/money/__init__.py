"""money."""
