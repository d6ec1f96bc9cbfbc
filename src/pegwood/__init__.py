"""Pegwood: the workshop tool of somebody who repairs mechanical film cameras for a living."""

__version__ = "0.1.0"
