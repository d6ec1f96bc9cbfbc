"""The shelf and the donors behind the bench: what lies where, what moves, and what to look for."""
