"""Weighing what is wrong with a job's camera: its story, its signs, what was found, and how it was mended."""
