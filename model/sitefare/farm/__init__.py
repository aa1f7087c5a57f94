"""farm."""
