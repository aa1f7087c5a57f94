"""From tables people edit to checked values with unit, range and source."""
