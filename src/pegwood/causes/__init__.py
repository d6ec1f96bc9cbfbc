"""What may be wrong: faults, signs, and what to look at next. Pure: no storage, no clock, no face."""
