#!/usr/bin/env python3
"""Frozen reference values for tests/physics, computed with CoolProp (pip install CoolProp==8.0.0 numpy).

    python3 tests/physics/coolprop_reference.py            writes coolprop_reference.json beside this file
    python3 tests/physics/coolprop_reference.py --check    computes again and compares; exit status 1 if they differ
    python3 tests/physics/coolprop_reference.py --rust     prints the coefficients for src/physics/melinder.rs

What comes from where:
  mixtures   INCOMP::MEG and INCOMP::MPG: Melinder, Properties of Secondary Working Fluids (IIR, 2010), by mass.
             Shares by volume are turned into shares by mass with the densities of the pure liquids at 20 C.
  handbook   INCOMP::AEG and INCOMP::APG: ASHRAE Handbook, Fundamentals (2001), by volume: a second published
             source, to know how far sources differ.
  water      IF97::Water: IAPWS-IF97.
  vapour     HEOS::PropyleneGlycol: equation of state, to check the Antoine line in src/physics/boiling.rs.
"""

import json
import math
import pathlib
import sys

import numpy as np
from CoolProp import __version__ as coolprop_version
from CoolProp.CoolProp import PropsSI

HERE = pathlib.Path(__file__).parent
FROZEN = HERE / "coolprop_reference.json"
ATMOSPHERE = 101_325.0
ZERO = 273.15
# Densities of the liquids at 20 C, kg/m3: water IAPWS, glycols from memory.
WATER_20, ETHYLENE_20, PROPYLENE_20 = 998.2071, 1113.2, 1036.1
FLUIDS = {"ethylene": ("MEG", "AEG", ETHYLENE_20), "propylene": ("MPG", "APG", PROPYLENE_20)}
# Centres and widths of the polynomial variables in src/physics/melinder.rs.
SHARE_CENTRE, SHARE_WIDTH, TEMPERATURE_CENTRE, TEMPERATURE_WIDTH = 0.3, 0.3, 20.0, 50.0
DENSITY_TERMS = [(i, j) for i in range(6) for j in range(4) if i + j <= 5]


def rounded(value, digits=10):
    """Keeps enough digits for every tolerance and drops what differs between machines."""
    return float(f"{value:.{digits}g}")


def incompressible(output, fluid, share, celsius=20.0):
    return PropsSI(output, "T", celsius + ZERO, "P", ATMOSPHERE, f"INCOMP::{fluid}[{share}]")


def freezing(fluid, share):
    return incompressible("T_freeze", fluid, share) - ZERO


def mass_share(volume_share, glycol_density):
    glycol, water = volume_share * glycol_density, (1.0 - volume_share) * WATER_20
    return glycol / (glycol + water)


def coefficients(fluid):
    """The published polynomials, recovered exactly: they are polynomials of this very shape."""
    shares = np.linspace(0.0, 0.6, 31)
    points = [(x, t) for x in shares for t in np.linspace(-45.0, 100.0, 30) if t > freezing(fluid, x) + 0.05]
    x = np.array([(p[0] - SHARE_CENTRE) / SHARE_WIDTH for p in points])
    t = np.array([(p[1] - TEMPERATURE_CENTRE) / TEMPERATURE_WIDTH for p in points])
    density = np.array([incompressible("D", fluid, p[0], p[1]) for p in points])
    rows = np.stack([x**i * t**j for i, j in DENSITY_TERMS], axis=1)
    found, *_ = np.linalg.lstsq(rows, density, rcond=None)
    left = float(np.abs(rows @ found - density).max())
    frost = np.array([freezing(fluid, share) for share in shares])
    frost_found = np.polynomial.polynomial.polyfit((shares - SHARE_CENTRE) / SHARE_WIDTH, frost, 5)
    frost_left = float(np.abs(np.polynomial.polynomial.polyval((shares - SHARE_CENTRE) / SHARE_WIDTH, frost_found) - frost).max())
    assert left < 1e-9 and frost_left < 1e-9, (fluid, left, frost_left)
    return {"freezing": [float(c) for c in frost_found], "density": [[i, j, float(c)] for (i, j), c in zip(DENSITY_TERMS, found)]}


def mixtures():
    rows = []
    for glycol, (melinder, handbook, pure) in FLUIDS.items():
        for percent in [0, 5, 10, 15, 20, 25, 30, 33, 35, 40, 45, 50, 55]:
            share = percent / 100.0
            mass = mass_share(share, pure)
            frost = freezing(melinder, mass)
            densities = [[t, rounded(incompressible("D", melinder, mass, t))] for t in (-20, 0, 15.6, 20, 40, 60, 80) if t > frost + 0.5]
            # The handbook tables start at 10 %.
            known = share >= 0.1
            rows.append({
                "glycol": glycol, "share": share, "mass_share": rounded(mass), "freezing": rounded(frost, 8),
                "density": densities,
                "handbook_freezing": rounded(freezing(handbook, share), 8) if known else None,
                "handbook_density_20": rounded(incompressible("D", handbook, share, 20.0)) if known else None,
            })
    return rows


def saturation():
    return [[t, rounded(PropsSI("P", "T", t + ZERO, "Q", 0, "IF97::Water") / 1000.0)] for t in (1, 20, 50, 80, 90, 100, 110, 121, 130, 150, 200, 300, 370)]


def water_density():
    return [[t, rounded(PropsSI("D", "T", t + ZERO, "P", ATMOSPHERE, "IF97::Water"))] for t in (1, 4, 15.6, 20, 40, 60, 80, 95)]


def standard_pressure(metres):
    """ISO 2533, first layer, kPa."""
    return 101.325 * (1.0 - 0.0065 * metres / 288.15) ** (9.80665 / (0.0065 * 287.05287))


def water_boiling():
    rows = []
    for metres in (0, 500, 1000, 2000, 3000, 4000):
        for psi in (0, 4, 7, 13, 15, 16, 18):
            pressure = 1000.0 * (standard_pressure(metres) + psi * 6.894757293168361)
            rows.append([metres, psi, rounded(PropsSI("T", "P", pressure, "Q", 0, "IF97::Water") - ZERO)])
    return rows


def propylene_vapour():
    return [[t, rounded(PropsSI("P", "T", t + ZERO, "Q", 0, "PropyleneGlycol") / 1000.0)] for t in (80, 100, 110, 120, 130)]


def antoine():
    """log10(p/bar) = a - b / (T + c), T in kelvin, drawn through the equation of state for propylene glycol."""
    kelvin = np.linspace(60.0, 190.0, 60) + ZERO
    wanted = np.log10([PropsSI("P", "T", t, "Q", 0, "PropyleneGlycol") / 1e5 for t in kelvin])
    # (T + c)(a - y) = b is linear in a, c and (a c - b).
    rows = np.stack([kelvin, -np.ones_like(kelvin), -wanted], axis=1)
    (a, constant, c), *_ = np.linalg.lstsq(rows, kelvin * wanted, rcond=None)
    b = a * c + constant
    worst = float(np.abs(10.0 ** (a - b / (kelvin + c) - wanted) - 1.0).max())
    return a, b, c, worst


def build():
    return {
        "made_by": "tests/physics/coolprop_reference.py",
        "coolprop": coolprop_version,
        "mixtures": mixtures(),
        "saturation_kpa": saturation(),
        "water_density": water_density(),
        "water_boiling": water_boiling(),
        "propylene_vapour_kpa": propylene_vapour(),
    }


def differences(path, frozen, fresh):
    """Every place where the two differ by more than rounding."""
    if isinstance(frozen, dict) and isinstance(fresh, dict):
        for key in sorted(set(frozen) | set(fresh)):
            if key != "coolprop":
                yield from differences(f"{path}.{key}", frozen.get(key), fresh.get(key))
    elif isinstance(frozen, list) and isinstance(fresh, list) and len(frozen) == len(fresh):
        for index, (a, b) in enumerate(zip(frozen, fresh)):
            yield from differences(f"{path}[{index}]", a, b)
    elif isinstance(frozen, (int, float)) and isinstance(fresh, (int, float)):
        if not math.isclose(frozen, fresh, rel_tol=1e-7, abs_tol=1e-6):
            yield f"{path}: frozen {frozen}, fresh {fresh}"
    elif frozen != fresh:
        yield f"{path}: frozen {frozen!r}, fresh {fresh!r}"


def main():
    if "--rust" in sys.argv:
        for glycol, (melinder, _, _) in FLUIDS.items():
            found = coefficients(melinder)
            print(glycol, melinder)
            print("  freezing: [" + ", ".join(f"{c:.12e}" for c in found["freezing"]) + "],")
            print("  density: [" + ", ".join(f"({i}, {j}, {c:.12e})" for i, j, c in found["density"]) + "],")
        print("Antoine, propylene glycol: a {:.6f}, b {:.4f}, c {:.4f}, off by at most {:.2%}".format(*antoine()))
        return 0
    fresh = build()
    if "--check" in sys.argv:
        wrong = list(differences("", json.loads(FROZEN.read_text()), fresh))
        print("\n".join(wrong) if wrong else f"coolprop_reference.json agrees with CoolProp {coolprop_version}")
        return 1 if wrong else 0
    lines = json.dumps(fresh, indent=None, separators=(", ", ": "))
    # One row a line, so that a change shows where it is.
    text = lines.replace('{"glycol"', '\n  {"glycol"').replace(', "saturation', ',\n"saturation').replace(', "water', ',\n"water').replace(', "propylene_vapour', ',\n"propylene_vapour')
    FROZEN.write_text(text.replace(", \n", ",\n") + "\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
