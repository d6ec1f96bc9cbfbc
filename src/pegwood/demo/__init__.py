"""The demo: an invented workshop in the invented harbour town of Maarhaven, and what it takes to make one."""
