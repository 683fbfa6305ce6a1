"""Torque, preload and tightening stress against published values, each with its source."""

import math
from itertools import pairwise

import pytest

from rebuildbook.calculators.fastener_stress import (
    assembly_preload,
    share_of_strength,
    tensile_stress,
)
from rebuildbook.calculators.preload import (
    mean_bearing_diameter,
    nut_factor_from_friction,
    nut_factor_power_screw,
    torque_from_friction,
    torque_from_nut_factor,
    torque_shares,
)


# Shigley's Mechanical Engineering Design, 9th ed., example 8-3: 3/4-16 UNF grade 5, 25 kip,
# At = 0.373 in² (parts (a) and the data read in a public copy; (b) and (c) from memory).
def test_shigley_example_8_3_stress():
    assert tensile_stress("25 kip", "0.373 in^2").to("ksi").magnitude == pytest.approx(
        67.02, abs=5e-3
    )
    below_proof = 1.0 - share_of_strength("25 kip", "0.373 in^2", "85 ksi")
    assert below_proof == pytest.approx(0.21, abs=0.005)


def test_shigley_example_8_3_torque_by_nut_factor():
    torque = torque_from_nut_factor("25 kip", 0.2, "0.75 in")
    assert torque.to("lbf*in").magnitude == pytest.approx(3750.0, rel=1e-9)


def test_shigley_example_8_3_torque_by_the_long_form():
    minor = math.sqrt(4.0 * 0.351 / math.pi)  # in, from the minor area of table 8-2
    factor = nut_factor_power_screw(
        "0.75 in",
        pitch="0.0625 in",
        mean_diameter=f"{(0.75 + minor) / 2.0} in",
        thread_friction=0.15,
        bearing_friction=0.15,
        bearing_diameter="0.9375 in",
    )
    torque = torque_from_nut_factor("25 kip", factor, "0.75 in")
    assert torque.to("lbf*in").magnitude == pytest.approx(3551.0, abs=1.0)


# Shigley, below eq. 8-27: K is about 0.20 for f = fc = 0.15 whatever the size, coarse or fine
# (read in a public copy). Two figures.
@pytest.mark.parametrize(
    ("diameter", "pitch"), [(6.0, 1.0), (10.0, 1.5), (12.0, 1.25), (20.0, 2.5), (36.0, 4.0)]
)
def test_nut_factor_hardly_depends_on_the_size(diameter, pitch):
    factor = nut_factor_power_screw.si(
        diameter,
        pitch=pitch,
        mean_diameter=diameter - 0.6134 * pitch,
        thread_friction=0.15,
        bearing_friction=0.15,
        bearing_diameter=1.25 * diameter,
    )
    assert factor == pytest.approx(0.20, abs=0.01)


# The power-screw form and the form of VDI 2230 are two accounts of one thread.
@pytest.mark.parametrize("friction", [0.08, 0.12, 0.16, 0.24])
def test_both_forms_agree(friction):
    given = {"thread_friction": friction, "bearing_friction": friction, "bearing_diameter": 12.8}
    long = nut_factor_power_screw.si(10.0, pitch=1.5, mean_diameter=9.026, **given)
    short = nut_factor_from_friction.si(10.0, pitch=1.5, pitch_diameter=9.026, **given)
    assert long == pytest.approx(short, rel=0.01)


# Bearing faces: ISO 4014/4017 least washer-face diameter dw, ISO 273 medium hole dh, mm (from
# memory). ISO 724 for the threads.
WASHER_FACE = {
    5: (6.88, 5.5),
    6: (8.88, 6.6),
    8: (11.63, 9.0),
    10: (14.63, 11.0),
    12: (16.63, 13.5),
    14: (19.64, 15.5),
    16: (22.49, 17.5),
    18: (25.34, 20.0),
    20: (28.19, 22.0),
}
RP = {"8.8": (640.0, 660.0), "10.9": (940.0, 940.0), "12.9": (1100.0, 1100.0)}  # to M16, above


def assembly(diameter, pitch, strength, friction):
    """Preload (kN) and torque (N·m) at 90 % of the yield strength (MPa), sizes in mm."""
    middle, root = diameter - 0.649519 * pitch, diameter - 1.226869 * pitch
    area = math.pi / 4.0 * ((middle + root) / 2.0) ** 2
    thread = {"pitch": f"{pitch} mm", "pitch_diameter": f"{middle} mm", "thread_friction": friction}
    preload = assembly_preload(f"{strength} MPa", 0.9, f"{area} mm^2", **thread)
    outer, hole = WASHER_FACE[diameter]
    face = mean_bearing_diameter(f"{outer} mm", f"{hole} mm")
    torque = torque_from_friction(
        preload, **thread, bearing_friction=friction, bearing_diameter=face
    )
    return preload.to("kN").magnitude, torque.to("N*m").magnitude


# VDI 2230, assembly preload and torque of fine threads, headed screws, 90 % utilisation; the
# table of the 2001 edition read in a public reproduction (a fastener catalogue's technical pages).
# Size: friction -> ((preload kN: 8.8, 10.9, 12.9), (torque N·m: 8.8, 10.9, 12.9)).
FINE = {
    (8, 1.0): {
        0.10: ((20.7, 30.4, 35.6), (22.8, 33.5, 39.2)),
        0.12: ((20.2, 29.7, 34.7), (26.1, 38.3, 44.9)),
        0.14: ((19.7, 28.9, 33.9), (29.2, 42.8, 50.1)),
    },
    (10, 1.25): {
        0.10: ((32.4, 47.5, 55.6), (44, 65, 76)),
        0.12: ((31.6, 46.4, 54.3), (51, 75, 87)),
        0.14: ((30.8, 45.2, 52.9), (57, 83, 98)),
    },
    (12, 1.25): {
        0.10: ((49.1, 72.1, 84.4), (79, 116, 135)),
        0.12: ((48.0, 70.5, 82.5), (90, 133, 155)),
        0.14: ((46.8, 68.7, 80.4), (101, 149, 174)),
    },
    (16, 1.5): {
        0.10: ((89.6, 131.6, 154.0), (189, 278, 325)),
        0.12: ((87.6, 128.7, 150.6), (218, 320, 374)),
        0.14: ((85.5, 125.5, 146.9), (244, 359, 420)),
    },
    (20, 1.5): {
        0.10: ((151, 215, 252), (392, 558, 653)),
        0.12: ((148, 211, 246), (454, 646, 756)),
        0.14: ((144, 206, 241), (511, 728, 852)),
    },
}


@pytest.mark.parametrize(("size", "rows"), FINE.items())
def test_vdi_2230_table_of_fine_threads(size, rows):
    for friction, (preloads, torques) in rows.items():
        for name, preload, torque in zip(RP, preloads, torques, strict=True):
            strength = RP[name][0 if size[0] <= 16 else 1]
            found = assembly(*size, strength, friction)
            assert found[0] == pytest.approx(preload, rel=0.004)
            assert found[1] == pytest.approx(torque, rel=0.013)  # two figures


# The same for austenitic stainless steel A1/A2/A4, classes 50, 70 and 80 (yield 210, 450 and
# 600 MPa), read in the same public reproduction. Size -> friction -> (preloads, torques).
STAINLESS = {
    (6, 1.0): {
        0.1: ((3.4, 7.3, 9.7), (2.9, 6.3, 8.4)),
        0.2: ((3.0, 6.4, 8.4), (4.6, 10.0, 13.2)),
        0.3: ((2.5, 5.5, 7.2), (5.7, 12.2, 16.3)),
    },
    (8, 1.25): {
        0.1: ((6.2, 13.4, 17.9), (7.1, 15.2, 20.3)),
        0.2: ((5.4, 11.6, 15.5), (11.2, 24.1, 32.1)),
        0.3: ((4.6, 9.9, 13.3), (13.9, 30.0, 40.0)),
    },
    (10, 1.5): {
        0.1: ((9.9, 21.3, 28.4), (14, 30, 39)),
        0.2: ((8.6, 18.5, 24.7), (22.2, 47.7, 63)),
    },
    (18, 2.5): {
        0.1: ((33.2, 71, 94), (82, 176, 235)),
        0.2: ((28.9, 62, 82), (131, 282, 376)),
        0.3: ((24.7, 53, 70), (164, 352, 469)),
    },
    (20, 2.5): {
        0.1: ((42.5, 91, 121), (115, 247, 330)),
        0.2: ((37.1, 79.6, 106), (187, 401, 534)),
        0.3: ((31.8, 68, 90), (234, 501, 669)),
    },
}


@pytest.mark.parametrize(("size", "rows"), STAINLESS.items())
def test_vdi_2230_table_of_stainless_threads(size, rows):
    for friction, (preloads, torques) in rows.items():
        for strength, preload, torque in zip((210.0, 450.0, 600.0), preloads, torques, strict=True):
            found = assembly(*size, strength, friction)
            assert found[0] == pytest.approx(preload, rel=0.025)  # two figures
            assert found[1] == pytest.approx(torque, rel=0.03)


# VDI 2230, coarse threads, 90 % utilisation, friction 0.08, 0.10, 0.12, 0.14, 0.16, from memory:
# the torques (N·m), and the preloads (kN) of class 8.8.
COARSE = {
    (6, 1.0): (
        (7.7, 9.0, 10.1, 11.3, 12.3),
        (11.3, 13.2, 14.9, 16.5, 18.0),
        (10.7, 10.4, 10.2, 9.9, 9.6),
    ),
    (8, 1.25): (
        (18.5, 21.6, 24.6, 27.3, 29.8),
        (27.2, 31.8, 36.1, 40.1, 43.8),
        (19.5, 19.1, 18.6, 18.1, 17.6),
    ),
    (10, 1.5): (
        (36, 43, 48, 54, 59),
        (53, 63, 71, 79, 87),
        (31.0, 30.3, 29.6, 28.8, 27.9),
    ),
    (12, 1.75): (
        (63, 73, 84, 93, 102),
        (92, 108, 123, 137, 149),
        (45.2, 44.1, 43.0, 41.9, 40.7),
    ),
    (16, 2.0): (
        (153, 180, 206, 230, 252),
        (224, 264, 302, 338, 370),
        (84.7, 82.9, 80.9, 78.8, 76.6),
    ),
    (20, 2.5): (
        (308, 363, 415, 464, 509),
        (438, 517, 592, 661, 725),
        (136, 134, 130, 127, 123),
    ),
}


@pytest.mark.parametrize(("size", "rows"), COARSE.items())
def test_vdi_2230_table_of_coarse_threads(size, rows):
    place = 0 if size[0] <= 16 else 1
    for column, friction in enumerate((0.08, 0.10, 0.12, 0.14, 0.16)):
        preload, torque = assembly(*size, RP["8.8"][place], friction)
        assert torque == pytest.approx(rows[0][column], rel=0.015)
        assert preload == pytest.approx(rows[2][column], rel=0.01)
        assert assembly(*size, RP["10.9"][place], friction)[1] == pytest.approx(
            rows[1][column], rel=0.015
        )


# Bickford, Introduction to the Design and Behavior of Bolted Joints (from memory): of the torque
# on a lightly oiled fastener some 10 % stretches it, 40 % goes to the thread, 50 % to the face.
def test_the_10_40_50_rule():
    shares = torque_shares(
        48.0,
        pitch=1.5e-3,
        pitch_diameter=9.026e-3,
        thread_friction=0.15,
        bearing_friction=0.15,
        bearing_diameter=12.8e-3,
    )
    found = (shares.stretch, shares.thread_friction, shares.bearing_friction)
    assert found == pytest.approx((0.10, 0.40, 0.50), abs=0.03)
    assert all(low < high for low, high in pairwise(found))
