"""Forms turn what was typed into values at the edge."""
