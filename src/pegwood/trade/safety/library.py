"""
The figures of the library `chemicals`: its data sets by CAS number, without the traps.

The library loads pandas and takes seconds, so it is asked when the table is made (`tools/safety-tables`), and
while Pegwood runs only for a CAS number that no table holds. Its traps: an exposure limit by mass is given as
a meaningless ppm too; where one entry lists several forms of a metal the lowest limit stands for all;
explosive limits answer to the keyword `CASRN` only.
"""

from __future__ import annotations

from collections.abc import Callable
from importlib.util import find_spec
from typing import Any

from pegwood.trade.safety.figures import Figure, Figures, Group

HOW_TO_ADD = "Its figures can be looked up with the library chemicals: pip install 'pegwood[chemicals]'."
ROOM_K = 293.15
ATMOSPHERE_PA = 101325.0

#: What a figure is of, where the library's entry speaks of more than one thing.
NOTES = {
    (
        "7439-97-6",
        "twa_kg_m3",
    ): "the limit of alkyl compounds; the entry lists several forms, the lowest is kept",
    (
        "7439-97-6",
        "stel_kg_m3",
    ): "the limit of alkyl compounds; the entry lists several forms, the lowest is kept",
    ("7439-92-1", "stel_kg_m3"): "of an entry that lists several forms, the lowest is kept",
    ("7439-92-1", "skin"): "of an entry that lists tetraethyl lead too",
    ("56-81-5", "twa_kg_m3"): "the limit of its mist",
}
_FLASH = {
    "IEC 60079-20-1 (2010)": "IEC 60079-20-1 (2010)",
    "NFPA 497 (2008)": "NFPA 497 (2008)",
    "WIKIDATA": "Wikidata",
    "Serat DIPPR (2017)": "a model's figure (Serat 2017, after DIPPR)",
}
_BOILING = {"CRC_ORG": "CRC Handbook, organic compounds", "CRC_INORG": "CRC Handbook, inorganic compounds"}


def there() -> bool:
    """Whether the library is installed."""
    return find_spec("chemicals") is not None


def number_of(name: str) -> str | None:
    """The CAS number that the library knows a name by, or None."""
    from chemicals.identifiers import CAS_from_any

    try:
        return str(CAS_from_any(name))
    except ValueError:
        return None


def figures(cas: str) -> Figures | None:
    """
    All that the library's data sets hold of a CAS number, or None if they hold nothing.

    Temperatures in kelvin, limits in fractions, as `Figures` has them; where its sets give none, none.
    Vapour pressure and density are at 20 degrees C, each by every set whose range covers that.
    """
    found = {
        **_fire(cas),
        **_exposure(cas),
        **_vapour(cas),
    }
    found = {name: values for name, values in found.items() if values}
    carcinogen = _carcinogen(cas)
    if not found and not carcinogen:
        return None
    named: dict[str, Any] = dict(found)
    return Figures(cas=cas, source=_named("data sets"), mark="seen", carcinogen=carcinogen, **named)


def _named(data_set: str) -> str:
    from importlib.metadata import version  # slow to import, and seldom wanted

    return f"{data_set}, in the library chemicals {version('chemicals')}"


def _figure(cas: str, quantity: str, value: Any, data_set: str) -> Figure:
    return Figure(
        value=float(f"{float(value):.6g}"),
        note=NOTES.get((cas, quantity), ""),
        source=_named(data_set),
        mark="seen",
    )


def _fire(cas: str) -> dict[str, tuple[Figure, ...]]:
    from chemicals import safety

    asked: dict[str, tuple[list[str], Callable[[str], float]]] = {
        "flash_k": (safety.T_flash_methods(cas), lambda way: safety.T_flash(cas, method=way)),
        "autoignition_k": (
            safety.T_autoignition_methods(cas),
            lambda way: safety.T_autoignition(cas, method=way),
        ),
        "lower_fraction": (
            safety.LFL_methods(CASRN=cas),
            lambda way: safety.LFL(CASRN=cas, method=way),
        ),
        "upper_fraction": (
            safety.UFL_methods(CASRN=cas),
            lambda way: safety.UFL(CASRN=cas, method=way),
        ),
    }
    return {
        quantity: tuple(_figure(cas, quantity, by(way), _FLASH[way]) for way in _FLASH if way in ways)
        for quantity, (ways, by) in asked.items()
    }


def _exposure(cas: str) -> dict[str, tuple[Figure, ...]]:
    from chemicals import safety

    limits = safety.Ontario_exposure_limits_dict.get(cas)
    if not limits:
        return {}
    by = "Ontario exposure limits"
    found: dict[str, tuple[Figure, ...]] = {}
    for name, column in (("twa", "TWA"), ("stel", "STEL"), ("ceiling", "Ceiling")):
        ppm, mg_m3 = limits[f"{column} (ppm)"], limits[f"{column} (mg/m^3)"]
        if ppm is not None and (mg_m3 is None or _printed(ppm)):
            found[f"{name}_ppm"] = (_figure(cas, f"{name}_ppm", ppm, by),)
        elif mg_m3 is not None:
            found[f"{name}_kg_m3"] = (_figure(cas, f"{name}_kg_m3", mg_m3 * 1e-6, by),)
    if limits["Skin"]:
        found["skin"] = (_figure(cas, "skin", 1, by),)
    return found


def _printed(value: float) -> bool:
    """Whether a limit is one that a list prints, and not one converted from the other unit."""
    return float(f"{value:.3g}") == value


def _vapour(cas: str) -> dict[str, tuple[Figure, ...]]:
    import chemicals
    from chemicals import dippr, vapor_pressure, volume

    boiling = tuple(
        _figure(cas, "boiling_k", chemicals.Tb(cas, method=way), told)
        for way, told in _BOILING.items()
        if way in chemicals.Tb_methods(cas)
    )
    pressures, densities = [], []
    if (row := _row(vapor_pressure.Psat_data_AntoinePoling, cas)) is not None and _covers(row):
        pressures.append((vapor_pressure.Antoine(ROOM_K, row.A, row.B, row.C), "Antoine constants of Poling"))
    if (row := _row(vapor_pressure.Psat_data_Perrys2_8, cas)) is not None and _covers(row):
        constants = row.C1, row.C2, row.C3, row.C4, row.C5
        pressures.append((dippr.EQ101(ROOM_K, *constants), "Perry's Handbook, 8th edition, table 2-8"))
    if (row := _row(vapor_pressure.Psat_data_VDI_PPDS_3, cas)) is not None and row.Tm < ROOM_K < row.Tc:
        wagner = row.Tc, row.Pc, row.A, row.B, row.C, row.D
        pressures.append((vapor_pressure.Wagner(ROOM_K, *wagner), "VDI Heat Atlas, vapour pressures"))
    liquid = [one for one in pressures if 1 < one[0] < ATMOSPHERE_PA]
    if (row := _row(volume.rho_data_Perry_8E_105_l, cas)) is not None and _covers(row):
        molar = dippr.EQ105(ROOM_K, row.C1, row.C2, row.C3, row.C4)
        densities.append((molar * chemicals.MW(cas) / 1000, "Perry's Handbook, 8th edition, densities"))
    if (row := _row(volume.rho_data_VDI_PPDS_2, cas)) is not None:
        away = 1 - ROOM_K / row.Tc
        if away > 0:
            terms = ((row.A, 0.35), (row.B, 2 / 3), (row.C, 1), (row.D, 4 / 3))
            rho = row.rhoc + sum(factor * away**power for factor, power in terms)
            densities.append((rho, "VDI Heat Atlas, densities"))
    return {
        "boiling_k": boiling,
        "vapour_pressure_pa": tuple(_figure(cas, "", *one) for one in liquid),
        "density_kg_m3": tuple(_figure(cas, "", *one) for one in densities) if liquid else (),
        "molar_mass_kg_mol": (_figure(cas, "", chemicals.MW(cas) / 1000, "molar masses"),) if liquid else (),
    }


def _row(frame: Any, cas: str) -> Any:
    return frame.loc[cas] if cas in frame.index else None


def _covers(row: Any) -> bool:
    return bool(row.Tmin <= ROOM_K <= row.Tmax)


def _carcinogen(cas: str) -> tuple[Group, ...]:
    from chemicals import safety

    safety.Carcinogen(cas)  # reads the data
    row = _row(safety.IARC_data, cas)
    if row is None:
        return ()
    said = safety.IARC_codes[int(row.group)]
    return (
        Group(
            value=said[said.rindex("(") + 1 : -1],
            about=str(row.description),
            source=_named(f"IARC Monographs ({int(row.year)})"),
            mark="seen",
        ),
    )
