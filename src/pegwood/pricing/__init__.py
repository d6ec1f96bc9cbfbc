"""Money, and what a job is to cost. Pure: no storage, no clock, no face."""
