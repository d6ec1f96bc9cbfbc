"""Camera families: how kinds of cameras are built. Pure: no storage, no clock, no face."""

from pegwood.anatomy.families import Family, families, family

__all__ = ["Family", "families", "family"]
