"""The units a shop writes, the spellings it uses for them, and the dimensions fields ask for."""

from __future__ import annotations

import functools
from dataclasses import dataclass

from rebuildbook.units.registry import registry


@dataclass(frozen=True, slots=True)
class Dimension:
    """What a field measures: its SI kernel unit and the units it is shown in."""

    name: str
    si: str
    metric: tuple[str, ...]
    us: tuple[str, ...]
    example: str
    signed: bool = False

    @property
    def named(self) -> str:
        """The name with its article, as "an area"."""
        return f"{'an' if self.name[0] in 'aeiou' else 'a'} {self.name}"


_DIMENSIONS = (
    Dimension("length", "m", ("mm",), ("in",), "63.5 mm, 2 1/2 in, 5 thou"),
    Dimension("head", "m", ("m",), ("ft",), "2.5 m, 8 ft"),
    Dimension("area", "m^2", ("mm^2", "cm^2"), ("in^2",), "71 mm^2, 0.11 in^2"),
    Dimension("volume", "m^3", ("L", "mL"), ("gal", "in^3"), "1.2 L, 73 in^3"),
    Dimension(
        "torque", "N*m", ("N*m", "kgf*m"), ("ft*lbf", "in*lbf", "ozf*in"), "24 N*m, 18 ft*lbf"
    ),
    Dimension("force", "N", ("N", "kN", "kgf"), ("lbf", "kip", "ozf"), "12 N, 3 lbf"),
    Dimension("pressure", "Pa", ("bar", "kPa", "MPa", "mbar"), ("psi",), "6 bar, 90 psi"),
    Dimension("stress", "Pa", ("MPa", "GPa"), ("ksi", "psi"), "640 MPa, 85 ksi"),
    Dimension("spring rate", "N/m", ("N/mm",), ("lbf/in",), "0.35 N/mm, 2 lbf/in"),
    Dimension("stiffness", "N/m", ("kN/mm", "N/mm"), ("kip/in", "lbf/in"), "500 kN/mm, 3e6 lbf/in"),
    Dimension("mass", "kg", ("kg", "g"), ("lb", "oz"), "32 g, 0.07 lb"),
    Dimension("density", "kg/m^3", ("kg/m^3", "g/cm^3"), ("lb/ft^3",), "1650 kg/m^3"),
    Dimension("viscosity", "Pa*s", ("mPa*s", "Pa*s"), ("cP",), "120 mPa*s, 120 cP"),
    Dimension("temperature", "K", ("degC", "K"), ("degF",), "20 °C, 68 °F", signed=True),
    Dimension("flow", "m^3/s", ("L/min", "m^3/h"), ("gal/min",), "12 L/min, 3 gal/min"),
    Dimension("air volume", "m^3", ("L", "m^3"), ("ft^3",), "28 L, 1 ft^3"),
    Dimension("air flow", "m^3/s", ("L/min", "m^3/h"), ("ft^3/min",), "600 L/min, 21 ft^3/min"),
    Dimension("rate", "1/s", ("1/min", "Hz"), ("1/min",), "40 cycles/min, 950 rpm"),
    Dimension(
        "time", "s", ("min", "h", "s", "d", "ms"), ("min", "h", "s", "d", "ms"), "10 min, 24 h"
    ),
    Dimension("speed", "m/s", ("m/s", "mm/s", "mm/min"), ("ft/s", "in/s", "in/min"), "0.4 m/s"),
    Dimension("power", "W", ("kW", "W"), ("hp",), "4 kW, 5 hp"),
    Dimension("angle", "rad", ("deg", "rad"), ("deg",), "90 deg", signed=True),
    Dimension("fraction", "", ("%",), ("%",), "60 %, 0.18"),
    Dimension("number", "", ("",), ("",), "0.18, 1.2"),
    Dimension("expansion", "1/K", ("1/K",), ("1/degF",), "0.00021 1/K, 0.07 %/K", signed=True),
    Dimension(
        "specific heat",
        "J/kg/K",
        ("J/kg/K", "kJ/kg/K"),
        ("Btu/lb/degF",),
        "4.18 kJ/kg/K, 1 Btu/lb/°F",
    ),
    Dimension("compliance", "m^3/Pa", ("mL/bar",), ("in^3/psi",), "0.4 mL/bar, 0.002 in^3/psi"),
    Dimension("warming", "K", ("K",), ("delta_degF",), "12 K", signed=True),
    Dimension("pressure per degree", "Pa/K", ("bar/K",), ("psi/degF",), "8 bar/K", signed=True),
)
DIMENSIONS = {dimension.name: dimension for dimension in _DIMENSIONS}

# canonical token -> the expression pint understands
PINT = {
    "m": "meter", "cm": "centimeter", "mm": "millimeter", "µm": "micrometer", "in": "inch",
    "ft": "foot", "thou": "thou", "N": "newton", "kN": "kilonewton", "lbf": "force_pound",
    "kgf": "force_kilogram", "ozf": "force_ounce", "kip": "kip", "kg": "kilogram", "g": "gram",
    "lb": "pound", "oz": "ounce", "Pa": "pascal", "kPa": "kilopascal", "MPa": "megapascal",
    "GPa": "gigapascal", "mPa": "millipascal", "bar": "bar", "mbar": "millibar", "psi": "psi",
    "ksi": "ksi", "s": "second", "ms": "millisecond", "min": "minute", "h": "hour", "d": "day",
    "L": "liter", "mL": "milliliter", "gal": "gallon", "degC": "degree_Celsius",
    "degF": "degree_Fahrenheit",
    "K": "kelvin", "deg": "degree", "rad": "radian", "%": "percent", "W": "watt",
    "kW": "kilowatt", "hp": "horsepower", "Hz": "1/second", "rpm": "1/minute", "P": "poise",
    "cP": "centipoise", "St": "stokes", "cSt": "centistokes", "cycles": "dimensionless",
    "gpm": "gallon/minute", "lpm": "liter/minute", "mil": "thou", "J": "joule", "kJ": "kilojoule",
    "Btu": "Btu", "delta_degF": "delta_degree_Fahrenheit",
}  # fmt: skip

# other spellings of one token; two candidates mean the field has to say which
SPELLINGS: dict[str, tuple[str, ...]] = {
    "lbs": ("lbf", "lb"), "lb": ("lbf", "lb"), "pound": ("lbf", "lb"), "pounds": ("lbf", "lb"),
    "#": ("lbf", "lb"), "ounce": ("ozf", "oz"), "ounces": ("ozf", "oz"), "oz": ("ozf", "oz"),
    "lbm": ("lb",), "ozm": ("oz",), '"': ("in",), "''": ("in",), "inch": ("in",),
    "inches": ("in",), "'": ("ft",), "foot": ("ft",), "feet": ("ft",), "mils": ("thou",),
    "mil": ("thou",), "thous": ("thou",), "um": ("µm",), "μm": ("µm",), "micron": ("µm",),
    "microns": ("µm",), "°C": ("degC",), "℃": ("degC",), "C": ("degC",), "celsius": ("degC",),
    "°F": ("degF",), "℉": ("degF",), "F": ("degF",), "fahrenheit": ("degF",), "°": ("deg",),
    "degrees": ("deg",), "degree": ("deg",), "percent": ("%",), "sec": ("s",), "secs": ("s",),
    "second": ("s",), "seconds": ("s",), "mins": ("min",), "minute": ("min",),
    "minutes": ("min",), "hr": ("h",), "hrs": ("h",), "hour": ("h",), "hours": ("h",),
    "day": ("d",), "days": ("d",), "l": ("L",), "litre": ("L",), "litres": ("L",),
    "liter": ("L",), "liters": ("L",), "ml": ("mL",), "gallon": ("gal",), "gallons": ("gal",),
    "newton": ("N",), "newtons": ("N",), "metre": ("m",), "metres": ("m",), "kilo": ("kg",),
    "kp": ("kgf",), "cycle": ("cycles",), "rev": ("cycles",), "GPM": ("gpm",), "LPM": ("lpm",),
    "usgpm": ("gpm",), "kips": ("kip",), "bars": ("bar",), "cps": ("cP",), "cpm": ("rpm",),
    "atm": (), "strokes": (), "stroke": (), "spm": (), "torr": (), "mmHg": (),
}  # fmt: skip

# words a shop runs together or hyphenates, before the grammar sees them
WHOLE = {
    "ftlb": "ft*lbf", "ftlbs": "ft*lbf", "ftlbf": "ft*lbf", "lbft": "ft*lbf", "lbfft": "ft*lbf",
    "footpound": "ft*lbf", "footpounds": "ft*lbf", "poundfoot": "ft*lbf", "poundfeet": "ft*lbf",
    "inlb": "in*lbf", "inlbs": "in*lbf", "inlbf": "in*lbf", "lbin": "in*lbf", "lbfin": "in*lbf",
    "inchpound": "in*lbf", "inchpounds": "in*lbf", "nm": "N*m", "newtonmetre": "N*m",
    "newtonmetres": "N*m", "newtonmeter": "N*m", "newtonmeters": "N*m", "kgfm": "kgf*m",
    "ozin": "ozf*in", "inoz": "ozf*in", "ozfin": "ozf*in", "inozf": "ozf*in",
    "kgfcm": "kgf*cm", "ncm": "N*cm",
}  # fmt: skip
PINT["N*cm"] = "newton*centimeter"

# spellings that could be meant in more than one way, and what to ask
ASK = {
    "atm": "'atm' is read as a pressure unit by some and as 'at the atmosphere' by others; "
    "write bar or psi",
    "strokes": "a cycle of a double-acting pump is two strokes; write cycles/min",
    "stroke": "a cycle of a double-acting pump is two strokes; write cycles/min",
    "spm": "a cycle of a double-acting pump is two strokes; write cycles/min",
    "torr": "write vacuum as an absolute pressure in mbar, kPa or psi",
    "mmHg": "write vacuum as an absolute pressure in mbar, kPa or psi",
}

_SHOWN = {
    "degC": "°C", "degF": "°F", "delta_degF": "°F", "deg": "°", "1/min": "/min", "1/s": "/s",
}  # fmt: skip


def pint_expression(canonical: str) -> str:
    """Give the pint expression of a canonical unit such as "ft*lbf" or "kg/m^3".

    >>> pint_expression("ft*lbf")
    'foot*force_pound'
    """
    if canonical in PINT:
        return PINT[canonical]
    out = ""
    for piece in _split(canonical):
        out += piece if piece in "*/" else _one(piece)
    return out or "dimensionless"


def _split(canonical: str) -> list[str]:
    pieces: list[str] = []
    word = ""
    for char in canonical:
        if char in "*/":
            pieces += [word, char]
            word = ""
        else:
            word += char
    return [piece for piece in [*pieces, word] if piece]


def _one(piece: str) -> str:
    if piece == "1":
        return "1"
    base, _, power = piece.partition("^")
    expression = PINT[base]
    if base in {"degC", "degF"}:  # a degree inside a product is a difference
        expression = f"delta_{expression}"
    if "/" in expression:
        expression = f"({expression})"
    return f"{expression}**{power}" if power else expression


@functools.lru_cache(maxsize=512)
def factor(canonical: str) -> tuple[float, float]:
    """Give (scale, offset) so that SI = value * scale + offset; offset only for °C and °F.

    >>> factor("ft*lbf")[0]  # NIST SP 811 App. B: 1.355 818
    1.355817948...
    """
    unit = registry.Unit(pint_expression(canonical))
    zero = registry.Quantity(0.0, unit).to_base_units().magnitude
    if canonical in {"degC", "degF"}:
        one = registry.Quantity(1.0, unit).to_base_units().magnitude
        return float(one - zero), float(zero)
    return float(registry.Quantity(1.0, unit).to_base_units().magnitude), 0.0


def shown_unit(canonical: str) -> str:
    """Spell a canonical unit for a person: "ft*lbf" as "ft·lbf", "mm^2" as "mm²".

    >>> shown_unit("kg/m^3"), shown_unit("degC"), shown_unit("N*m")
    ('kg/m³', '°C', 'N·m')
    """
    if canonical in _SHOWN:
        return _SHOWN[canonical]
    degrees = canonical.replace("degC", "°C").replace("degF", "°F")
    return degrees.replace("^2", "²").replace("^3", "³").replace("*", "·")
