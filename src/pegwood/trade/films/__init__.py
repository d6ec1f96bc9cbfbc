"""Film formats."""

from pegwood.trade.films.table import FILMS, Film, Frame
from pegwood.trade.films.telling import tell_film

__all__ = ["FILMS", "Film", "Frame", "tell_film"]
