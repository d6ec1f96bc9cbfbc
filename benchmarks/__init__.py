"""Figures that have a budget, each against a baseline measured in the same run: ``python -m benchmarks``."""
