"""Prints X, Y and Z that bands of 10 nm add under D65 for the 2 degree observer of 1931.

By the practice of ASTM E2022 from the tables of CIE 15, as colour-science holds both; what lies beyond 380 and 730 nm is
added to the bands at the ends.
"""

import warnings

warnings.filterwarnings("ignore")

import colour
from colour.colorimetry import tristimulus_weighting_factors_ASTME2022

fine, wide = colour.SpectralShape(360, 780, 1), colour.SpectralShape(360, 780, 10)
observer = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"].copy().align(fine)
daylight = colour.SDS_ILLUMINANTS["D65"].copy().align(fine)
weights = tristimulus_weighting_factors_ASTME2022(observer, daylight, wide)
first, last = 2, 37
weights[first] += weights[:first].sum(axis=0)
weights[last] += weights[last + 1 :].sum(axis=0)
print("nm,x,y,z")
for nm, row in zip(range(380, 731, 10), weights[first : last + 1]):
    print(f"{nm}," + ",".join(f"{value:.6f}" for value in row))
