"""Reference tables of the trade, every value with its source. Pure: no storage, no clock, no face."""
