"""What each quick sum asks for, in the words of the bench, and how its answer is fetched. No sums here."""

from __future__ import annotations

from collections.abc import Mapping
from importlib import import_module
from typing import TYPE_CHECKING, Any, Final

from asmade.measure.errors import AsmadeError, Unknown
from asmade.web.asked_bench import BENCH
from asmade.web.asked_fields import Field, Sum

if TYPE_CHECKING:
    from asmade.verbs.sums.result import QuickSum


F = Field
CLEARANCE: Final = "0.03 to 0.10 mm"
CAST_IRON: Final = "cast iron 250"
STEEL: Final = "bright mild steel"
WARMTHS: Final = ("room, up to 40 C", "warm, up to 80 C", "hot, up to 120 C")
CARRIES: Final = (F("turning", "Torque it has to carry", "1.8 N m"), F("along", "Force along it has to carry", "600 N"))


def _part(name: str, title: str, mate: str, example: str) -> Sum:
    return Sum(
        name, title, f"Limits of a {name} by its class, or a {name} made to suit its {mate} as measured.", "holes",
        (
            F("text", "Size and class", example),
            F("to_suit", f"... or to suit the {mate}, measured", "15.86, or 15.86 to 15.87"),
            F("want", "Fit wanted", "running, push, press, H7/g6"),
        ),
        (
            F("clearance", "... or clearance wanted, on diameter", CLEARANCE),
            F("made", f"The {name} as measured: which class takes it in", "25.012"),
        ),
        {"text": example},
    )  # fmt: skip


_ALL: Final = (
    Sum("fit", "A fit", "Limits and clearance of a hole and shaft, by class or in the trade's words.", "fit",
        (F("text", "Size and fit", "25 H7/g6; 16 mm running; 16 for all fits"),
         F("hole", "... or the hole as measured", "15.90"), F("shaft", "and the shaft as measured", "15.86")),
        (F("clearance", "Clearance wanted, on diameter", CLEARANCE),
         F("basis", "Classes found on the basis of the", "", "hole", ("hole", "shaft")),
         F("hot", "What is left of it at", "80 C"), F("hole_material", "Material with the hole", CAST_IRON),
         F("shaft_material", "Material of the shaft", STEEL)),
        {"text": "25 H7/g6"}),
    _part("hole", "A hole", "shaft", "25 H7"),
    _part("shaft", "A shaft", "hole", "25 g6"),
    Sum("thread", "A thread", "Its sizes, limits, size over wires, and what may stand for it.", "thread",
        (F("text", "Thread", "2 BA; 1/4 x 40; M4"), F("instead", "What may stand for it", "M, BA, ME, or any")),
        (F("limits", "Limits of a class", "6g, 6H, 2A, medium screw"), F("wire", "Wires to measure over", "0.5"),
         F("over", "Reading over three wires", "5.12"), F("have", "Only of these, with commas between", "M4, 4 BA")),
        {"text": "2 BA"}),
    Sum("tap", "Tapping drill", "The drill to tap a thread, what another leaves, and the drills to pass it.", "thread",
        (F("text", "Thread", "2 BA; 1/4 x 40; M4"), F("percent", "Share of full thread wanted, per cent", "70"),
         F("drill", "What this drill leaves", "#24")),
        (F("drills", "Only of these drills, with commas between", "#24, 4.0, 4.1"),), {"text": "2 BA"}),
    Sum("drill", "A drill", "By number, letter or size: the drills near it and the hole it really cuts.", "drill",
        (F("text", "Drill or size", "#40; letter F; 3/16 in; 2.5"), F("material_name", "What is drilled", STEEL)),
        (F("series", "Near it only of", "", "", ("", "number", "letter", "fractional", "metric")),), {"text": "#40"}),
    Sum("gauge", "Sheet and wire gauge", "A gauge number or a thickness, in both gauges.", "drill",
        (F("text", "Gauge or thickness", "16 SWG; 1.6"),), (), {"text": "16 SWG"}),
    Sum("length", "A length", "In mm, inches and 64ths; brought to 20 °C.", "drill",
        (F("text", "Length", "1 3/16 in; 30 thou; 12.5"), F("unit", "A bare figure is", "", "mm", ("mm", "inch"))),
        (F("temperature", "Measured at", "28 C"), F("material_name", "Material", STEEL),
         F("tool", "Measured with a tool at", "20 C", "20 C")), {"text": "1 3/16 in"}),
    Sum("stock", "Bar and sheet", "What is sold near a size, how true it comes, what it weighs.", "stock",
        (F("text", "Size", "11/16 in; 12"), F("shape", "Shape", "round bar, hexagon bar, sheet", "round bar")),
        (F("system", "Only of", "", "", ("", "metric", "inch", "SWG", "BWG")), F("material_name", "Material", STEEL),
         F("thickness", "Thickness of a flat", "3")), {"text": "11/16 in"}),
    Sum("material", "A material", "Strength, stiffness, weight and how it cuts; each figure with its source.", "stock",
        (F("text", "Material by any of its names", "EN1A; gunmetal; silver steel"),
         F("at", "Figures that hold at this size", "12")), (F("condition", "Condition as delivered", ""),),
        {"text": "EN1A", "at": "12"}),
    Sum("speed", "Speed", "Spindle speed for a diameter, of the work turned or of the cutter.", "speed",
        (F("text", "Diameter", "20"), F("material_name", "Material", STEEL, STEEL),
         F("speeds", "Steps of your machine", "60 110 190 320")),
        (F("operation", "Operation", "turning, drilling, reaming, milling", "turning"),
         F("tool", "Tool", "", "HSS", ("HSS", "carbide")), F("machine_name", "Machine of this book's shop", "")),
        {"text": "20"}, machines=("lathe", "mill", "drilling machine")),
    Sum("press", "Press or shrink", "Pressure, stress, what it holds, force to press in, heat to shrink on.", "press",
        (F("shaft", "Diameter of the joint", "12"), F("hub", "Outside diameter of the hub", "30"),
         F("length", "Length of the joint", "14"), F("tight", "Tight by, on diameter", "0.012"),
         F("want", "... or a fit wanted", "press, drive, H7/s6")),
        (F("hole", "... or the hole as measured", "11.985"), F("pressure", "... or the pressure wanted", "40 MPa"),
         F("shaft_bore", "Bore of the shaft", "4"), F("hub_material", "Material of the hub", "", CAST_IRON),
         F("shaft_material", "Material of the shaft", "", STEEL), F("friction", "Friction", "0.05 to 0.12"),
         F("hub_rz", "Roughness Rz of the bore, µm", "6"), F("shaft_rz", "Roughness Rz of the shaft, µm", "6"),
         *CARRIES), {"shaft": "12", "hub": "30", "length": "14", "tight": "0.012"}, bundled=True),
    Sum("bond", "Bonded joint", "Gap against the product's range, what it holds, how long it takes.", "bond",
        (F("hole", "Hole", "15.90"), F("shaft", "Shaft", "15.86"), F("length", "Length of the joint", "14"),
         F("strength", "Shear strength by the data sheet", "20 MPa"),
         F("gap", "The product's gap, ON DIAMETER", "0.03 to 0.10")),
        (F("sheet", "The data sheet these are from", ""), F("hub_material", "Material with the hole", "", CAST_IRON),
         F("shaft_material", "Material of the shaft", "", STEEL),
         F("surface", "Surface", "", "turned and degreased",
           ("turned and degreased", "ground and degreased", "polished or drawn", "oily")),
         F("warmth", "In service", "", "room, up to 40 C", WARMTHS),
         F("safety", "Factor of safety", "", "2"), F("grooves", "Length taken up by grooves", "2"),
         F("at", "Of the workshop", "", "20 C"), F("working_time", "By the data sheet, until it grips", "5 min"),
         F("full_cure", "By the data sheet, to full strength", "24 h"), *CARRIES),
        {"hole": "15.90", "shaft": "15.86", "length": "14"}, bundled=True),
    Sum("pin", "Pins, keys, grub screws", "What backs a joint up, and what it carries.", "pin",
        (F("text", "Diameter of the pin, or width of the key", "3"), F("shaft", "Diameter of the shaft", "12"),
         F("length", "Let in along the joint, so long", "10"), F("height", "Height of a key", "3"),
         F("grub", "... or a grub screw", "M4; 2 BA")),
        (F("material_name", "Material of the pin", "", "silver steel"), F("shear", "Shear it may bear", "200 MPa"),
         F("crushing", "Crushing stress of the softest part", "150 MPa"), F("safety", "Factor of safety", "", "2"),
         F("turning", "Torque it has to carry", "1.8 N m")), {"text": "3", "shaft": "12"}),
)  # fmt: skip
SUMS: Final = {each.name: each for each in (*_ALL, *BENCH)}
QUESTIONS: Final = (
    ("Which drill?", ("tap", "drill")),
    ("Which thread?", ("thread",)),
    ("How tight?", ("fit", "hole", "shaft")),
    ("Will it hold?", ("press", "bond", "pin")),
    ("How fast?", ("speed", "feed")),
    ("How deep a cut?", ("power", "deflect")),
    ("How many turns?", ("index", "gears")),
    ("Where, and at what angle?", ("circle", "taper", "packing")),
    ("How big?", ("length", "square", "gauge")),
    ("How big is it, by what I measured?", ("centres", "radius", "quarter")),
    ("What is sold, and what is it like?", ("stock", "material")),
    ("Will it go round the curve?", ("curve",)),
)
SEVERAL: Final = frozenset({"have", "drills", "over", "pins", "centres", "freedom"})
FLAGS: Final = frozenset({"horns", "in_order", "all_trains"})


def answer(name: str, given: Mapping[str, str], book: str = "") -> QuickSum:
    """The quick sum of that name for what is given, as its verb has it; a machine that is named is of ``book``."""
    asked = SUMS.get(name)
    if asked is None:
        raise Unknown("quick sum", got=name, way_out=f"one of: {', '.join(SUMS)}")
    module = import_module(f"asmade.verbs.sums.{asked.module}")
    verb: Any = getattr(module, name)
    words: dict[str, Any] = {k: v for k, v in asked.filled(given).items() if v or k in (*asked.needs, "text")}
    if words.get("machine_name"):
        words["book"] = book
    for key in SEVERAL & words.keys():
        words[key] = tuple(filter(None, map(str.strip, words[key].replace(";", ",").split(","))))
    for key in FLAGS & words.keys():
        words[key] = words[key] == "yes"
    if asked.bundled:
        found: QuickSum = verb(module.Asked(**words))
    else:
        found = verb(**words)
    return found


def field_of(asked: Sum, fault: AsmadeError, given: Mapping[str, str]) -> str:
    """The field that a refusal speaks of: by what it could not read, or what the sum calls it; empty if unclear."""
    thing, got = _plain(str(getattr(fault, "thing", ""))), str(getattr(fault, "got", ""))
    same = [field.name for field in asked.fields if got and given.get(field.name, "") in (got, got.strip("(),'"))]
    if len(same) == 1:
        return same[0]
    for field in asked.fields:
        if thing and thing in (_plain(field.says), _plain(field.name), _plain(field.label)):
            return field.name
    words = set(thing.split())
    near = [field.name for field in asked.fields if words & set(_plain(f"{field.says or field.label}").split())]
    return near[0] if len(near) == 1 else ""


def _plain(text: str) -> str:
    return " ".join(text.lower().replace("_", " ").replace("--", " ").replace("...", " ").replace("-", " ").split())
