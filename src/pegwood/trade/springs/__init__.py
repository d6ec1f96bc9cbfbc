"""Springs of round wire: their rate, what they bear, and what to wind another from."""

from pegwood.trade.springs.coils import Coil, helical_rate, inner_bending, stress_pa, torsion_rate, wahl
from pegwood.trade.springs.telling import tell_spring
from pegwood.trade.springs.telling_winding import rate_of, room_of, tell_windings
from pegwood.trade.springs.winding import Space, Winding, equal_turns, windings
from pegwood.trade.springs.wires import SPRING_WIRES, WIRE_SIZES, SpringWire, WireSizes

__all__ = [
    "SPRING_WIRES",
    "WIRE_SIZES",
    "Coil",
    "Space",
    "SpringWire",
    "Winding",
    "WireSizes",
    "equal_turns",
    "helical_rate",
    "inner_bending",
    "rate_of",
    "room_of",
    "stress_pa",
    "tell_spring",
    "tell_windings",
    "torsion_rate",
    "wahl",
    "windings",
]
