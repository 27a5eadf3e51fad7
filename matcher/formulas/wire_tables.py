"""Published tables of conductors: currents, resistances, areas; no relations, only printed values."""

from __future__ import annotations

# 33 CFR 183.425 Table 5: amperes at 30 C ambient; a row per AWG number (0 is 1/0, -3 is 4/0),
# a column per temperature rating of the insulation in C.
INSULATION_C = (60, 75, 80, 90, 105, 125, 200)
AMPACITY_A = {
    18: (10, 10, 15, 20, 20, 25, 25),
    16: (15, 15, 20, 25, 25, 30, 35),
    14: (20, 20, 25, 30, 35, 40, 45),
    12: (25, 25, 35, 40, 45, 50, 55),
    10: (40, 40, 50, 55, 60, 70, 70),
    8: (55, 65, 70, 70, 80, 90, 100),
    6: (80, 95, 100, 100, 120, 125, 135),
    4: (105, 125, 130, 135, 160, 170, 180),
    3: (120, 145, 150, 155, 180, 195, 210),
    2: (140, 170, 175, 180, 210, 225, 240),
    1: (165, 195, 210, 210, 245, 265, 280),
    0: (195, 230, 245, 245, 285, 305, 325),
    -1: (225, 265, 285, 285, 330, 355, 370),
    -2: (260, 310, 330, 330, 385, 410, 430),
    -3: (300, 360, 385, 385, 445, 475, 510),
}

# The gauges that are sold, thinnest first.
GAUGES = tuple(sorted(AMPACITY_A, reverse=True))

# The same table's factors for a hot space (50 C). Only 105 C was seen; the others are from memory.
HOT_SPACE_FACTOR = {60: 0.58, 75: 0.75, 80: 0.78, 90: 0.82, 105: 0.85, 125: 0.89, 200: 1.00}

# IEC 60228: largest resistance at 20 C in ohm/km of fine strands (class 5) by nominal area in mm2, plain copper.
CLASS_5_OHM_PER_KM = {
    0.5: 39.0, 0.75: 26.0, 1: 19.5, 1.5: 13.3, 2.5: 7.98, 4: 4.95, 6: 3.30, 10: 1.91, 16: 1.21,
    25: 0.780, 35: 0.554, 50: 0.386, 70: 0.272, 95: 0.206, 120: 0.161,
}  # fmt: skip
