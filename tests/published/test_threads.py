"""Threads, limits of size, strength and friction against published figures.

"Read" means read in a public reproduction of the table, "from memory" what it says.
"""

import math

import pytest

from rebuildbook.calculators.thread_friction import friction
from rebuildbook.calculators.thread_limits import external_limits, internal_limits
from rebuildbook.calculators.thread_strength import proof_load, strength_class
from rebuildbook.calculators.threads import parse_thread

SQUARE_INCH = 0.0254**2
KSI = 6_894_757.0  # NIST SP 811 App. B.8

# ISO 898-1, nominal stress area of coarse threads, mm²; read
COARSE_AREA = {
    "M3": 5.03, "M3.5": 6.78, "M4": 8.78, "M5": 14.2, "M6": 20.1, "M7": 28.9, "M8": 36.6,
    "M10": 58.0, "M12": 84.3, "M14": 115, "M16": 157, "M18": 192, "M20": 245, "M22": 303,
    "M24": 353, "M27": 459, "M30": 561, "M33": 694, "M36": 817, "M39": 976,
}  # fmt: skip
# ISO 898-1, nominal stress area of fine threads, mm²; from memory
FINE_AREA = {
    "M8×1": 39.2, "M10×1.25": 61.2, "M10×1": 64.5, "M12×1.5": 88.1, "M12×1.25": 92.1,
    "M14×1.5": 125, "M16×1.5": 167, "M18×1.5": 216, "M20×1.5": 272, "M22×1.5": 333,
    "M24×2": 384, "M27×2": 496, "M30×2": 621, "M33×2": 761, "M36×3": 865, "M39×3": 1030,
}  # fmt: skip


@pytest.mark.parametrize(("size", "area"), [*COARSE_AREA.items(), *FINE_AREA.items()])
def test_stress_area_of_iso_898_1(size, area):
    found = parse_thread(size).stress_area * 1e6
    assert abs(found - area) <= 0.51 * 10 ** (math.floor(math.log10(area)) - 2)


# Shigley's Mechanical Engineering Design, table 8-2, tensile stress area, in²; read
SHIGLEY_AREA = {
    "#1-64": 0.00263, "#1-72": 0.00278, "#2-56": 0.00370, "#2-64": 0.00394, "#3-48": 0.00487,
    "#3-56": 0.00523, "#4-40": 0.00604, "#4-48": 0.00661, "#5-40": 0.00796, "#6-32": 0.00909,
    "#6-40": 0.01015, "#8-32": 0.0140, "#8-36": 0.01474, "#10-24": 0.0175, "#10-32": 0.0200,
    "#12-24": 0.0242, "#12-28": 0.0258, "1/4-20": 0.0318, "1/4-28": 0.0364, "5/16-18": 0.0524,
    "5/16-24": 0.0580, "3/8-16": 0.0775, "3/8-24": 0.0878, "7/16-14": 0.1063, "7/16-20": 0.1187,
    "1/2-13": 0.1419, "1/2-20": 0.1599, "9/16-12": 0.182, "9/16-18": 0.203, "5/8-11": 0.226,
    "5/8-18": 0.256, "3/4-10": 0.334, "3/4-16": 0.373, "7/8-9": 0.462, "7/8-14": 0.509,
    "1-8": 0.606, "1-12": 0.663, "1 1/4-7": 0.969, "1 1/4-12": 1.073, "1 1/2-6": 1.405,
    "1 1/2-12": 1.581,
}  # fmt: skip


@pytest.mark.parametrize(("size", "area"), SHIGLEY_AREA.items())
def test_stress_area_of_shigley_table_8_2(size, area):
    assert parse_thread(size).stress_area / SQUARE_INCH == pytest.approx(area, rel=0.004)


# ASME B1.1, basic pitch diameter and stress area of the fine and coarse series, in, in²; read
B1_1 = {
    "#10-32 UNF": (0.1697, 0.0200), "1/2-20 UNF": (0.4675, 0.1599), "3/4-16 UNF": (0.7094, 0.373),
    "1 3/8-12 UNF": (1.3209, 1.315), "1/2-13 UNC": (0.4500, 0.1419), "2-4.5 UNC": (1.8557, 2.50),
    "4-4 UNC": (3.8376, 11.08),
}  # fmt: skip


@pytest.mark.parametrize(("size", "pitch_diameter", "area"), [(k, *v) for k, v in B1_1.items()])
def test_basic_sizes_of_asme_b1_1(size, pitch_diameter, area):
    thread = parse_thread(size)
    assert thread.pitch_diameter / 0.0254 == pytest.approx(pitch_diameter, abs=6e-5)
    assert thread.stress_area / SQUARE_INCH == pytest.approx(area, rel=0.003)


def test_basic_diameters_of_iso_724():
    """ISO 724, M10: d2 9.026, D1 8.376, d3 8.160 mm; read."""
    thread = parse_thread("M10")
    diameters = thread.pitch_diameter, thread.internal_minor_diameter, thread.minor_diameter
    assert [round(one * 1e3, 3) for one in diameters] == [9.026, 8.376, 8.160]


# ISO 965-2 class 6g, mm: major max, min, pitch diameter max, min; read
EXTERNAL_6G = {
    "M1.6": (1.581, 1.496, 1.354, 1.291), "M2": (1.981, 1.886, 1.721, 1.654),
    "M2.5": (2.480, 2.380, 2.188, 2.117), "M3": (2.980, 2.874, 2.655, 2.580),
    "M3.5": (3.479, 3.354, 3.089, 3.004), "M4": (3.978, 3.838, 3.523, 3.433),
    "M4×0.5": (3.980, 3.874, 3.655, 3.580), "M5": (4.976, 4.826, 4.456, 4.361),
    "M6": (5.974, 5.794, 5.324, 5.212), "M6×0.75": (5.978, 5.838, 5.491, 5.391),
    "M8": (7.972, 7.760, 7.160, 7.042), "M8×1": (7.974, 7.794, 7.324, 7.212),
    "M10": (9.968, 9.732, 8.994, 8.862), "M10×1.25": (9.972, 9.760, 9.160, 9.042),
}  # fmt: skip


@pytest.mark.parametrize(("size", "limits"), EXTERNAL_6G.items())
def test_class_6g_limits(size, limits):
    found = external_limits(parse_thread(size), "6g")
    sizes = found.major_max, found.major_min, found.pitch_max, found.pitch_min
    assert [one * 1e3 for one in sizes] == pytest.approx(limits, abs=0.0011)


# class 6H, mm: minor diameter min, max, pitch diameter min, max (ISO 965-2, ASME B1.13M); read
INTERNAL_6H = {
    "M9": (7.647, 7.912, 8.188, 8.348), "M10": (8.376, 8.676, 9.026, 9.206),
    "M10×1.25": (8.647, 8.912, 9.188, 9.348), "M10×1": (8.917, 9.153, 9.350, 9.500),
    "M12": (10.106, 10.441, 10.863, 11.063), "M12×1.5": (10.376, 10.676, 11.026, 11.216),
    "M12×1.25": (10.647, 10.912, 11.188, 11.368), "M14": (11.835, 12.210, 12.701, 12.913),
    "M14×1.5": (12.376, 12.676, 13.026, 13.216),
}  # fmt: skip


@pytest.mark.parametrize(("size", "limits"), INTERNAL_6H.items())
def test_class_6h_limits(size, limits):
    found = internal_limits(parse_thread(size))
    sizes = found.minor_min, found.minor_max, found.pitch_min, found.pitch_max
    assert [one * 1e3 for one in sizes] == pytest.approx(limits, abs=0.0011)


# ISO 965-1 table 6, Td2 grade 6, and table 5, TD2 grade 6, µm; read
PITCH_TOLERANCES = {
    "M16": (160, 212), "M20": (170, 224), "M24": (200, 265), "M30": (212, 280),
    "M36": (224, 300), "M42": (236, 315), "M48": (250, 335), "M56": (265, 355), "M64": (280, 375),
    "M24×2": (170, 224), "M48×3": (212, 280), "M64×4": (236, 315),
}  # fmt: skip


@pytest.mark.parametrize(("size", "tolerances"), PITCH_TOLERANCES.items())
def test_pitch_diameter_tolerances_of_iso_965_1(size, tolerances):
    bolt, nut = external_limits(parse_thread(size)), internal_limits(parse_thread(size))
    found = bolt.pitch_max - bolt.pitch_min, nut.pitch_max - nut.pitch_min
    assert [one * 1e6 for one in found] == pytest.approx(tolerances)


# ISO 965-1 table 3, TD1 grade 6, and table 4, Td grade 6, by pitch, µm; read
CREST_TOLERANCES = {
    "M3": (140, 106), "M4": (180, 140), "M5": (200, 150), "M6": (236, 180), "M8": (265, 212),
    "M12": (335, 265), "M16": (375, 280), "M20": (450, 335), "M24": (500, 375), "M30": (560, 425),
    "M36": (600, 475), "M42": (670, 500), "M48": (710, 530), "M56": (750, 560), "M64": (800, 600),
}  # fmt: skip


@pytest.mark.parametrize(("size", "tolerances"), CREST_TOLERANCES.items())
def test_crest_diameter_tolerances_of_iso_965_1(size, tolerances):
    bolt, nut = external_limits(parse_thread(size)), internal_limits(parse_thread(size))
    found = nut.minor_max - nut.minor_min, bolt.major_max - bolt.major_min
    assert [one * 1e6 for one in found] == pytest.approx(tolerances)


# ASME B1.1 class 2A, in: major max, min, pitch diameter max, min; read (1/2-13 from memory)
EXTERNAL_2A = {
    "1/2-13 UNC": (0.4985, 0.4876, 0.4485, 0.4435), "5/8-11 UNC": (0.6234, 0.6113, 0.5644, 0.5589),
    "2 1/2-4 UNC": (2.4969, 2.4731, 2.3345, 2.3241), "2 1/2-8 UN": (2.4976, 2.4826, 2.4164, 2.4082),
    "2 1/2-12 UN": (2.4981, 2.4867, 2.4440, 2.4378),
    "2 1/2-16 UN": (2.4983, 2.4889, 2.4577, 2.4522),
}  # fmt: skip
# ASME B1.1 class 2B, in: minor diameter min, max, pitch diameter min, max; read
INTERNAL_2B = {
    "#4-40 UNC": (0.0849, 0.0939, 0.0958, 0.0991), "#10-24 UNC": (0.145, 0.156, 0.1629, 0.1672),
    "1/4-20 UNC": (0.196, 0.207, 0.2175, 0.2224), "1/2-13 UNC": (0.417, 0.434, 0.4500, 0.4565),
    "5/8-11 UNC": (0.527, 0.546, 0.5660, 0.5732), "3/4-10 UNC": (0.642, 0.663, 0.6850, 0.6927),
    "1-8 UNC": (0.865, 0.890, 0.9188, 0.9276), "2 1/2-4 UNC": (2.229, 2.267, 2.3376, 2.3511),
    "2 1/2-8 UN": (2.365, 2.390, 2.4188, 2.4294), "2 1/2-12 UN": (2.410, 2.428, 2.4459, 2.4540),
    "2 1/2-16 UN": (2.432, 2.446, 2.4594, 2.4666),
}  # fmt: skip


@pytest.mark.parametrize(("size", "limits"), EXTERNAL_2A.items())
def test_class_2a_limits(size, limits):
    found = external_limits(parse_thread(size))
    sizes = found.major_max, found.major_min, found.pitch_max, found.pitch_min
    assert [one / 0.0254 for one in sizes] == pytest.approx(limits, abs=1.1e-4)


@pytest.mark.parametrize(("size", "limits"), INTERNAL_2B.items())
def test_class_2b_limits(size, limits):
    found = internal_limits(parse_thread(size))
    assert found.minor_min / 0.0254 == pytest.approx(limits[0], abs=6e-4)  # tabled to 0.001
    assert found.minor_max / 0.0254 == pytest.approx(limits[1], abs=6e-4)
    assert found.pitch_min / 0.0254 == pytest.approx(limits[2], abs=1.1e-4)
    assert found.pitch_max / 0.0254 == pytest.approx(limits[3], abs=1.1e-4)


def test_class_3_limits():
    """ASME B1.1, 2 1/2-4 UNC: 3A pitch diameter 2.3298 min, 3B minor 2.2594 max; read."""
    thread = parse_thread("2 1/2-4 UNC")
    assert external_limits(thread, "3A").pitch_min / 0.0254 == pytest.approx(2.3298, abs=1.1e-4)
    assert internal_limits(thread, "3B").pitch_max / 0.0254 == pytest.approx(2.3477, abs=1.1e-4)
    assert internal_limits(thread, "3B").minor_max / 0.0254 == pytest.approx(2.2594, abs=1.1e-4)
    assert external_limits(thread, "1A").pitch_min / 0.0254 == pytest.approx(2.3190, abs=1.1e-4)


CLASSES = ("4.6", "4.8", "5.6", "5.8", "6.8", "8.8", "9.8", "10.9", "12.9")
# ISO 898-1, proof loads of coarse threads, N, in the order of CLASSES; read
PROOF_LOADS = {
    "M3": (1130, 1560, 1410, 1910, 2210, 2920, 3270, 4180, 4880),
    "M4": (1980, 2720, 2460, 3340, 3860, 5100, 5710, 7290, 8520),
    "M5": (3200, 4400, 3980, 5400, 6250, 8230, 9230, 11800, 13800),
    "M6": (4520, 6230, 5630, 7640, 8840, 11600, 13100, 16700, 19500),
    "M8": (8240, 11400, 10200, 13900, 16100, 21200, 23800, 30400, 35500),
    "M10": (13000, 18000, 16200, 22000, 25500, 33700, 37700, 48100, 56300),
    "M12": (19000, 26100, 23600, 32000, 37100, 48900, 54800, 70000, 81800),
    "M16": (35300, 48700, 44000, 59700, 69100, 91000, 102000, 130000, 152000),
    "M20": (55100, 76000, 68600, 93100, 108000, 147000, None, 203000, 238000),
    "M24": (79400, 109000, 98800, 134000, 155000, 212000, None, 293000, 342000),
}


@pytest.mark.parametrize("size", PROOF_LOADS)
def test_proof_loads_of_iso_898_1(size):
    thread = parse_thread(size)
    for name, load in zip(CLASSES, PROOF_LOADS[size], strict=True):
        if load is not None:  # tabled to three figures, from an area of three figures
            assert proof_load(thread, strength_class(name, thread)) == pytest.approx(load, rel=7e-3)


# ISO 898-1, least ultimate tensile loads, N; read
@pytest.mark.parametrize(
    ("size", "name", "load"),
    [
        ("M6", "4.6", 8040), ("M8", "8.8", 29200), ("M10", "8.8", 46400), ("M10", "10.9", 60300),
        ("M12", "12.9", 103000), ("M16", "9.8", 141000), ("M20", "8.8", 203000),
        ("M24", "5.8", 184000), ("M36", "10.9", 850000),
    ],
)  # fmt: skip
def test_ultimate_loads_of_iso_898_1(size, name, load):
    thread = parse_thread(size)
    found = strength_class(name, thread).tensile_strength * thread.stress_area
    assert found == pytest.approx(load, rel=6e-3)


# SAE J429 as tabulated by Shigley, proof/yield/tensile, ksi; read
@pytest.mark.parametrize(
    ("name", "size", "strengths"),
    [
        ("grade 1", "1/2-13", (33, 36, 60)), ("grade 2", "3/4-10", (55, 57, 74)),
        ("grade 2", "7/8-9", (33, 36, 60)), ("grade 5", "3/4-16", (85, 92, 120)),
        ("grade 5", "1-8", (85, 92, 120)), ("grade 5", "1 1/8-7", (74, 81, 105)),
        ("grade 5.2", "1/2-13", (85, 92, 120)), ("grade 7", "1/2-13", (105, 115, 133)),
        ("grade 8", "1 1/2-6", (120, 130, 150)),
    ],
)  # fmt: skip
def test_grades_of_sae_j429(name, size, strengths):
    found = strength_class(name, parse_thread(size))
    values = found.proof_strength, found.yield_strength, found.tensile_strength
    assert [one / KSI for one in values] == pytest.approx(strengths, rel=2e-5)  # tabled to 0.01 MPa


def test_shigley_example_8_3_bolt():
    """Shigley example 8-3: 3/4-16 UNF grade 5 has 0.373 in² and a proof strength of 85 ksi."""
    thread = parse_thread("3/4-16 UNF")
    load = proof_load(thread, strength_class("grade 5", thread))
    assert load / 4.448222 == pytest.approx(0.373 * 85_000, rel=1e-3)


@pytest.mark.parametrize(
    ("name", "yielding", "tensile"), [("A2-50", 210, 500), ("A4-70", 450, 700), ("A4-80", 600, 800)]
)
def test_stainless_classes_of_iso_3506_1(name, yielding, tensile):
    """ISO 3506-1, 0.2 % proof stress and tensile strength, MPa; read."""
    found = strength_class(name, parse_thread("M10"))
    assert found.yield_strength == yielding * 1e6
    assert found.tensile_strength == tensile * 1e6


@pytest.mark.parametrize(
    ("condition", "factor"),
    [
        ("plain steel, dry", 0.30), ("zinc plated, dry", 0.20), ("oiled", 0.18),
        ("cadmium plated", 0.16), ("anti-seize paste", 0.12), ("as received", 0.20),
    ],
)  # fmt: skip
def test_nut_factors_of_shigley_table_8_15(condition, factor):
    """Shigley table 8-15, torque factors; 0.20 where the condition is not stated."""
    assert friction(condition).nut_factor_typical == factor


@pytest.mark.parametrize(
    ("condition", "low", "high"),
    [
        ("molybdenum disulfide paste", 0.04, 0.10), ("zinc plated, lubricated", 0.08, 0.16),
        ("hot-dip galvanized, dry", 0.20, 0.35), ("stainless steel, oiled", 0.20, 0.35),
    ],
)  # fmt: skip
def test_coefficients_of_vdi_2230_guide_values(condition, low, high):
    """VDI 2230-1, guide values for μG and μK by surface and lubricant; read."""
    found = friction(condition)
    assert (found.thread_low, found.thread_high) == (low, high)
    assert (found.bearing_low, found.bearing_high) == (low, high)
