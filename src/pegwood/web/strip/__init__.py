"""What the pages of a strip-down show: the way in, what came off, the trays, the way back."""
