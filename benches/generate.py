#!/usr/bin/env python3
"""Writes a believable build folder of any size.

    python3 benches/generate.py DIR [--records 10000] [--seed 1]

The same records and seed give the same bytes. `build.yaml` is not counted as a
record. All names, makers and numbers are invented. The folder is meant to have
no conflict: references lead somewhere, a cavity is used once, a piece is on in
one place, days follow one another, a claim has what it needs. A new rule that
finds something here at error level has found a slip of this generator, and it is
put right here.

Only the standard library, and of its random numbers only `random()`, whose row
for a seed never changes between versions.
"""

import argparse
import datetime
import json
import random
import re
import struct
import sys
import zlib
from pathlib import Path

# How many of a hundred records are of each kind.
SHARES = {
    "donors": 1,
    "parts": 30,
    "assemblies": 6,
    "fasteners": 10,
    "plugs": 10,
    "routes": 4,
    "circuits": 18,
    "clearances": 4,
    "jobs": 9,
    "decisions": 3,
    "photos": 5,
}
# Long records make fewer to a file.
RECORDS_A_FILE = {"assemblies": 100, "parts": 125, "fasteners": 200, "photos": 200}
LAST_DAY = datetime.date(2026, 3, 20)

# ---------------------------------------------------------------- YAML


class Quoted(str):
    """Text that is written in quotes, needed or not: part numbers, pages."""


class Day(str):
    """A date, which stays without quotes."""


class Long(str):
    """Several lines of text, written as a block where a block can be."""


NUMBER = re.compile(r"[-+]?(\.?[0-9][0-9_.]*([eE][-+]?[0-9]*)?|0[xob][0-9a-fA-F_]+)$")
SIXTIES = re.compile(r"[-+]?[0-9_]+(:[0-9.]+)+$")
WORDS = re.compile(r"(y|yes|n|no|true|false|on|off|null|~)$", re.IGNORECASE)
DATE = re.compile(r"[0-9]{4}-[0-9]{1,2}-[0-9]{1,2}")


def trap(text):
    return bool(NUMBER.match(text) or SIXTIES.match(text) or WORDS.match(text) or DATE.match(text))


def scalar(value, flow):
    if value is True:
        return "true"
    if value is False:
        return "false"
    if isinstance(value, int):
        return str(value)
    if isinstance(value, Day):
        return str(value)
    plain = (
        not isinstance(value, Quoted)
        and value != ""
        and value == value.strip()
        and "\n" not in value
        and value[0] not in "-?:,[]{}#&*!|>'\"%@`"
        and ": " not in value
        and not value.endswith(":")
        and " #" not in value
        and not (flow and any(c in value for c in ",[]{}"))
        and not trap(value)
    )
    return str(value) if plain else json.dumps(str(value), ensure_ascii=False)


def key(text):
    return json.dumps(text) if trap(text) else text


def flow(value):
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key(k)}: {flow(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(flow(item) for item in value) + "]"
    return scalar(value, True)


def has_long(value):
    if isinstance(value, dict):
        return any(has_long(one) for one in value.values())
    if isinstance(value, list):
        return any(has_long(one) for one in value)
    return isinstance(value, Long)


def wrapped(text, room, pad):
    """A flow text over several lines, broken after commas outside quotes."""
    lines, line, quoted, since = [], "", False, 0
    for at, c in enumerate(text):
        line += c
        if c == '"' and (at == 0 or text[at - 1] != "\\"):
            quoted = not quoted
        if c == "," and not quoted and len(line) - since > room:
            lines.append(line)
            line = ""
        if c == " " and line == " ":
            line = ""
    lines.append(line)
    return ("\n" + pad).join(lines)


def block(lines, value, depth, width):
    """Appends a map as a block; what is short enough becomes flow."""
    pad = "  " * depth
    for name, inner in value.items():
        put(lines, f"{pad}{key(name)}:", inner, depth, width)


def put(lines, head, inner, depth, width):
    pad = "  " * (depth + 1)
    if isinstance(inner, Long):
        lines.append(f"{head} |")
        lines.extend(pad + line for line in inner.split("\n"))
        return
    if not isinstance(inner, (dict, list)):
        lines.append(f"{head} {scalar(inner, False)}")
        return
    if not has_long(inner):
        text = flow(inner)
        nested = any(isinstance(one, (dict, list)) for one in (inner.values() if isinstance(inner, dict) else inner))
        short = len(head) + len(text) < width
        if not inner or short or (not nested and len(text) < width * 2):
            lines.append(f"{head} " + (text if short else wrapped(text, width - 20, pad + "  ")))
            return
    lines.append(head)
    if isinstance(inner, dict):
        block(lines, inner, depth + 1, width)
        return
    for item in inner:
        if isinstance(item, dict) and (has_long(item) or len(pad) + len(flow(item)) > width):
            first = len(lines)
            block(lines, item, depth + 2, width)
            lines[first] = f"{pad}- {lines[first].lstrip()}"
        else:
            lines.append(f"{pad}- " + (flow(item) if isinstance(item, (dict, list)) else scalar(item, False)))


# ---------------------------------------------------------------- words

MAKERS = ["Pell", "Tarn", "Oriel", "Halden", "Dunmarsh", "Thornel", "Corvane", "Kestow", "Halsby"]
SELLERS = ["Quay Parts", "a breaker up north", "the dealer's old stock", "a hose shop", "the spring works", "an autojumble"]
PEOPLE = ["builder", "builder", "builder", "helper"]
AREAS = {
    "engine": ["Cylinder head", "Cam cover", "Timing cover", "Water neck", "Oil pump", "Sump", "Engine bracket",
               "Front pulley", "Flywheel", "Exhaust manifold", "Inlet manifold", "Oil filter housing", "Dipstick tube",
               "Cam bearing cap", "Tensioner", "Idler pulley"],
    "fuel": ["Injector", "Fuel rail", "Fuel pump", "Tank sender", "Filler neck", "Return pipe", "Pressure regulator",
             "Fuel filter", "Throttle body", "Breather valve"],
    "cooling": ["Radiator", "Thermostat", "Coolant pump", "Top hose", "Bottom hose", "Fan shroud", "Expansion tank",
                "Heater tap", "Oil cooler", "Fan motor"],
    "gearbox": ["Gearbox bracket", "Clutch plate", "Release bearing", "Selector rod", "Propshaft flange", "Bell housing",
                "Speed drive", "Output seal", "Shift lever", "Gearbox mount"],
    "electrical": ["Control unit", "Coil", "Crank sensor", "Coolant sensor", "Map sensor", "Knock sensor", "Relay",
                   "Alternator", "Starter", "Air meter", "Lamp switch", "Fuel level gauge", "Key reader"],
    "chassis": ["Front caliper", "Wheel hub", "Lower arm", "Track rod", "Rack mount", "Rear spring", "Damper",
                "Master cylinder", "Brake pipe", "Handbrake lever", "Anti-roll bar link", "Steering joint"],
    "cabin": ["Pedal box", "Instrument panel", "Heater box", "Wiper motor", "Window winder", "Seat rail",
              "Steering column", "Switch panel", "Door catch", "Carpet trim"],
}
MATERIAL = {"hose": "rubber", "seal": "rubber", "head": "aluminium", "manifold": "cast iron", "spring": "spring steel",
            "bearing": "bearing", "hub": "hardened steel", "pipe": "copper", "housing": "aluminium"}
NOTES = [
    "came out of the van with the old hose still on it",
    "paint line is faint, look at it under the lamp",
    "measured twice, 0.04 mm apart – good enough",
    "the long bolt goes at the front, where the bracket is 12 mm thicker",
    "feels notchy near the end of its travel",
    "wants a new seal before it goes on for good",
    "thread runs freely by hand for all of its 18 mm",
    "Ø 22 mm hole is out of round by about 80 µm",
    "bag is torn, count again before use",
    "the ear was bent and has been set straight, ±0.5° by eye",
    "same as the one on the other side, but for the colour dot",
    "helper has the drawing",
    "cleaned in the small tank, 20 min at 60 °C",
    "needs the thin spanner (13 mm across, ground down)",
    "see the page in the folder on the shelf",
    "do not tighten before the loom is in: it can't be reached after",
    "rattled on the bench, quiet once the shim was in",
    "the number is cast upside down, read it twice",
]
LONG = [
    "Took it apart as far as the second clip.\nThe spring sits with its closed end up; the washer is cupped.\nLeft in the tray under the window.",
    "Order matters here:\n  1. the sleeve\n  2. the bracket, loose\n  3. the long bolt, 24 N·m\nThen look at the gap again.",
    "Sounds right at idle, hunts a little when warm.\nCheck the air meter's earth before anything else (0.2 Ω or less).",
]
COMMENTS = [
    "from the box under the bench", "look again when the engine is out", "measured with the good gauge, ±0.02 mm",
    "numbers read off the casting", "was 24 N·m in the old book", "to sort: which of the two is the later one?",
    "see the picture", "---- checked up to here ----", "helper's writing: \"long ear to the front\"",
]
COLOURS = ["BK", "BN", "RD", "OG", "YE", "GN", "BU", "VT", "GY", "WH", "PK"]
SPOTS = ["bulkhead", "bay-left", "bay-right", "rail-left", "rail-right", "tunnel", "boot-floor", "slam-panel", "door-left",
         "door-right", "dash-left", "dash-right", "battery-tray", "rear-panel", "seat-cross-member", "arch-front-left"]
TOOLS = ["insert-tap-m10", "thin-spanner-13", "bore-gauge", "crimp-pliers", "pin-pusher", "spring-jaws", "seal-driver",
         "dial-gauge", "flare-tool", "gap-gauge"]
# Thread, torque in N·m, wrench, across flats.
THREADS = [("M6", 10, "small", 10), ("M8", 24, "middle", 13), ("M10x1.25", 46, "middle", 14), ("M10", 44, "middle", 16),
           ("M12x1.25", 80, "middle", 17), ("M14x1.5", 130, "large", 19)]
# What a wire carries, its size, the fuse.
LOADS = [("5 mA", "0.5 mm2", "5 A"), ("0.8 A", "0.75 mm2", "5 A"), ("3 A", "1 mm2", "7.5 A"), ("6 A", "1.5 mm2", "10 A"),
         ("11 A", "2.5 mm2", "15 A"), ("16 A", "4 mm2", "20 A")]
SIGNALS = ["coolant temperature", "throttle position", "crank sensor", "cam sensor", "knock", "air temperature",
           "oil pressure lamp", "wheel speed", "fuel level", "brake lamp switch", "clutch switch", "reverse lamp switch",
           "wiper park", "washer pump", "horn", "heater fan", "rear lamp left", "rear lamp right", "dip beam", "main beam",
           "instrument light", "charge lamp", "starter relay", "fuel pump", "fan relay", "injector 1", "coil 3"]


def slug(text):
    return re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-")


# ---------------------------------------------------------------- the build


class Build:
    def __init__(self, records, seed):
        self.random = random.Random(seed).random
        self.count = shares(records)
        self.ids = {}
        self.kinds = {kind: [] for kind in SHARES}
        self.outline()
        self.make_donors()
        self.make_fastener_outline()
        self.make_assemblies()
        self.make_parts()
        self.make_jobs()
        self.make_fasteners()
        self.make_routes()
        self.make_electrics()
        self.make_clearances()
        self.make_decisions()
        self.make_photos()

    # Chance.

    def below(self, top):
        return int(self.random() * top)

    def among(self, items):
        return items[self.below(len(items))]

    def chance(self, share):
        return self.random() < share

    def between(self, low, high):
        return low + self.below(high - low + 1)

    def some(self, items, number):
        items = list(items)
        taken = []
        while items and len(taken) < number:
            taken.append(items.pop(self.below(len(items))))
        return taken

    def day(self, earliest=None, span=700):
        """A day not after the last one; after `earliest` if one is named."""
        if earliest is None:
            date = LAST_DAY - datetime.timedelta(days=1 + self.below(span))
        else:
            date = datetime.date.fromisoformat(earliest) + datetime.timedelta(days=1 + self.below(20))
        return Day(min(date, LAST_DAY).isoformat())

    def number(self, number):
        """A part number; some of them are traps for readers of YAML."""
        form = self.below(8)
        if form == 0:
            return Quoted(f"0{number:05d}")
        if form == 1:
            return Quoted(f"{number}e{self.below(9)}")
        if form == 2:
            return Quoted(f"{number}.{self.below(9)}0")
        head = "".join("ABCDEGHKLPQRSTVWX"[self.below(17)] for _ in range(2))
        return Quoted(f"{head}-{number:05d}") if form < 6 else Quoted(f"{self.between(10, 99)}-{head}-{number}")

    def torque(self, newton):
        form = self.below(10)
        if form < 7:
            return f"{newton} N·m"
        if form == 7:
            return f"{newton} Nm"
        return f"{round(newton / 1.35582)} lb-ft"

    def source(self):
        return {"in": self.among(["pell-16", "tarn-body", "gearbox-sheet"]),
                "page": Quoted(f"{self.between(1, 12)}-{self.between(1, 60)}")}

    def sometimes(self, record, share=0.3):
        """A note at the end of a record."""
        if self.chance(share):
            if self.chance(0.08):
                record["note"] = Long(self.among(LONG))
            else:
                record["note"] = self.among(NOTES)
        return record

    # What there is, before what it says.

    def outline(self):
        areas = list(AREAS)
        parts, assemblies = self.count["parts"], self.count["assemblies"]
        self.assemblies = []
        for at in range(assemblies):
            area = areas[at * len(areas) // assemblies]
            self.assemblies.append({"id": f"{area}-{at + 1}", "area": area, "at": at, "places": {}, "pieces": {},
                                    "stage": self.among(["bench", "mock-up", "mock-up", "final"])})
        self.parts = []
        for at in range(parts):
            assembly = self.assemblies[at * assemblies // parts]
            noun = self.among(AREAS[assembly["area"]])
            part = {"id": f"{slug(noun)}-{at + 1}", "name": noun, "number": self.number(1000 + at * 7),
                    "assembly": assembly, "each": self.chance(0.07), "plug": None}
            place = slug(noun)
            if place in assembly["places"]:
                place = f"{place}-{chr(ord('b') + len(assembly['places']) % 20)}"
            part["place"] = place
            if place not in assembly["places"]:
                assembly["places"][place] = part
            else:
                part["place"] = None
            self.parts.append(part)
        self.photo_ids = [f"p-{at + 1:04d}" for at in range(self.count["photos"])]

    def add(self, kind, name, record):
        self.kinds[kind].append((name, record))

    def make_donors(self):
        self.donors = []
        words = ["van", "hatch", "estate", "saloon", "pick-up", "engine", "lot", "yard"]
        for at in range(self.count["donors"]):
            maker, word = self.among(MAKERS), self.among(words)
            name = f"{maker.lower()}-{slug(word)}-{at + 1}"
            kind = {"engine": "engine", "lot": "lot", "yard": "breaker"}.get(word, "vehicle")
            donor = {"kind": kind, "maker": maker}
            if kind == "vehicle":
                donor["model"] = f"{maker} {word}"
                donor["chassis-number"] = Quoted(f"{maker[:2].upper()}-{self.between(10000, 99999)}")
                donor["ran"] = f"{self.between(40, 240)}000 km"
            donor["year"] = self.between(1989, 2004)
            if kind in ("vehicle", "engine"):
                donor["engine-number"] = Quoted(f"{maker[0]}16-{self.between(10000, 99999)}")
            donor["price"] = f"{self.between(20, 900)} EUR"
            day = self.day()
            if self.chance(0.4):
                donor["history"] = [{"when": day, "what": self.among(["timing belt changed", "stood in a barn", "hit at the rear",
                                                                       "welded at both sills"]),
                                     "according-to": "the seller"}]
            donor["bought"] = {"from": self.among(SELLERS), "when": day, "price": donor["price"]}
            donor["kept-in"] = self.among(["yard", "left bay", "behind the shed", "gone, only parts left"])
            self.donors.append(name)
            self.add("donors", name, self.sometimes(donor, 0.5))

    def make_fastener_outline(self):
        self.bolts, self.nuts, self.fasteners = {}, {}, []
        for at in range(self.count["fasteners"]):
            # The first few are one bolt of each thread, so that every joint finds its own.
            thread, torque, wrench, flats = THREADS[at % len(THREADS)]
            size = re.match(r"M(\d+)", thread)[1]
            form = "bolt" if at < len(THREADS) or self.chance(0.6) else self.among(["nut", "washer", "stud", "screw"])
            one = {"form": form, "thread": thread, "used": 0, "wanted": 0, "batch": None, "flats": flats,
                   "length": 5 * self.between(5, 18), "size": int(size)}
            one["id"] = f"{form}-m{size}-{one['length']}-{at + 1}" if form in ("bolt", "stud", "screw") else f"{form}-m{size}-{at + 1}"
            self.fasteners.append(one)
            if form == "bolt":
                self.bolts.setdefault(thread, []).append(one)

    # Plating batches come before the joints that use what came back from them.
    def batch_of(self, fastener):
        if fastener["batch"] is None and len(self.batches) < self.count["jobs"] // 10:
            if not self.batches or len(self.batches[-1]["lines"]) >= 4:
                self.batches.append({"id": f"plating-{len(self.batches) + 1}", "lines": [], "sent": self.day(None, 500)})
            batch = self.batches[-1]
            batch["lines"].append(fastener)
            fastener["batch"] = batch
        return fastener["batch"]

    def make_assemblies(self):
        self.batches = []
        for one in self.assemblies:
            self.add("assemblies", one["id"], self.assembly(one))

    def assembly(self, one):
        record = {"name": f"{one['area'].capitalize()} group {one['at'] + 1}"}
        earlier = [other for other in self.assemblies[max(0, one["at"] - 12):one["at"]] if other["area"] == one["area"]]
        parent = self.among(earlier) if earlier and self.chance(0.6) else None
        record["in"] = parent["id"] if parent else "car"
        rest = [other for other in earlier if other is not parent]
        if rest and self.chance(0.4):
            record["after"] = [self.among(rest)["id"]]
        one["day"] = self.day()
        if not parent and one["stage"] != "bench":
            record["mounted"] = [{"as": "mock-up", "when": one["day"], "by": self.among(PEOPLE)}]
        places = {}
        for name, part in one["places"].items():
            place = {"takes": [part["number"]]}
            if part["each"]:
                place = {"each": "cylinder", **place, "set": True}
            elif self.chance(0.15):
                place["way-round"] = self.among(["long ear to the front", "dot up", "arrow towards the pulley", "open end down"])
            if self.chance(0.12):
                mate = self.among([other for other, its in one["places"].items() if not its["each"]] or [None])
                if mate and mate != name and self.photo_ids:
                    place["marks"] = [{"with": f"{one['id']}/{mate}", "how": self.among(["two scribed lines", "one white paint line"]),
                                       "photo": self.among(self.photo_ids)}]
            places[name] = place
        if places:
            record["places"] = places
        # Only one piece each can be clamped by name.
        single = [name for name, part in one["places"].items() if not part["each"]]
        joints = {}
        for _ in range(self.between(1, 2) if len(single) > 1 else 0):
            pair = self.some(single, 2)
            joints.setdefault(pair[0], self.joint(one, pair))
        if joints:
            record["joints"] = joints
        one["joints"] = joints
        if one["stage"] == "mock-up" and self.chance(0.3):
            record["blanks"] = [{"what": self.among(["rag", "plug", "cap", "tape"]), "where": self.among(["intake port 2", "oil hole", "pipe end"]),
                                 "put-in": one["day"]}]
        if self.chance(0.2):
            record["next-time"] = "put the " + self.among(["bracket", "pipe", "loom"]) + " on before this one"
        return self.sometimes(record)

    def joint(self, one, pair):
        thread, newton, wrench, _ = self.among(THREADS)
        bolt = self.among(self.bolts.get(thread) or [one for ones in self.bolts.values() for one in ones])
        thread, newton, wrench, _ = next(row for row in THREADS if row[0] == bolt["thread"])
        depth = min(2 * bolt["size"] + 6, bolt["length"])
        turn = self.chance(0.3)
        last = self.torque(newton)
        steps = [self.torque(max(6, newton // 3)), last] if newton > 20 else [last]
        if turn:
            steps.append(f"turn {self.among([45, 60, 90])} deg")
        threads = self.among(["dry", "oiled"])
        names = self.some(["front", "rear", "top", "bottom", "upper-left", "upper-right", "lower-left", "lower-right"], self.between(2, 5))
        joint = {
            "clamps": [f"{one['id']}/{name}" for name in pair],
            "grip": f"{bolt['length'] - depth + 5} mm",
            "into": {"material": self.among(["aluminium", "cast iron", "steel"]), "depth": f"{depth} mm", "blind": True},
            "steps": steps,
            "threads": threads,
            "source": self.source(),
            "order": names,
        }
        holes = {}
        batch = self.batch_of(bolt) if one["stage"] == "final" and self.chance(0.5) else None
        for name in names:
            hole = {"calls-for": bolt["id"]}
            bolt["wanted"] += 1
            if one["stage"] == "final":
                bolt["used"] += 1
                done = {"as": "final", "when": one["day"], "steps": len(steps), "with": wrench, "set": last, "threads": threads}
                if batch:
                    done["hardware"] = batch["id"]
                    batch["used"] = max(batch.get("used", ""), one["day"])
                else:
                    done["new"] = True
                done["by"] = "builder"
                done["checked-by"] = "helper"
                hole["done"] = [done]
            elif one["stage"] == "mock-up":
                hole["done"] = [{"as": "mock-up", "when": one["day"], "steps": 1, "by": self.among(PEOPLE)}]
            holes[name] = hole
        joint["holes"] = holes
        return joint

    def make_parts(self):
        for at, part in enumerate(self.parts):
            self.add("parts", part["id"], self.part(at, part))

    def part(self, at, part):
        assembly = part["assembly"]
        record = {"name": part["name"], "number": part["number"], "maker": self.among(MAKERS)}
        if self.chance(0.2):
            record["also"] = {self.number(1003 + at * 7): {"way": self.among(["may stand for it", "either way", "replaces it"]),
                                                           "source": self.source()}}
        last = slug(part["name"]).split("-")[-1]
        if last in MATERIAL:
            record["material"] = MATERIAL[last]
        if assembly["area"] == "electrical" and self.chance(0.2):
            record["suits"] = {"ignition": "coil-per-cylinder"}
        what, least, most, unit = self.among([("flow", 175, 190, "cc/min"), ("resistance", 12, 16, "ohm"), ("runout", 1, 8, "thou"),
                                              ("wear", 0, 0.4, "mm"), ("hardness", 60, 75, "Shore A")])
        measured = self.chance(0.35)
        if measured:
            record["limits"] = {what: {"least": f"{least} {unit}", "most": f"{most} {unit}", "source": self.source()}}
        pieces = {}
        number = 4 if part["each"] and part["place"] else 1
        for mark in range(number):
            place = f"{assembly['id']}/{part['place']}" if part["place"] else None
            if part["each"] and place:
                place = f"{place}-{mark + 1}"
            pieces[f"{part['name'][0]}{mark + 1}"] = self.piece(part, place, (what, least, most, unit) if measured else None)
        for spare in range(self.below(3) if self.chance(0.5) else 0):
            pieces[f"S{spare + 1}"] = self.piece(part, None, None)
        record["pieces"] = pieces
        part["marks"] = list(pieces)
        if self.chance(0.3):
            record["weight"] = f"{self.between(2, 90) / 10} kg"
        if self.chance(0.3):
            record["source"] = self.source()
        if self.chance(0.1) and self.photo_ids:
            record["photos"] = self.some(self.photo_ids, 2)
        return self.sometimes(record, 0.25)

    def piece(self, part, place, measured):
        assembly = part["assembly"]
        donor = self.chance(0.7)
        piece = {}
        if donor:
            piece["donor"] = self.among(self.donors)
        piece["grade"] = self.among(["genuine", "genuine", "maker's supplier"])
        piece["newness"] = "used" if donor else self.among(["new", "old stock"])
        piece["condition"] = "serviceable" if place and assembly["stage"] == "final" else self.among(["unchecked", "serviceable", "serviceable"])
        if piece["condition"] == "serviceable":
            piece["because"] = self.among(["turns freely", "no cracks under the lamp", "within the book's limits", "new in its bag"])
        if self.chance(0.2):
            piece["stamped"] = Quoted(f"{self.between(1000, 99999):06d}")
        before = Day((datetime.date.fromisoformat(assembly["day"]) - datetime.timedelta(days=self.between(3, 40))).isoformat())
        if measured:
            what, least, most, unit = measured
            share = (1 + self.below(8)) / 10
            figure = round(least + (most - least) * share, 2 if most < 1 else 1)
            piece["readings"] = [{"what": what, "is": f"{figure:g} {unit}", "when": before, "at": f"{self.between(12, 24)} degC",
                                  "how": self.among(["bench at 3 bar", "good gauge, three places", "meter, leads held off"]),
                                  "by": self.among(PEOPLE)}]
        if self.chance(0.4):
            piece["treated"] = [{"what": self.among(["cleaned", "taken apart", "painted", "tested"]), "when": before,
                                 "by": self.among(PEOPLE)}]
        if not donor:
            piece["bought"] = {"from": self.among(SELLERS), "when": before, "price": f"{self.between(3, 180)} EUR",
                               "receipt": f"folder 2, sheet {self.between(1, 90)}"}
        if place:
            piece["goes"] = place
            if assembly["stage"] == "mock-up":
                piece["fitted"] = [{"as": "mock-up", "when": assembly["day"]}]
            elif assembly["stage"] == "final":
                piece["fitted"] = [{"as": "mock-up", "when": before, "until": assembly["day"]},
                                   {"as": "final", "when": assembly["day"], "by": "builder"}]
        else:
            piece["keep"] = "spare"
            piece["kept-in"] = f"box {self.between(1, 30)}"
        return self.sometimes(piece, 0.12)

    def make_jobs(self):
        jobs = []
        for batch in self.batches:
            sent = Day(min(batch["sent"], batch.get("used", batch["sent"])))
            sent = Day((datetime.date.fromisoformat(sent) - datetime.timedelta(days=30)).isoformat())
            back = self.day(sent)
            lines = []
            for fastener in batch["lines"]:
                lines.append({"what": f"fasteners/{fastener['id']}", "out": fastener["wanted"] + 4, "back": fastener["wanted"] + 4,
                              "baked": "8 h"})
            jobs.append((batch["id"], {"kind": "send-out", "process": "zinc", "to": "the plater", "sent": sent,
                                       "due": back, "came-back": back, "closed": back, "lines": lines}))
        done = []
        while len(jobs) < self.count["jobs"]:
            at = len(jobs) + 1
            kind = self.among(["bench", "bench", "bench", "bench", "order", "order", "trial", "check"])
            name, job = getattr(self, f"{kind}_job")(at, jobs, done)
            jobs.append((name, self.sometimes(job)))
        self.jobs = [name for name, _ in jobs]
        for name, job in jobs:
            self.add("jobs", name, job)

    def bench_job(self, at, jobs, done):
        part = self.among(self.parts)
        name = f"bench-{at}"
        state = self.among(["open", "half done", "waiting", "done"])
        job = {"kind": "bench", "does": f"{self.among(['clean and look over', 'fit a new seal to', 'thread insert in', 'measure', 'make a bracket for'])} "
                                        f"the {part['name'].lower()}", "state": state}
        day = self.day()
        if state == "half done":
            job["left-as"] = self.among(["drilled and not tapped", "washed, lies in the tray", "apart, springs in the tin"])
        if state == "done":
            job["done"] = day
            done.append((name, day))
        else:
            job["needs"] = [f"tools/{self.among(TOOLS[1:])}"]
            if jobs and self.chance(0.4):
                job["needs"].append(f"jobs/{self.among(jobs)[0]}")
        job["about"] = [f"parts/{part['id']}/{part['marks'][0]}"]
        job["takes"] = f"{self.among(['0.5', '1', '1.5', '2', '3', '45 min', '90 min'])}"
        if "min" not in job["takes"]:
            job["takes"] += " h"
        job["hands"] = self.between(1, 2)
        if state in ("half done", "done"):
            before = Day((datetime.date.fromisoformat(day) - datetime.timedelta(days=self.below(9))).isoformat())
            job["spent"] = [{"when": before, "for": "1.5 h", "by": "builder"}]
            if self.chance(0.4):
                job["spent"].append({"when": day, "for": "40 min", "by": self.among(PEOPLE)})
        return name, job

    def order_job(self, at, jobs, done):
        ordered = self.day()
        arrived = self.day(ordered)
        came = arrived < LAST_DAY.isoformat() and self.chance(0.8)
        job = {"kind": "order", "from": self.among(SELLERS), "ordered": ordered, "promised": arrived}
        if came:
            job["arrived"] = arrived
        job["return-by"] = Day((datetime.date.fromisoformat(arrived) + datetime.timedelta(days=30)).isoformat())
        lines = []
        for part in [self.among(self.parts) for _ in range(self.between(1, 4))]:
            count = self.between(1, 4)
            line = {"what": f"parts/{part['id']}", "count": count, "price": f"{self.between(2, 120)}.{self.between(10, 99)} EUR"}
            if came:
                line["came"] = count
            lines.append(line)
        job["lines"] = lines
        return f"order-{at}", job

    def trial_job(self, at, jobs, done):
        assembly = self.among(self.assemblies)
        job = {"kind": "trial", "as": "mock-up", "when": self.day(), "about": [f"assemblies/{assembly['id']}"],
               "expect": self.among(["drops in with the hoses on", "clears the rail by 10 mm", "turns over by hand"]),
               "found": self.among(["does not", "it does, just", "fouls at full lock"]),
               "so": self.among(["hoses go on after", "a 3 mm shim under the mount", "nothing to do"])}
        return f"trial-{at}", job

    def check_job(self, at, jobs, done):
        day = self.day()
        job = {"kind": "check", "does": "look over before power", "when": day, "checks": []}
        for _ in range(self.between(1, 4)):
            part = self.among(self.parts)
            job["checks"].append({"what": self.among(["earth", "continuity", "plugs", "shorts"]),
                                  "at": f"parts/{part['id']}", "should": self.among(["below 0.5 Ω", "closed", "in and latched"]),
                                  "found": "good", "when": day, "by": self.among(PEOPLE)})
        return f"check-{at}", job

    def make_fasteners(self):
        for one in self.fasteners:
            form = one["form"]
            record = {"form": form}
            if form in ("bolt", "screw"):
                record["head"] = self.among(["hex", "flange", "socket"])
            if form == "washer":
                record["inside"] = f"{one['size'] + 0.5} mm"
                record["outside"] = f"{one['size'] * 2 + 1} mm"
                record["thickness"] = f"{one['size'] / 5:g} mm"
            else:
                record["thread"] = one["thread"]
            if form in ("bolt", "screw", "stud"):
                record["length"] = f"{one['length']} mm"
            if form == "stud":
                record["set-in"] = f"{one['size'] * 2} mm"
            if form in ("bolt", "nut", "screw"):
                record["across-flats"] = f"{one['flats']} mm"
            if form != "washer":
                record["class"] = Quoted(self.among(["8", "10"]) if form == "nut" else self.among(["8.8", "10.9"] if not one["batch"] else ["8.8"]))
            record["finish"] = "zinc" if one["batch"] else self.among(["plain", "zinc", "zinc flake", "phosphate"])
            if form == "nut" and self.chance(0.4):
                record["locking"] = "nylon"
                record["once"] = True
            record["have"] = one["wanted"] + self.between(2, 12) + (4 if one["batch"] else 0)
            if one["used"]:
                record["used"] = one["used"]
            if one["batch"]:
                record["plated-in"] = one["batch"]["id"]
            record["kept-in"] = f"drawer {self.between(1, 40)}"
            if self.chance(0.3):
                record["source"] = self.source()
            self.add("fasteners", one["id"], self.sometimes(record))

    def make_routes(self):
        self.routes = []
        for at in range(self.count["routes"]):
            length = 10 * self.between(30, 260)
            start = self.among(SPOTS)
            end = self.among([spot for spot in SPOTS if spot != start]) if self.chance(0.5) else self.among(self.assemblies)["id"]
            name = f"{start}-run-{at + 1}"
            self.routes.append((name, length))
            record = {"from": start, "to": end, "length": f"{length} mm",
                      "measured": {"when": self.day(), "as": "mock-up", "how": self.among(["cord", "tape", "the old loom"])}}
            if self.chance(0.5):
                hole = self.between(18, 40)
                record["through"] = [{"hole": self.among(SPOTS), "diameter": f"{hole} mm", "grommet": f"{hole - 6} mm",
                                      "from-start": f"{self.between(5, length // 10 - 5) * 10} mm"}]
            if self.chance(0.6):
                record["near"] = [{"what": self.among(["exhaust", "steering shaft", "fuel pipe", "fan belt"]), "gap": f"{self.between(60, 200)} mm"}]
            if self.chance(0.4):
                record["hottest"] = f"{self.between(50, 90)} degC"
            if self.chance(0.5):
                record["sleeve"] = self.among(["split tube", "cloth tape", "braid"])
            self.add("routes", name, self.sometimes(record))

    def make_electrics(self):
        plugs, pool, pairs, splices, earths, boxes = [], [], [], [], [], []
        count = self.count["plugs"]
        while len(plugs) < count:
            at = len(plugs) + 1
            roll = self.random() if at > 6 else (0.9, 0.8, 0.7, 0.0, 0.0, 0.0)[at - 1]
            if roll < 0.14 and len(plugs) + 2 <= count:
                cavities = self.between(4, 24)
                spot = self.among(SPOTS)
                names = [f"through-{at}-bay", f"through-{at}-cabin"]
                for name, other in (names, names[::-1]):
                    plugs.append((name, {"kind": "plug", "at": spot, "cavities": f"1-{cavities}", "mates": other,
                                         "keyed": self.among(["black", "grey", "white"])}, []))
                pairs.extend((names, number + 1) for number in range(cavities))
            elif 0.65 <= roll < 0.77:
                name = f"splice-{at}"
                route, length = self.among(self.routes)
                plugs.append((name, {"kind": "splice", "along": route, "from-start": f"{self.between(5, length // 10 - 5) * 10} mm",
                                     "made": "crimped"}, None))
                splices.append((name, route))
            elif 0.77 <= roll < 0.87:
                name = f"earth-{at}"
                plugs.append((name, {"kind": "earth", "for": "all", "at": self.among(SPOTS)}, None))
                earths.append([name, 3])
            elif 0.87 <= roll < 0.92:
                name = f"fuse-box-{at}"
                slots = self.between(8, 24)
                plugs.append((name, {"kind": "fuse-box", "at": self.among(SPOTS), "cavities": f"1-{slots}", "fuses": {}}, None))
                boxes.extend((name, slot + 1, plugs[-1][1]["fuses"]) for slot in range(slots))
            else:
                part = self.among(self.parts)
                # So many in all that every wire finds its ends, in a small folder too.
                owed = 3 * self.count["circuits"] * (at + 1) // count - len(pool)
                cavities = max(owed, self.among([2, 2, 3, 4, 6, 8, 12, 20, 40]))
                name = f"{part['id']}-plug-{at}"
                record = {"kind": "plug", "at": part["assembly"]["id"], "cavities": f"1-{cavities}"}
                if part["place"] and not part["each"] and part["plug"] is None:
                    record["of"] = f"{part['assembly']['id']}/{part['place']}"
                    part["plug"] = name
                if self.chance(0.3):
                    record["donor"] = self.among(self.donors)
                if self.chance(0.3):
                    record["seen-from"] = "wire side"
                plugs.append((name, record, [str(number + 1) for number in range(cavities)]))
                pool.extend((name, number + 1) for number in range(cavities))
        pool = self.some_of_many(pool)
        pairs = self.some_of_many(pairs)
        boxes = self.some_of_many(boxes)
        free = {name: set(cavities) for name, _, cavities in plugs if cavities}

        def cavity():
            if not pool:
                sys.exit("generate.py: more wires than cavities; a case that the shares should not allow")
            name, number = pool.pop()
            free[name].discard(str(number))
            return f"{name}/{number}"

        for at in range(self.count["circuits"]):
            does = self.among(SIGNALS)
            name = f"{slug(does)}-{at + 1}"
            roll = self.random()
            carries, size, rating = self.among(LOADS[:3])
            kind, wires = "signal", None
            if roll < 0.25 and pairs:
                (bay, cabin), number = pairs.pop()
                wires = [(cavity(), f"{cabin}/{number}", None), (f"{bay}/{number}", cavity(), None)]
            elif roll < 0.34 and splices:
                splice, route = splices.pop()
                kind = "sensor feed"
                wires = [(cavity(), splice, route)] + [(splice, cavity(), route) for _ in range(self.between(2, 3))]
            elif roll < 0.46 and any(left_on for _, left_on in earths):
                earth = self.among([one for one in earths if one[1]])
                earth[1] -= 1
                kind = "power earth"
                carries, size, rating = self.among(LOADS[2:])
                wires = [(cavity(), earth[0], None)]
            elif roll < 0.6 and boxes:
                box, slot, fuses = boxes.pop()
                kind = "power"
                carries, size, rating = self.among(LOADS[2:])
                fuses[str(slot)] = {"rating": rating, "label": does}
                wires = [(f"{box}/{slot}", cavity(), None)]
            else:
                wires = [(cavity(), cavity(), None)]
            self.add("circuits", name, self.circuit(does, kind, carries, size, wires))
        for name, record, cavities in plugs:
            idle = sorted(free.get(name, ()), key=int)
            if cavities and idle and self.chance(0.15):
                record["idle"] = {number: "plugged" for number in idle[:4]}
            if "fuses" in record:
                record["fuses"] = dict(sorted(record["fuses"].items(), key=lambda one: int(one[0])))
            if record["kind"] == "earth" and self.chance(0.4):
                record["proved"] = [{"when": self.day(), "is": "0.1 ohm", "by": "builder", "how": "meter, battery off"}]
            if self.chance(0.3):
                record["source"] = self.source()
            self.add("plugs", name, self.sometimes(record))

    def some_of_many(self, items):
        """The items in another order."""
        items = list(items)
        for at in range(len(items) - 1, 0, -1):
            other = self.below(at + 1)
            items[at], items[other] = items[other], items[at]
        return items

    def circuit(self, does, kind, carries, size, wires):
        record = {"does": does, "kind": kind, "carries": carries}
        if kind in ("power", "power earth"):
            record["duty"] = self.among(["continuous", "intermittent"])
        colour = self.among(COLOURS)
        if self.chance(0.6):
            colour += "/" + self.among([other for other in COLOURS if other != colour])
        state = self.among(["planned", "planned", "cut", "crimped", "fitted"])
        made = {}
        for mark, (start, end, route) in zip("abcdefg", wires):
            along = [self.among(self.routes)] if route is None else [next(one for one in self.routes if one[0] == route)]
            wire = {"from": start, "to": end, "along": [name for name, _ in along], "size": size, "colour": colour, "state": state}
            if state != "planned":
                wire["cut"] = f"{sum(length for _, length in along) + 10 * self.between(4, 20)} mm"
            if self.chance(0.3):
                wire["marker"] = f"W{self.between(100, 999)}-{mark}"
            made[mark] = wire
        record["wires"] = made
        if self.chance(0.4):
            record["source"] = self.source()
        return self.sometimes(record, 0.2)

    def make_clearances(self):
        for at in range(self.count["clearances"]):
            one = self.among([one for one in self.some_near(at) if one["places"]] or [None])
            thing = f"{one['id']}/{self.among(list(one['places']))}" if one else self.among(self.assemblies)["id"]
            if one and one["places"][thing.split("/")[1]]["each"]:
                thing += "-1"
            least = self.between(3, 20)
            spot = self.among(SPOTS)
            record = {"between": [thing, f"car/{spot}"], "least": f"{least} mm"}
            if self.chance(0.4):
                record["with"] = [self.among(["alternator at full travel", "full lock", "engine rocked by hand", "springs at bump"])]
            if self.chance(0.5):
                record["because"] = self.among(["the engine rocks 8 mm", "heat", "a spanner must go in"])
            readings = []
            for day in sorted(self.day() for _ in range(self.between(1, 3))):
                reading = {"is": f"{least + self.between(1, 90) / 10:g} mm", "when": day, "as": "mock-up",
                           "how": self.among(["feeler", "putty", "calliper"]), "by": self.among(PEOPLE)}
                if self.chance(0.2) and self.photo_ids:
                    reading["photo"] = self.among(self.photo_ids)
                readings.append(reading)
            record["readings"] = readings
            self.add("clearances", f"{thing.replace('/', '-')}-to-{spot}-{at + 1}", self.sometimes(record))

    def some_near(self, at):
        start = at * len(self.assemblies) // max(1, self.count["clearances"])
        return self.assemblies[start:start + 3]

    def make_decisions(self):
        for at in range(self.count["decisions"]):
            part = self.among(self.parts)
            name = f"which-{slug(part['name'])}-{at + 1}"
            state = self.among(["chosen", "chosen", "chosen", "open"])
            options = {"keep-it": {"for": [self.among(["it fits", "it is here", "known to be good"])]},
                       "buy-new": {"against": [self.among(["dear: 180 EUR and up", "six weeks", "other flange"])]}}
            if self.chance(0.3):
                options["make-one"] = {"for": ["exactly as wanted"], "against": ["two evenings at least"]}
            record = {"asks": f"Which {part['name'].lower()}?", "about": [f"parts/{part['id']}"], "options": options, "state": state}
            if state == "chosen":
                record["chosen"] = self.among(list(options))
                record["because"] = self.among(["it suits the rest of the group", "nothing else clears the rail", "price, and no other was to be had"])
                record["when"] = self.day()
                record["by"] = "builder"
            self.add("decisions", name, self.sometimes(record))

    def make_photos(self):
        for name in self.photo_ids:
            part = self.among(self.parts)
            shows = [f"parts/{part['id']}/{part['marks'][0]}"]
            if part["place"] and not part["each"]:
                shows = [f"{part['assembly']['id']}/{part['place']}"] if self.chance(0.6) else shows
            record = {"file": f"{name}.png", "taken": self.day(), "by": self.among(PEOPLE), "shows": shows,
                      "seen-from": self.among(["pulley end", "below", "driver's seat", "left side"]),
                      "taken-at": self.among(["before", "during", "after"])}
            if self.chance(0.6):
                record["caption"] = f"{part['name']}: {self.among(['marks across the joint', 'as it came off', 'which way round', 'wear on the face'])}"
            self.add("photos", name, self.sometimes(record))


def shares(records):
    """How many records of each kind; they add up."""
    count = {kind: max(2, records * share // 100) for kind, share in SHARES.items()}
    count["parts"] += records - sum(count.values())
    return count


BUILD = """# A build folder made by benches/generate.py, to measure with.
name: Wren with a Pell engine, many times over
car: {maker: Oriel, model: Wren, year: 1971, chassis-number: "OW-20114"}
trait-words: {ignition: [distributor, coil-per-cylinder], fuel-return: [with, without]}
gives: {ignition: coil-per-cylinder, supply: "12 V"}
units: {torque: N·m, length: mm, temperature: degC, money: EUR}
cylinders: 4
firing-order: [1, 3, 4, 2]
wrenches:
  small: {from: 2 N·m, to: 25 N·m, length: 280 mm, calibrated: 2026-01-10}
  middle: {from: 10 N·m, to: 110 N·m, length: 390 mm, calibrated: 2026-01-10}
  large: {from: 60 N·m, to: 350 N·m, length: 600 mm, calibrated: 2026-01-10}
"""


def build_yaml():
    lines = BUILD.rstrip("\n").split("\n")
    lines.append("tools:")
    lines += [f"  {tool}: {{state: {'lent out' if at == 0 else 'to hand'}}}" for at, tool in enumerate(TOOLS)]
    lines.append("spots:")
    lines += [f"  {spot}: {spot.replace('-', ' ')}" for spot in SPOTS]
    lines += [
        "sources:",
        '  pell-16: {title: Pell 1.6 workshop book, edition: "1997", covers: {ignition: coil-per-cylinder}}',
        '  tarn-body: {title: Tarn body book, edition: "1999"}',
        "  gearbox-sheet: {title: gearbox data sheet}",
        "people: [builder, helper]",
        "session-gap: 8 h",
        "private: [donors/*/price, jobs/**/price, build/car/chassis-number]",
    ]
    return "\n".join(lines) + "\n"


def picture():
    """The smallest picture there is: one grey point, not packed, so that all versions write it alike."""
    raw = b"\x00\x80"
    packed = b"\x78\x01\x01" + struct.pack("<HH", len(raw), len(raw) ^ 0xFFFF) + raw + struct.pack(">I", zlib.adler32(raw))

    def chunk(name, data):
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    return (b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", struct.pack(">IIBBBBB", 1, 1, 8, 0, 0, 0, 0)) + chunk(b"IDAT", packed) + chunk(b"IEND", b""))


def file_text(build, kind, records):
    """One file in one hand: somebody writes wide, somebody narrow."""
    width = build.among([40, 76, 100, 116])
    airy = build.chance(0.6)
    lines = [f"# {kind}: {len(records)} of them"]
    for name, record in records:
        if airy:
            lines.append("")
        if build.chance(0.15):
            lines.append(f"# {build.among(COMMENTS)}")
        first = len(lines)
        put(lines, f"{key(name)}:", record, 0, width)
        # A comment inside a record, before one of its own keys.
        if build.chance(0.1):
            inner = [at for at in range(first + 1, len(lines)) if re.match(r"  [a-z-]+:", lines[at])]
            if inner:
                lines.insert(build.among(inner), f"  # {build.among(COMMENTS)}")
    return "\n".join(lines) + "\n"


def main():
    options = argparse.ArgumentParser(description="Writes a believable build folder of any size.")
    options.add_argument("folder", type=Path)
    options.add_argument("--records", type=int, default=10000)
    options.add_argument("--seed", type=int, default=1)
    options = options.parse_args()
    if options.records < 100:
        sys.exit("generate.py: a hundred records at least")
    if options.folder.exists() and any(options.folder.iterdir()):
        sys.exit(f"generate.py: {options.folder} is not empty")
    build = Build(options.records, options.seed)
    texts = {"build.yaml": build_yaml()}
    areas = list(AREAS)
    total = 0
    for kind, records in build.kinds.items():
        files = max(1, round(len(records) / RECORDS_A_FILE.get(kind, 150)))
        total += len(records)
        if len({name for name, _ in records}) != len(records):
            sys.exit(f"generate.py: an id twice in {kind}")
        for at in range(files):
            some = records[at * len(records) // files:(at + 1) * len(records) // files]
            folder = f"{kind}/{areas[at * len(areas) // files]}" if files > 1 else kind
            texts[f"{folder}/{kind}-{at + 1:03d}.yaml"] = file_text(build, kind, some)
            if kind == "photos":
                for _, record in some:
                    texts[f"{folder}/{record['file']}"] = picture()
    for path, text in texts.items():
        path = options.folder / path
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
    written = [text for path, text in texts.items() if path.endswith(".yaml")]
    size = sum(len(text.encode()) for text in written)
    print(json.dumps({"files": len(written), "records": total, "bytes": size, "bytes-a-record": round(size / total)}))


if __name__ == "__main__":
    main()
