"""people."""
