"""Readings or recordings in, results with their uncertainty out. Pure: no clock, no storage, no face."""
