"""
The way in as a picture: parts as boxes, what must be off first above what comes after.

Pure: boxes and lines in, coordinates out; a template draws them. Rows are ours, as they mean something (what
needs nothing stands on top); the order within them and the course of the long lines is laid out by igraph.
"""

from pegwood.web.way_picture.drawing import Box, Node, Picture, State, draw
from pegwood.web.way_picture.rows import Ring, only_direct, rows_of

__all__ = ["Box", "Node", "Picture", "Ring", "State", "draw", "only_direct", "rows_of"]
