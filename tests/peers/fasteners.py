"""Judges what `matchmark reckon` answers by the data and arithmetic of others.

    fasteners.py MATCHMARK BD_WAREHOUSE

BD_WAREHOUSE is the wheel of bd-warehouse, a library of parts for CAD, of which only
the tables are read: drills, holes, widths. Threads and stripping come from
screw_thread_lib (tables of ASME B1.1 and B1.13M, formulas of FED-STD-H28/2B), units
from pint, chassis numbers from vininfo. (Apache-2.0, MIT, BSD, BSD-3-Clause.) Where a peer is known to be
wrong, that is written down here with why, and a peer that mends it is noticed.
"""

import csv
import io
import json
import math
import subprocess
import sys
import zipfile

import pint
from screw_thread_lib.data.ASME import ASME_M_6g6H_dict, ASME_UN_2A2B_dict
from screw_thread_lib.threads import Assembly
from vininfo import Vin
from vininfo.exceptions import ValidationError

INCH = 25.4

# Figures of peers that are theirs alone: what is right, and who says so.
THEIRS = {
    ("M12", "clearance_medium_mm"): "ISO 273 has 13.5; two other tables agree",
    ("M12", "clearance_coarse_mm"): "ISO 273 has 14.5",
    ("M14", "clearance_medium_mm"): "ISO 273 has 15.5; two other tables agree",
    ("M14", "clearance_coarse_mm"): "ISO 273 has 16.5",
    ("M16", "clearance_medium_mm"): "ISO 273 has 17.5; two other tables agree",
    ("M16", "clearance_coarse_mm"): "ISO 273 has 18.5",
    ("M12", "tap_drill_mm"): "ISO 2306 has 10.2, D - P is 10.25",
    ("M14", "tap_drill_mm"): "ISO 2306 has 12.0, which is D - P",
    ("M22", "tap_drill_mm"): "D - P is 19.5; 18.5 would be less than the minor diameter",
    ("M12x1.75", "bolt_pitch_diameter_min_mm"): (
        "ISO 965-1 has a tolerance of 0.150 mm, so 10.679 mm; theirs leaves 0.155, no preferred number"
    ),
}
# Drills by number and letter in inches (ASME B94.11M, from memory).
NAMED = {
    "#7": 0.201, "#3": 0.213, "F": 0.257, "I": 0.272, "Q": 0.332, "U": 0.368,
}


class Judge:
    def __init__(self, program):
        self.program = program
        self.passed, self.failures, self.known, self.seen = 0, [], [], set()

    def asks(self, *words):
        done = subprocess.run(
            [self.program, "reckon", *words, "--format", "json"],
            capture_output=True, check=False, text=True,
        )
        if done.returncode != 0:
            sys.exit(f"{words}: {done.stderr}")
        return json.loads(done.stdout)

    def near(self, what, key, ours, theirs, within):
        if abs(ours - theirs) <= within * (1 + 1e-9) + 1e-9:
            self.passed += 1
        elif (what, key) in THEIRS:
            self.known.append(f"{what} {key}: ours {ours}, theirs {theirs}: {THEIRS[what, key]}")
            self.seen.add((what, key))
        else:
            self.failures.append(f"{what} {key}: ours {ours}, theirs {theirs}")

    def same(self, what, ours, theirs):
        if ours == theirs:
            self.passed += 1
        else:
            self.failures.append(f"{what}: ours {ours}, theirs {theirs}")


def table(wheel, name):
    with zipfile.ZipFile(wheel) as archive:
        text = archive.read(f"bd_warehouse/data/{name}.csv").decode("utf-8-sig")
    return list(csv.DictReader(io.StringIO(text)))


def fraction(text):
    above, below = text.split("/")
    return float(above) / float(below)


def metric(judge, wheel):
    """Drills, holes and widths of all sizes from M3 to M24."""
    for row in table(wheel, "tap_hole_sizes"):
        size, pitch = row["Size"].split("-", 1)
        if not size.startswith("M") or not 3 <= float(size[1:]) <= 24:
            continue
        # Sizes and pitches that ISO 261 has no more.
        if size in ("M5.5", "M15", "M17", "M19", "M21") or row["Size"] in (
            "M3-0.6", "M4-0.75", "M5-1", "M5-0.9",
        ):
            continue
        name = f"{size}x{float(pitch):g}"
        answer = judge.asks("thread", name)
        coarse = judge.asks("thread", size)
        what = size if coarse["pitch_mm"] == answer["pitch_mm"] else name
        # Drills are sold by tenths and, for these, by twentieths.
        judge.near(what, "tap_drill_mm", answer["tap_drill_mm"], float(row["Soft"]), 0.05)
        judge.near(what, "pitch_mm", answer["pitch_mm"], float(pitch), 0)
    for row in table(wheel, "clearance_hole_sizes"):
        size = row["Size"]
        if not size.startswith("M") or not 3 <= float(size[1:]) <= 24:
            continue
        answer = judge.asks("thread", size) if size not in ("M9", "M15", "M17", "M19") else {}
        for key, head in [
            ("clearance_fine_mm", "Close"),
            ("clearance_medium_mm", "Normal"),
            ("clearance_coarse_mm", "Loose"),
        ]:
            if key in answer:
                judge.near(size, key, answer[key], float(row[head]), 0)
    widths = {
        "ISO 4014, 4017": ("hex_head_parameters", "iso4014:s"),
        "DIN 931, 933": ("hex_head_parameters", "din931:s"),
        "EN 1662, small flange": ("hex_head_with_flange_parameters", "din1662:s"),
        "EN 1665, heavy flange": ("hex_head_with_flange_parameters", "din1665:s"),
        "ISO 4161, flange nut": ("hex_nut_with_flange_parameters", "din1665:s"),
    }
    for standard, (name, column) in widths.items():
        for row in table(wheel, name):
            size = row["Size"].split("-")[0]
            if not size.startswith("M") or not row.get(column) or not 3 <= float(size[1:]) <= 24:
                continue
            answer = judge.asks("thread", size)
            for flats in answer["across_flats"] or []:
                if flats["standard"] == standard:
                    theirs = float(row[column])
                    judge.near(size, f"across flats {standard}", flats["across_flats_mm"], theirs, 0)


def inch_drills(judge, wheel):
    """Drills of unified threads to 3/4, coarse and fine."""
    for row in table(wheel, "tap_hole_sizes"):
        size, _, count = row["Size"].partition("-")
        if "/" not in size or fraction(size) > 0.75 or not count:
            continue
        for series in ("UNC", "UNF"):
            done = subprocess.run(
                [judge.program, "reckon", "thread", f"{size}-{count}{series}", "--format", "json"],
                capture_output=True, check=False, text=True,
            )
            if done.returncode == 0:
                answer = json.loads(done.stdout)
                drill = row["Soft"]
                theirs = NAMED[drill] if drill in NAMED else fraction(drill)
                name = f"{size}-{count}{series}"
                judge.near(name, "tap_drill_mm", answer["tap_drill_mm"], theirs * INCH, 0.001)


def limits(judge):
    """Limits, areas and stripping by the tables of ASME and the formulas of FED-STD-H28/2B."""
    sets = [("ASME_UN_2A2B", ASME_UN_2A2B_dict), ("ASME_M_6g6H", ASME_M_6g6H_dict)]
    for database, threads in sets:
        for name, sizes in threads.items():
            if database == "ASME_UN_2A2B":
                if sizes["series"] == "UNS" or sizes["dbsc"] > 1 or sizes["dbsc"] < 0.2:
                    # 1-14 is no thread of a standard series; J429 begins at 1/4.
                    continue
                asked, grade, within = f"{name}{sizes['series']}", "grade 5", 0.0001
            else:
                asked, grade, within = name.replace("-", "x"), "8.8", 0.00002
            answer = judge.asks("thread", asked, "--class", grade, "--into", "aluminium")
            # Tables in inches to four places, minor diameters to three; in millimetres to three.
            for ours, theirs, most in [
                ("bolt_diameter_max_mm", "dmax", within),
                ("bolt_diameter_min_mm", "dmin", within),
                ("bolt_pitch_diameter_max_mm", "d2max", within),
                ("bolt_pitch_diameter_min_mm", "d2min", within),
                ("nut_pitch_diameter_min_mm", "D2min", within),
                ("nut_pitch_diameter_max_mm", "D2max", within),
                ("nut_minor_diameter_min_mm", "D1min", max(within, 0.0005 if within > 5e-5 else 0)),
                ("nut_minor_diameter_max_mm", "D1max", max(within, 0.0006 if within > 5e-5 else 0)),
            ]:
                judge.near(asked, ours, answer[ours] / INCH, sizes[theirs], most)
            peer = Assembly.from_database(database, name)
            area = peer.As_FEDSTD_1b() if database == "ASME_UN_2A2B" else peer.As_ISO()
            judge.near(asked, "stress_area_mm2", answer["stress_area_mm2"], area * INCH**2,
                       answer["stress_area_mm2"] * 1e-5)
            judge.near(asked, "pitch_diameter_mm", answer["pitch_diameter_mm"], peer.d2bsc * INCH, 1e-4)
            judge.near(asked, "minor_diameter_mm", answer["minor_diameter_mm"], peer.D1bsc * INCH, 1e-4)
            # The engagement at which the weakest hole, at its slackest, stands what breaks
            # the bolt: formula (2a), newtons over megapascals.
            per_inch = peer.ASn_min_FEDSTD_2a(1) * INCH**2
            for end, other in [("min", "max"), ("max", "min")]:
                stress = answer[f"shear_strength_{other}_mpa"]
                theirs = answer["tensile_load_n"] / (stress * per_inch) * INCH
                ours = answer[f"engagement_slackest_{end}_mm"]
                # Their sizes are rounded; so is the width of a tooth, which is small.
                judge.near(asked, f"engagement_slackest_{end}_mm", ours, theirs, theirs * 0.005)


def units(judge):
    """Factors of torque, length, pressure, force, mass and volume."""
    registry = pint.UnitRegistry()
    named = {
        "torque_nm": "newton * meter", "torque_lb_ft": "force_pound * foot",
        "torque_lb_in": "force_pound * inch", "torque_oz_in": "force_ounce * inch",
        "torque_kgf_m": "force_kilogram * meter", "torque_kgf_cm": "force_kilogram * centimeter",
        "length_mm": "millimeter", "length_in": "inch", "length_ft": "foot", "length_thou": "thou",
        "pressure_kpa": "kilopascal", "pressure_bar": "bar", "pressure_psi": "psi",
        "pressure_inhg": "inch_Hg", "pressure_mmhg": "millimeter_Hg",
        "pressure_kgf_per_cm2": "force_kilogram / centimeter ** 2",
        "force_n": "newton", "force_lbf": "force_pound", "force_kgf": "force_kilogram",
        "mass_kg": "kilogram", "mass_lb": "pound", "mass_oz": "ounce",
        "volume_l": "liter", "volume_us_gal": "gallon", "volume_uk_gal": "imperial_gallon",
        "volume_us_qt": "quart", "volume_uk_pt": "imperial_pint", "volume_in3": "inch ** 3",
        "power_kw": "kilowatt", "power_hp": "horsepower", "power_ps": "metric_horsepower",
        "angle_deg": "degree", "angle_turn": "turn", "speed_mph": "mile / hour",
        "speed_km_per_h": "kilometer / hour",
        "volume_flow_cc_per_min": "centimeter ** 3 / minute",
        "volume_flow_l_per_h": "liter / hour",
    }
    for written, unit in [
        ("18 lb-ft", "force_pound * foot"), ("24 N·m", "newton * meter"),
        ("3.5 kgf·m", "force_kilogram * meter"), ("1.5 in", "inch"), ("12 thou", "thou"),
        ("30 psi", "psi"), ("2.5 bar", "bar"), ("25 kN", "kilonewton"), ("12 lb", "pound"),
        ("4.5 l", "liter"), ("1 UK gal", "imperial_gallon"), ("150 PS", "metric_horsepower"),
        ("90 deg", "degree"), ("55 mph", "mile / hour"),
        ("182 cc/min", "centimeter ** 3 / minute"),
    ]:
        answer = judge.asks("convert", written)
        given = registry.Quantity(float(written.split(" ")[0]), unit)
        for key, ours in answer.items():
            if key in named:
                theirs = given.to(named[key]).magnitude
                judge.near(written, key, ours, theirs, abs(theirs) * 1e-6)
    for written, kelvin in [("20 degC", 293.15), ("-40 degF", 233.15), ("68 degF", 293.15)]:
        judge.near(written, "temperature_k", judge.asks("convert", written)["temperature_k"], kelvin, 1e-3)


def numbers(judge):
    """Chassis numbers: each of one number's characters changed to each other."""
    base = "1M8GDM9AXKP042788"
    given = [base, "1G4AH59H45G118341", "11111111111111111", "5GZCZ43D13S812715"]
    alphabet = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789"
    for at in range(0, 17, 2):
        given += [base[:at] + one + base[at + 1:] for one in alphabet[at % 3::3]]
    given += ["WP0ZZZ99ZTS392124", base[:16], base + "1"]
    for number in given:
        answer = judge.asks("vin", number)
        try:
            theirs = bool(Vin(number).verify_checksum())
            formed = True
        except ValidationError:
            theirs, formed = False, False
        judge.same(f"form of {number}", answer["check_digit"] is not None, formed)
        if formed:
            judge.same(f"check digit of {number}", answer["check_digit_matches"], theirs)


def main(arguments):
    if len(arguments) != 2:
        sys.exit(__doc__)
    judge = Judge(arguments[0])
    metric(judge, arguments[1])
    inch_drills(judge, arguments[1])
    limits(judge)
    units(judge)
    numbers(judge)
    for known in judge.known:
        print(f"known: {known}")
    for what in sorted(set(THEIRS) - judge.seen):
        judge.failures.append(f"{what}: the peer agrees by now; take it out of the list")
    for failure in judge.failures:
        print(failure)
    print(f"{judge.passed} passed, {len(judge.known)} known, {len(judge.failures)} failed")
    return 1 if judge.failures else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
