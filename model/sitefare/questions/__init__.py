"""What the answer rests on, how sure it is, and how sites compare."""
