"""
What the other instruments read, as found and as left, in words: for the certificate and the card alike.

One module for each instrument; each turns the instrument's plain data into figures in words.
"""

from pegwood.papers.gauged.telling import Said, gauged, says_of

__all__ = ["Said", "gauged", "says_of"]
