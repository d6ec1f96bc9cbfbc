"""
Screws as the standards let them be made: limits of the outside diameter in millimetres, as published.

Nothing here is taken from the code under test. Limits: metric 6g from an open library's table of ISO 965
(M1 to M1.4 in class 6h by ISO 965-2, tolerances of its grade 6); unified 2A from ASME B1.1 as two
engineering tables print it, in inches; miniature from table 5 of Machinery's Handbook, 31st edition; BA by
the rules it prints from BS 93:1951; tripod screws from JIS B 7103:1975. Loewenherz and Thury have no limits
that anybody here has read: a fifth of the pitch, as BA.
"""

from __future__ import annotations

METRIC = {
    "M1x0.25": (0.933, 1.000), "M1.1x0.25": (1.033, 1.100), "M1.2x0.25": (1.133, 1.200),
    "M1.4x0.3": (1.325, 1.400), "M1.6x0.35": (1.496, 1.581), "M1.8x0.35": (1.696, 1.781),
    "M2x0.4": (1.886, 1.981), "M2.2x0.45": (2.080, 2.180), "M2.5x0.45": (2.380, 2.480),
    "M3x0.5": (2.874, 2.980), "M3.5x0.6": (3.354, 3.479), "M4x0.7": (3.838, 3.978),
    "M4.5x0.75": (4.338, 4.478), "M5x0.8": (4.826, 4.976), "M6x1": (5.794, 5.974),
    "M1x0.2": (0.944, 1.000), "M1.1x0.2": (1.044, 1.100), "M1.2x0.2": (1.144, 1.200),
    "M1.4x0.2": (1.344, 1.400), "M1.6x0.2": (1.527, 1.583), "M1.8x0.2": (1.727, 1.783),
    "M2x0.25": (1.915, 1.982), "M2.2x0.25": (2.115, 2.182), "M2.5x0.35": (2.396, 2.481),
    "M3x0.35": (2.896, 2.981), "M3.5x0.35": (3.396, 3.481), "M4x0.5": (3.874, 3.980),
    "M4.5x0.5": (4.374, 4.480), "M5x0.5": (4.874, 4.980), "M6x0.75": (5.838, 5.978),
    "M1.7x0.35": (1.596, 1.681), "M2.3x0.4": (2.186, 2.281), "M2.3x0.45": (2.180, 2.280),
    "M2.6x0.45": (2.480, 2.580),
}  # fmt: skip
#: Sizes that the library does not list, by the tolerance it prints for other diameters of the same pitch.
METRIC |= {
    "M3x0.6": (2.854, 2.979), "M4x0.75": (3.838, 3.978), "M5x0.9": (4.808, 4.975),
    "M1.7x0.2": (1.627, 1.683), "M2.3x0.25": (2.215, 2.282), "M2.6x0.35": (2.496, 2.581),
    "M3.4x0.5": (3.274, 3.380),
}  # fmt: skip

#: Highest and lowest in inches; to no. 3-48 from the first table, above it recalled from the same standard.
UNIFIED_2A = {
    "#0-80 UNF": (0.0595, 0.0563), "#1-64 UNC": (0.0724, 0.0686), "#1-72 UNF": (0.0724, 0.0689),
    "#2-56 UNC": (0.0854, 0.0813), "#2-64 UNF": (0.0854, 0.0816), "#3-48 UNC": (0.0983, 0.0938),
    "#3-56 UNF": (0.0983, 0.0942), "#4-40 UNC": (0.1112, 0.1061), "#4-48 UNF": (0.1113, 0.1068),
    "#5-40 UNC": (0.1242, 0.1191), "#5-44 UNF": (0.1243, 0.1195), "#6-32 UNC": (0.1372, 0.1312),
    "#6-40 UNF": (0.1372, 0.1321), "#8-32 UNC": (0.1631, 0.1571), "#8-36 UNF": (0.1632, 0.1577),
    "#10-24 UNC": (0.1890, 0.1818), "#10-32 UNF": (0.1891, 0.1831),
}  # fmt: skip
#: Below the standard's range: its tolerance 0.060 p^(2/3) inch, and an allowance of half a thousandth.
BELOW_NO_0 = {"#00-90": (0.047, 90), "#000-120": (0.034, 120), "#0000-160": (0.021, 160)}

#: Name, pitch, lowest, highest.
MINIATURE = [
    (0.30, 0.080, 0.284), (0.35, 0.090, 0.333), (0.40, 0.100, 0.382), (0.45, 0.100, 0.432),
    (0.50, 0.125, 0.479), (0.55, 0.125, 0.529), (0.60, 0.150, 0.576), (0.70, 0.175, 0.673),
    (0.80, 0.200, 0.770), (0.90, 0.225, 0.867), (1.00, 0.250, 0.964), (1.10, 0.250, 1.064),
    (1.20, 0.250, 1.164), (1.40, 0.300, 1.358),
]  # fmt: skip

#: BS 93: diameter, pitch, minor diameter of nos. 0 to 16.
BA = [
    (6.0, 1.00, 4.80), (5.3, 0.90, 4.22), (4.7, 0.81, 3.73), (4.1, 0.73, 3.22), (3.6, 0.66, 2.81),
    (3.2, 0.59, 2.49), (2.8, 0.53, 2.16), (2.5, 0.48, 1.92), (2.2, 0.43, 1.68), (1.9, 0.39, 1.43),
    (1.7, 0.35, 1.28), (1.5, 0.31, 1.13), (1.3, 0.28, 0.96), (1.2, 0.25, 0.90), (1.0, 0.23, 0.72),
    (0.90, 0.21, 0.65), (0.79, 0.19, 0.56),
]  # fmt: skip

TRIPOD = {"1/4-20": (6.012, 6.322), "3/8-16": (9.132, 9.492)}


def limits(name: str, diameter: float, pitch: float) -> tuple[float, float]:
    """Lowest and highest outside diameter of a screw by the name its table gives it, [mm]."""
    if name in METRIC:
        return METRIC[name]
    if name in UNIFIED_2A:
        high, low = UNIFIED_2A[name]
        return low * 25.4, high * 25.4
    if name in BELOW_NO_0:
        inch, per_inch = BELOW_NO_0[name]
        return (inch - 0.0005 - 0.060 * per_inch ** (-2 / 3)) * 25.4, (inch - 0.0005) * 25.4
    if name.startswith("S"):
        return next((low, d) for d, _, low in MINIATURE if abs(d - diameter) < 1e-6)
    if name.endswith(" BA"):
        number = int(name.split()[0])
        d, p, _ = BA[number]
        return (d - 0.025 - 0.20 * p, d - 0.025) if number <= 10 else (d - 0.25 * p, d)
    if name[:6] in TRIPOD:
        return TRIPOD[name[:6]]
    assert name.startswith(("Loewenherz", "Thury")), name
    return diameter - 0.2 * pitch, diameter
