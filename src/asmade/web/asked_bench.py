"""What the sums of lathe, mill and bench ask for: cuts, indexing, gears, angles, and sizes by what was measured."""

from __future__ import annotations

from typing import Final

from asmade.web.asked_fields import Field, Sum

F = Field
STEEL: Final = "bright mild steel"
YES: Final = ("", "yes")
READS_TO: Final = F("reads_to", "A reading is good to, standard uncertainty", "0.01", says="uncertainty of a reading")
MACHINE: Final = F("machine_name", "Machine of this book's shop", "")
OPERATIONS: Final = ("turning", "drilling", "milling")

BENCH: Final = (
    Sum(
        "feed",
        "Feed",
        "The usual feed for a diameter, along the work, and the ridges it leaves.",
        "feed",
        (
            F("text", "Diameter of work, drill or cutter", "6", says="diameter"),
            F(
                "operation",
                "Operation",
                "drilling; turning, finishing; milling; reaming",
                "drilling",
                says="operation with a feed",
            ),
            F("rev_min", "Spindle, revolutions a minute", "600", says="spindle at"),
        ),
        (
            F("teeth", "Teeth of a milling cutter", "4"),
            F("nose", "Radius of the tool's nose", "0.4", says="nose radius"),
        ),
        {"text": "6", "operation": "drilling"},
        needs=("text",),
    ),
    Sum(
        "power",
        "Force and power of a cut",
        "What the cut wants, and the deepest that the motor bears.",
        "power",
        (
            F("text", "Diameter of work, drill or cutter", "40", says="diameter"),
            F("operation", "Operation", "", "turning", OPERATIONS),
            F("material_name", "What is cut", STEEL, STEEL),
            F("depth", "Depth of the cut, on the radius", "0.5", says="depth of cut"),
            F("feed", "Feed", "0.1"),
            F("motor", "Motor", "370 W; 1/2 hp"),
        ),
        (
            F("width", "How far a milling cutter is in, across", "6", says="width of cut"),
            F("teeth", "Teeth of a milling cutter", "4"),
            F("speed", "Cutting speed, m a minute", "25"),
            F("rev_min", "... or spindle, revolutions a minute", "190", says="spindle"),
            F("efficiency", "Of the motor it reaches the cut, a share", "0.7"),
            MACHINE,
        ),
        {"text": "20", "depth": "1", "feed": "0.1", "motor": "370 W"},
        needs=("text",),
        machines=("lathe", "mill"),
    ),
    Sum(
        "deflect",
        "Work that gives",
        "How much too large thin work comes out, and how far it may stand out.",
        "deflect",
        (
            F("text", "Diameter of the work", "8", says="diameter"),
            F("length", "Out of the chuck, or between centres", "40", says="length"),
            F("held", "Held", "", "chuck only", ("chuck only", "chuck and centre", "between centres")),
        ),
        (
            F("material_name", "Material", STEEL, STEEL),
            F("force", "Radial force", "20 N", says="radial force"),
            F("depth", "... or depth of the cut", "0.5", says="depth of cut"),
            F("feed", "and feed", "0.1", says="feed"),
            F("bore", "Bore, where it is hollow", "4"),
            F("allowed", "How much it may come out over, on diameter", "0.01", says="taper allowed"),
        ),
        {"text": "10", "length": "50"},
        needs=("text", "length"),
    ),
    Sum(
        "index",
        "Indexing",
        "Turns and holes for divisions or an angle: exact, or the nearest with its error.",
        "index",
        (
            F("text", "Divisions", "6"),
            F("angle", "... or an angle", "11.5; 30d 12m"),
            F("ratio", "Turns of the crank to one of the work", "40"),
        ),
        (
            F("plates_text", "Circles of each plate, plates parted by /", "15 16 17 / 21 23", says="hole circles"),
            F("direct_plate", "Holes of a plate on the spindle itself", "24", says="holes of the direct plate"),
            F("gears", "Change gears, for differential indexing", "24 2x28 32 40", says="change gears"),
            F("diameter", "Diameter, for the error along the rim", "50"),
            MACHINE,
        ),
        {"text": "7"},
        needs=("text",),
        machines=("dividing head", "rotary table"),
    ),
    Sum(
        "gears",
        "Change gears",
        "Trains that cut a pitch or a thread: exact, else with their error.",
        "gears",
        (
            F("text", "Pitch or thread", "0.75 mm; 40 tpi; M5; 2 BA", says="pitch"),
            F("leadscrew", "Leadscrew", "8 tpi; 3 mm"),
            F("owned", "Change gears that there are", "20 2x25 30 35 40", says="change gears"),
        ),
        (
            F("length", "Length of thread engaged, for the error", "10", says="length of thread"),
            F("pairs", "Pairs of gears at most", "", "2", ("1", "2", "3")),
            F("all_trains", "Also trains whose studs may not clear", "", "", YES),
            MACHINE,
        ),
        {"text": "1 mm", "leadscrew": "8 tpi", "owned": "20 2x25 30 35 40 45 50 55 60 63 65 80"},
        needs=("text",),
        machines=("lathe",),
    ),
    Sum(
        "circle",
        "Holes on a circle",
        "x and y of each, the chord to check by, dials with the backlash taken up.",
        "circle",
        (
            F("text", "How many holes", "6", says="number of holes"),
            F("diameter", "Diameter of the circle", "40", says="diameter of the circle"),
            F("start", "First hole at, from +x anticlockwise", "0", "0", says="first hole at"),
            F("dial", "Dials: a turn and a division", "2 mm / 0.02 mm"),
        ),
        (
            F("centre", "Middle of the circle from the datum", "25, 30", says="middle of the circle"),
            F("hole", "Diameter of a hole, for the metal between", "5"),
            F("past", "How far past, and back", "2", says="how far past"),
            F("in_order", "Keep the holes in their order", "", "", YES),
            MACHINE,
        ),
        {"text": "6", "diameter": "40"},
        needs=("text", "diameter"),
        machines=("mill",),
    ),
    Sum(
        "taper",
        "A taper",
        "Its angle, and how to set it by indicator, tailstock or sine bar.",
        "taper",
        (
            F("large", "Large end", "20"),
            F("small", "Small end", "18"),
            F("length", "Length of the taper", "40"),
            F("one_in", "... or 1 in, on diameter", "48", says="1 in"),
            F("angle", "... or its half angle", "1.5", says="half angle"),
        ),
        (
            F("fine", "... or the topslide for fine cuts: off the radius for 1 on the dial", "0.1", says="fine"),
            F("dial", "A division of the topslide", "0.02"),
            F("between", "Length between centres, for the tailstock", "200", says="length between centres"),
            F("travel", "Of the slide under an indicator", "50"),
            F("rollers", "Centres of a sine bar's rollers", "100", says="centres of the rollers"),
        ),
        {"large": "20", "small": "18", "length": "40"},
    ),
    Sum(
        "packing",
        "Packing for an eccentric",
        "Under one jaw of a three-jaw chuck: more than the offset, by exact geometry.",
        "packing",
        (
            F("text", "Offset wanted", "3", says="offset"),
            F("diameter", "Diameter held", "25"),
            F("thickness", "... or the offset that this packing gives", "4.5", says="packing"),
        ),
        (),
        {"text": "3", "diameter": "25"},
        needs=("text", "diameter"),
    ),
    Sum(
        "square",
        "Flats on round bar",
        "Least bar, depth of each flat, width, and over the corners.",
        "square",
        (
            F("text", "Across the flats", "8", says="size across the flats"),
            F("sides", "How many flats", "4", "4", says="number of flats"),
            F("bar", "On bar of", "12"),
        ),
        (),
        {"text": "8", "sides": "6"},
        needs=("text",),
    ),
    Sum(
        "centres",
        "Centres by measuring",
        "Over two pins, the mean of several readings, or between horns.",
        "centres",
        (
            F("over", "Readings over the pins, with commas between", "164.05, 164.07, 164.06", says="reading"),
            F("pins", "Diameter measured over, twice where the two differ", "18", says="pin"),
            F("slack", "Slack of the rod bored to it, each way", "0.06"),
        ),
        (
            F("loose", "Looseness of the pins in their holes", "0", says="looseness of the pins"),
            F("horns", "The two are between fore faces and between aft faces of horns", "", "", YES),
            READS_TO,
        ),
        {"over": "164.05, 164.07, 164.06", "pins": "18", "slack": "0.06"},
        needs=("over",),
    ),
    Sum(
        "radius",
        "Crank radius by measuring",
        "Half of the inside and outside distance of axle and pin together.",
        "radius",
        (
            F("inside", "Inside distance, axle to pin", "11.1", says="inside distance"),
            F("outside", "Outside distance, over both", "36.9", says="outside distance"),
        ),
        (
            F("sizes", "Axle and pin diameter together, to prove it", "25.8", says="axle and pin diameter together"),
            READS_TO,
        ),
        {"inside": "14.02", "outside": "34.00", "sizes": "20"},
        needs=("inside", "outside"),
    ),
    Sum(
        "quarter",
        "Quarter of a wheelset",
        "By the heights over both pins, the wheelset between centres.",
        "quarter",
        (
            F("leading", "Height over the leading crank's pin", "70.96"),
            F("following", "Height over the other pin", "71.02"),
            F("over_journal", "Height over the journal", "59"),
            F("journal", "Diameter of the journal", "18"),
            F("pin", "Diameter of the crank pins", "8", says="crank pin"),
            F("radius", "Crank radius", "24"),
        ),
        (
            F("pin_following", "Of the other pin, where it differs", "", says="following pin"),
            F("radius_following", "Of the other crank, where it differs", "", says="following radius"),
            READS_TO,
        ),
        {"leading": "70.96", "following": "71.02", "over_journal": "59.0", "journal": "18", "pin": "8", "radius": "24"},
        needs=("leading", "following", "over_journal", "journal", "pin", "radius"),
    ),
    Sum(
        "curve",
        "Curves of the track",
        "The least curve that the axles' freedom allows, and the height of an arc.",
        "curve",
        (
            F("centres", "Between neighbouring axles, from the front", "110, 110", says="axle centres"),
            F("freedom", "Freedom each way: one for all, or one for each axle", "1", says="freedom each way"),
            F("gauge", "Gauge", "127"),
            F("back_to_back", "Back-to-back", "119"),
            F("flange", "Thickness of a flange", "2.4"),
        ),
        (F("radius", "Radius of a curve, for its versine", "10000"), F("chord", "... on this chord", "1000")),
        {"centres": "110, 110", "freedom": "1"},
    ),
)
