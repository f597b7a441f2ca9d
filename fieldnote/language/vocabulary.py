"""Every word the language knows, declared once as data.

The parser, the recogniser's grammar and the page of what can be said are all derived from here and
from ``units.py``. Words are lower case, in one spelling; ``SPELLINGS`` maps the others onto it.
Where no source is named beside an entry, it is common practice of the trade.
"""

from __future__ import annotations

from fieldnote.language.commands import ANSWERS as ANSWERS
from fieldnote.language.commands import COMMANDS as COMMANDS
from fieldnote.language.commands import HEARD as HEARD

# -- numbers ---------------------------------------------------------------------------------
DIGITS = {
    "zero": "0", "oh": "0", "nought": "0", "nil": "0", "one": "1", "two": "2", "three": "3",
    "four": "4", "five": "5", "six": "6", "seven": "7", "eight": "8", "nine": "9",
}  # fmt: skip
TEENS = {
    "ten": 10, "eleven": 11, "twelve": 12, "thirteen": 13, "fourteen": 14, "fifteen": 15,
    "sixteen": 16, "seventeen": 17, "eighteen": 18, "nineteen": 19,
}  # fmt: skip
TENS = {
    "twenty": 20, "thirty": 30, "forty": 40, "fifty": 50, "sixty": 60, "seventy": 70,
    "eighty": 80, "ninety": 90,
}  # fmt: skip
SCALES = {"hundred": 100, "thousand": 1000, "million": 1000000}
REPEATS = {"double": 2, "triple": 3}
POINT = ("point", "decimal", "dot")
SIGNS = {"minus": "-", "negative": "-", "plus": ""}
DENOMINATORS = {
    "half": 2, "quarter": 4, "fourth": 4, "fifth": 5, "eighth": 8, "tenth": 10, "sixteenth": 16,
    "hundredth": 100, "thousandth": 1000, "halves": 2, "quarters": 4, "fourths": 4, "fifths": 5,
    "eighths": 8, "tenths": 10, "sixteenths": 16, "hundredths": 100, "thousandths": 1000,
}  # fmt: skip
"""Parts with an exact decimal. Thirty-seconds and sixty-fourths need "of an" behind them or a
hyphen: "thirty seconds" is a time."""
INEXACT = ("third", "thirds", "sixth", "sixths", "seventh", "sevenths", "ninth", "ninths")
"""Parts without an exact decimal: asked for again rather than rounded."""

# -- results that are not numbers ------------------------------------------------------------
OPEN = (
    "open", "open circuit", "open line", "open loop", "over limit", "over load", "over range",
    "o l", "infinite", "infinity", "infinite ohms", "infinite resistance", "no continuity",
    "dead open", "no circuit", "out of range", "open circuited", "off scale", "off the scale",
    "goes to infinity", "fully open circuit", "reads infinity", "o dot l", "o point l",
    "completely open", "no path",
)  # fmt: skip
SHORT = (
    "short", "shorted", "dead short", "short circuit", "direct short", "hard short",
    "short circuited", "shorted out", "bolted short", "shorting", "complete short", "short to",
    "shorted to", "dead short to",
)  # fmt: skip
NOTHING_READ = (
    "no short", "no shorts", "no short circuit", "not open", "not shorted", "not short",
    "no open", "no open circuit", "no fault", "no reading", "nothing", "no signal", "no volts",
    "no voltage", "no power", "dead", "no display", "blank", "no current", "no pressure",
    "no flow", "continuity", "good continuity", "has continuity",
)  # fmt: skip
"""Said of a meter or a circuit, but neither a number nor open nor short: asked for again."""
MOVABLE = (
    "valve", "door", "gate", "hatch", "cover", "lid", "damper", "vent", "window", "throttle",
    "drain", "port hole", "panel", "cabinet", "shop", "site", "tap", "cock", "shutter", "bonnet",
)  # fmt: skip
"""Things that can stand open: "open" beside them is no result of a measurement."""

# -- wires -----------------------------------------------------------------------------------
COLOURS = {
    "black": "BK", "brown": "BN", "red": "RD", "orange": "OG", "yellow": "YE", "green": "GN",
    "blue": "BU", "violet": "VT", "purple": "VT", "gray": "GY", "slate": "GY", "white": "WH",
    "pink": "PK", "gold": "GD", "turquoise": "TQ", "silver": "SR",
}  # fmt: skip
"""Letter codes of IEC 60757 (from memory; purple and slate are the trade's words for VT and GY)."""
UNCODED_COLOURS = ("tan", "beige", "cream", "magenta", "maroon")
SHADES = ("light", "dark", "pale")
"""IEC 60757 has no code for these: the wire is asked for again, or noted as a remark."""
TRACER_WORDS = ("tracer", "stripe", "striped", "trace", "band", "marker")
WIRE_WORDS = ("wire", "lead", "core", "conductor")

# -- what a value belongs to -----------------------------------------------------------------
PIN_WORDS = (
    "pin", "pins", "terminal", "terminals", "cavity", "cavities", "contact", "contacts", "post",
    "posts", "socket", "way",
)  # fmt: skip
PLURAL_PINS = ("pins", "terminals", "cavities", "contacts", "posts")
PIN_PLACES = (
    "ground", "earth", "chassis", "neutral", "frame", "battery positive", "battery negative",
    "line", "live", "case", "shield", "screen", "common", "positive", "supply",
)  # fmt: skip
LETTERS = tuple("abcdefghijklmnopqrstuvwxyz")
SPELLING_ALPHABET = (
    "alpha", "bravo", "charlie", "delta", "echo", "foxtrot", "golf", "hotel", "india", "juliet",
    "kilo", "lima", "mike", "november", "oscar", "papa", "quebec", "romeo", "sierra", "tango",
    "uniform", "victor", "whiskey", "x-ray", "yankee", "zulu",
)  # fmt: skip
"""ICAO Annex 10 spelling alphabet (from memory), in everyday spelling."""
NUMBERED = (
    "cylinder", "phase", "bank", "tank", "pump", "cell", "zone", "circuit", "channel", "sensor",
    "injector", "fuse", "relay", "wire", "number", "test point", "measuring point", "station",
    "unit", "motor", "fan", "bearing", "plug", "harness", "bolt", "stage", "string", "line",
    "loop", "coil", "winding", "valve", "compressor", "room", "bay", "connector", "lead", "core",
    "conductor", "battery", "panel", "port", "probe", "breaker", "engine", "generator", "gauge",
    "tap", "section", "level", "position", "switch", "test", "solenoid", "sender", "burner",
    "boiler", "evaporator", "thermostat", "thermocouple", "output", "input", "module", "drive",
    "axis", "belt", "wheel", "tire", "brake", "cable", "step", "sample", "nozzle", "filter",
    "rectifier", "inverter", "array", "rod", "joint", "flange", "stud",
)  # fmt: skip
"""Nouns that a number may follow as a name: "cylinder two"."""
LETTERED = ("phase", "bank", "line", "zone", "circuit", "unit", "motor", "pump")
"""Of ``NUMBERED``, those that are named by a letter too: "phase a"."""
NOUNS = (
    "open circuit voltage", "short circuit current", "first stage", "second stage", "third stage",
    "house battery", "start battery", "starting battery", "service battery", "set pressure",
    "cut in", "cut out", "cut in pressure", "cut out pressure", "start capacitor",
    "run capacitor", "low voltage", "high voltage", "low pressure", "high pressure", "low level",
    "high level", "over pressure", "ground fault", "earth fault", "hot well", "feed water",
    "top dead center", "dead band", "back pressure", "starting current", "inrush current",
    "load current", "supply voltage", "control voltage", "bus voltage", "oil level", "lift",
    "pre charge", "dew point", "wet bulb", "dry bulb", "relative humidity", "wall thickness",
    "axial play", "radial play", "heading", "course", "phase to phase", "line to line",
    "phase to neutral", "phase to earth", "phase to ground", "side", "blow by", "set point",
    "r c d", "g f c i", "p t o", "e c u", "delta t", "wind", "brake pad", "hydraulic oil",
    "raw water", "fresh water", "sea water", "wheel nut", "engine hours", "pressure drop",
    "cold junction", "test lead", "battery terminals", "battery terminal", "flow rate",
    "system voltage", "actuator", "air", "airflow", "alignment", "alternator", "ambient",
    "amplitude", "anode", "armature", "arm", "array", "assembly", "axle", "backlash", "backup",
    "ballast", "bilge", "blade", "bleed", "block", "blower", "body", "boost", "boot",
    "bottom dead center", "box", "bracket", "brush", "bulb", "bus", "busbar", "bush", "bushing",
    "bypass", "cable", "cabinet", "cam", "capacitor", "capacity", "carriage", "casing", "cathode",
    "chain", "chamber", "charge", "charger", "charging", "check", "chilled", "chiller", "clamp",
    "clearance", "clip", "closing", "clutch", "cold room", "cold store", "collar", "column",
    "combustion", "compression", "concentration", "condenser", "conductivity", "consumption",
    "contactor", "control", "controller", "coolant", "cooler", "cooling", "cord", "counter",
    "coupling", "cover", "crank", "crankcase", "cranking", "current", "cutout", "damper",
    "deflection", "delivery", "demand", "depth", "diaphragm", "diesel", "differential", "diode",
    "discharge", "display", "distance", "draft", "drain", "draw", "drop", "drum", "duct", "duty",
    "duty cycle", "earth fault loop", "edge", "efficiency", "electrode", "element", "end",
    "end float", "end play", "engine oil", "exhaust", "expansion", "face", "feed", "feedback",
    "feeler", "field", "fill", "final drive", "fitting", "flow", "fluid", "flywheel", "float",
    "force", "forward bias", "freezer", "frequency", "fridge", "fuel", "fuse box", "fuse holder",
    "gap", "gas", "gasket", "gear", "gearbox", "glow plug", "governor", "grease", "grid",
    "ground", "guard", "guide", "harness", "head", "header", "heat", "heater", "heating",
    "height", "holder", "hood", "hose", "hot side", "hour meter", "hours", "housing", "hub",
    "humidity", "hydraulic", "idle speed", "ignition", "impedance", "impeller", "indicator",
    "inductance", "inlet", "insulation", "intake", "intercooler", "jacket", "jet", "journal",
    "junction", "junction box", "key", "keyway", "lamp", "leak", "leakage", "length", "lever",
    "lid", "lift pump", "light", "limit switch", "liner", "link", "liquid", "lock", "lubrication",
    "magnet", "main", "mains", "manifold", "margin", "mass", "mast", "master", "meter",
    "moisture", "mount", "mounting", "needle", "negative terminal", "noise", "nut", "offset",
    "oil", "opening", "orifice", "outlet", "oven", "oxygen", "packing", "pad", "pedal",
    "phase angle", "pickup", "pinion", "pipe", "piston", "pitch", "plate", "play", "plug",
    "plunger", "pole", "positive terminal", "pot", "potentiometer", "power", "power factor",
    "preload", "pressure", "primary", "prop shaft", "propeller", "pulley", "pull", "pulse",
    "pulse width", "purge", "quill", "rack", "radiator", "rail", "ram", "range", "rate", "ratio",
    "receiver", "reference", "refrigerant", "regulator", "reservoir", "resistance", "resistor",
    "return", "ride height", "rim", "ring", "ripple", "roller", "room", "rotor", "rudder",
    "rudder angle", "runout", "saddle", "salinity", "screw", "seal", "seat", "secondary",
    "segment", "servo", "setting", "shaft", "sheave", "shim", "shoe", "shore power", "shroud",
    "side clearance", "signal", "slack", "sleeve", "slip", "slip ring", "socket", "spark plug",
    "specific gravity", "speed", "spindle", "spring", "sprocket", "stack", "starter", "stator",
    "stator winding", "steering", "stem", "strainer", "stroke", "stub", "subcooling", "suction",
    "sump", "superheat", "supply", "surface", "swing arm", "tachometer", "tail", "tappet",
    "temperature", "tension", "tensioner", "terminal block", "thermistor", "thickness",
    "throttle", "throttle position", "thrust", "tie rod", "tilt", "timing", "tip", "tooth",
    "torque", "track", "transducer", "transformer", "transmission", "travel", "tread",
    "tread depth", "trim", "trip", "trip time", "truck", "tube", "turbo", "vacuum",
    "valve clearance", "vane", "velocity", "vent", "vessel", "vibration", "viscosity", "voltage",
    "voltage drop", "volume", "wall", "warp", "washer", "waste", "water", "wear", "weight",
    "well", "wheel", "width", "winch", "wiper", "wick", "yaw", "yoke", "rope", "diameter", "glycol",
    "hydraulics", "bonding", "defrost", "error", "leveling", "condensing", "evaporating", "angle",
)  # fmt: skip
"""Names of parts and measured quantities; several in a row make a label."""
SPOKEN_NAMES = (
    "resistance", "voltage", "current", "pressure", "temperature", "level", "speed", "torque",
    "flow", "frequency", "power", "angle", "oil", "coolant", "fuel", "water", "air", "inlet",
    "outlet", "supply", "return", "suction", "discharge", "compression", "battery", "insulation",
    "exhaust", "engine", "motor", "pump", "tank", "bearing", "rudder", "ground", "signal",
    "vacuum", "clearance", "gap", "hours", "humidity", "vibration", "superheat", "subcooling",
    "runout", "depth", "thickness", "length", "width", "height", "weight", "gearbox", "heater",
    "voltage drop", "duty cycle", "power factor", "wind speed", "charge", "specific gravity",
)  # fmt: skip
"""The names that a recogniser expects on every step, beside the procedure's own labels: all of
``NOUNS`` at once would make any noise a name."""
SPOKEN_FILLERS = (
    "holding steady at", "steadied at", "holding", "result", "yes", "result is", "the result is",
    "um", "uh", "er", "okay", "so", "it's", "that's", "is", "the", "reading", "reading is",
    "i've got", "i'm reading", "i get", "i have", "we have", "meter says", "meter reads", "at",
    "reads", "now", "yeah", "about", "around", "roughly", "approximately", "nearly", "almost",
    "just under", "just over", "exactly",
)  # fmt: skip
POSITIONS = (
    "port", "starboard", "left", "right", "upper", "lower", "top", "bottom", "front", "rear",
    "forward", "aft", "inner", "outer", "inboard", "outboard", "center", "middle", "near side",
    "off side", "drive end", "non drive end", "up stream", "down stream", "left hand",
    "right hand", "high side", "low side", "north", "south", "east", "west", "back",
)  # fmt: skip
STATES = (
    "climbing", "dropping", "with load", "on charge", "with no load", "at start", "before",
    "after", "cold", "hot", "warm", "at idle", "idle", "idling", "at full load", "full load",
    "no load", "under load", "off load", "on load", "at no load", "half load", "running",
    "stopped", "engine off", "engine on", "engine running", "key on", "key off", "ignition on",
    "ignition off", "at rest", "while cranking", "dry", "wet", "static", "dynamic",
    "at full throttle", "full throttle", "as found", "as left", "at start up", "at shut down",
    "switched on", "switched off", "powered up", "powered down", "disconnected", "connected",
    "unplugged", "plugged in", "loaded", "unloaded", "closed", "steady", "rising", "falling",
    "at rated speed", "energized", "de energized", "isolated", "before repair", "after repair",
    "before cleaning", "after cleaning", "before adjustment", "after adjustment", "after warm up",
    "before start", "after start", "after charging", "before charging", "after reset",
    "before service", "after service", "at cruise",
)  # fmt: skip
COMPOUNDS = (
    "pressure", "side", "junction", "aisle", "plate", "spot", "water", "gas", "air", "leg",
    "bulb", "end", "start", "cranking", "speed", "well", "store", "room", "return", "supply",
    "hand", "liquid", "feed", "oil",
)  # fmt: skip
"""Nouns before which "cold", "hot" and their kin are part of the name, not a state."""

# -- words around a reading ------------------------------------------------------------------
HEDGES = (
    "slightly over", "slightly under", "a little over", "a little under", "a hair over",
    "a hair under", "a tad over", "a tad under", "i'd say", "i would say", "it looks like",
    "must be", "i'd call it", "about", "around", "roughly", "approximately", "nearly", "almost",
    "just under", "just over", "close to", "more or less", "maybe", "probably",
    "somewhere around", "give or take", "i think", "call it", "say", "near enough", "or so",
    "ish", "looks like", "just about", "a bit under", "a bit over", "in the region of",
    "or thereabouts", "i reckon", "i guess", "just shy of", "a touch under", "a touch over",
    "something like", "on the order of", "a shade under", "a shade over", "approaching",
    "bang on", "perhaps", "let's say",
)  # fmt: skip
FILLERS = (
    "we're showing", "we're seeing", "i'm showing", "getting", "still getting", "still", "we got",
    "so we got", "seeing", "make it", "write", "let me see", "this one is", "that one is",
    "this one's", "that one's", "next one is", "next is", "here we go", "here goes",
    "there we go", "i said", "down to", "it's down to", "good", "fine", "all good", "looks good",
    "it's still", "i'm still getting", "still at", "it's now", "now at", "currently at", "we see",
    "i am seeing", "um", "uh", "er", "erm", "ah", "hmm", "okay", "so", "well", "let's see", "now",
    "please", "yeah", "alright", "all right", "that's", "it's", "it is", "i have", "i've got",
    "i get", "i got", "i have got", "i'm getting", "i'm reading", "i am getting", "i am reading",
    "i make it", "i see", "i'm seeing", "we have", "we've got", "we have got", "we get",
    "we're at", "we're getting", "we are getting", "we're reading", "we are reading", "reading",
    "readings", "reads", "showing", "shows", "measured", "measures", "measuring", "measurement",
    "meter says", "the meter says", "the meter reads", "meter reads", "meter shows",
    "the meter shows", "is", "are", "the", "got", "there's", "there is", "here", "that is",
    "equals", "comes to", "comes out at", "sits at", "steady at", "holding at", "settled at",
    "coming in at", "comes in at", "sitting at", "stands at", "exactly", "dead on", "spot on",
    "currently", "is at", "is reading", "is showing", "value", "of", "an", "and it's", "you know",
    "like", "looking at", "we're looking at", "i'm looking at", "settles at", "settling at",
    "value is", "the value is", "reading is", "the reading is", "got a reading of",
    "a reading of", "i've got a reading of", "it reads", "it's reading", "it's showing",
    "it shows", "it says", "says", "right then", "right so", "okay so", "then", "this is",
    "reading of", "gives", "gives me", "giving me", "it's at", "my reading is", "i read", "just",
    "turns out", "log", "record", "put down", "write down", "enter", "logging", "oh okay",
    "steady on", "sitting on", "i measure", "i measured", "we measured", "check", "test",
    "dialed in at", "final reading", "first reading", "second reading", "third reading",
    "next reading is", "has", "has a", "is a", "came to", "came in at", "came out at",
    "was reading", "their", "pulling", "it's pulling", "putting out", "it's putting out", "set at",
    "went to",
)  # fmt: skip
ARTICLES = ("a", "an", "the")
UNINDEXED = (
    "output", "input", "level", "line", "engine", "generator", "gauge", "battery", "winding",
    "loop", "position", "drive", "port", "test", "set", "motor winding", "supply",
)  # fmt: skip
"""Of ``NUMBERED``, those whose value often follows at once: "output two thirty volts" is 230 V,
where "tank two sixty percent" must be asked for again."""
LINKS = (
    "at", "on", "across", "for", "in", "from", "between", "to", "with", "of", "per", "through",
    "by", "and", "or",
)  # fmt: skip
BOUNDS = (
    "over", "under", "more than", "less than", "greater than", "above", "below", "at least",
    "at most", "up to", "better than", "not more than", "no more than", "no less than", "exceeds",
    "in excess of", "higher than", "lower than", "minimum", "maximum", "min of", "max of",
    "plus or minus", "within", "outside",
)  # fmt: skip
"""A bound is no value: the entry is unclear and asked for again."""
CORRECTIONS = (
    "oops", "whoops", "no oops", "oops no", "my bad", "let me say that again", "let me try again",
    "no", "no wait", "wait", "wait no", "sorry", "no sorry", "sorry no", "correction",
    "scratch that", "strike that", "i mean", "make that", "rather", "actually", "or rather",
    "my mistake", "i meant", "no make that", "no scratch that", "nope", "no actually",
    "actually no", "hang on", "hold on", "no hang on", "no hold on", "cancel that",
    "let me correct that", "correct that", "no correction", "wait a minute", "no that's",
    "sorry that's", "wait that's", "actually that's", "actually it's", "no it's", "sorry it's",
    "wait it's", "oh no", "oh wait", "oh sorry", "sorry make that", "sorry i mean", "no i mean",
    "excuse me", "delete that", "no no", "ignore that", "change that to", "i should say",
)  # fmt: skip
"""Between two values: the first is withdrawn, the last counts."""
REMARK_WORDS = (
    "note", "remark", "comment", "make a note", "take a note", "memo", "note that", "observation",
    "add a note", "add note", "write a note", "notes", "remarks", "for the record",
)  # fmt: skip
REMARK_NOUNS = (
    "phase to phase", "line to line", "phase to neutral", "phase to earth", "phase to ground",
    "side", "blow by", "set point", "r c d", "g f c i", "p t o", "e c u", "delta t", "wind",
    "brake pad", "hydraulic oil", "raw water", "fresh water", "sea water", "wheel nut",
    "engine hours", "pressure drop", "cold junction", "test lead", "battery terminals",
    "battery terminal", "flow rate", "system voltage", "insulation", "connector", "seal", "wire",
    "bracket", "hose", "bearing", "fastener", "harness", "gasket", "bolt", "nut", "screw",
    "clamp", "clip", "cable", "belt", "pump", "valve", "pipe", "fitting", "housing", "cover",
    "plug", "socket", "terminal", "pin", "switch", "relay", "fuse", "motor", "fan", "filter",
    "tank", "sensor", "sender", "oil", "coolant", "water", "fuel", "grease", "leak", "corrosion",
    "rust", "wear", "crack", "noise", "vibration", "smell", "paint",
)  # fmt: skip
REMARK_ADJECTIVES = (
    "corroded", "damaged", "chafed", "loose", "bent", "cracked", "leaking", "missing", "worn",
    "burned", "broken", "dirty", "rusty", "noisy", "blocked", "frayed", "melted", "swollen",
    "replaced", "tightened", "cleaned", "repaired", "adjusted", "greased", "new", "old", "good",
    "bad", "wet", "dry", "hot", "cold", "slight", "heavy", "small", "large", "seized", "stiff",
    "pitted", "scored", "discolored", "stained", "weeping", "perished", "okay",
)  # fmt: skip

# -- commands: see commands.py -----------------------------------------------------------
TIMER_LINKS = ("for", "of", "to")
COURTESIES = (
    "no", "oh", "yes", "please", "okay", "now", "can you", "could you", "thanks", "thank you",
    "um", "uh", "er", "erm", "well", "so", "right", "alright", "all right", "then", "just", "hey",
    "would you", "will you", "let's", "and", "i'd like to", "i want to", "i need to", "computer",
    "yeah",
)  # fmt: skip

# -- spellings -------------------------------------------------------------------------------
SPELLINGS: dict[str, str] = {
    "metre": "meter", "metres": "meters", "litre": "liter", "litres": "liters",
    "millimetre": "millimeter", "millimetres": "millimeters", "centimetre": "centimeter",
    "centimetres": "centimeters", "kilometre": "kilometer", "kilometres": "kilometers",
    "micrometre": "micrometer", "micrometres": "micrometers", "millilitre": "milliliter",
    "millilitres": "milliliters", "centre": "center", "grey": "gray", "tyre": "tire",
    "colour": "color", "aluminium": "aluminum", "draught": "draft", "energised": "energized",
    "discoloured": "discolored", "levelling": "leveling", "burnt": "burned", "golden": "gold",
    "newtonmetre": "newtonmeter", "newtonmetres": "newtonmeters", "per cent": "percent",
    "nearside": "near side", "offside": "off side", "upstream": "up stream",
    "downstream": "down stream", "overload": "over load", "overlimit": "over limit",
    "overrange": "over range", "opencircuit": "open circuit", "shortcircuit": "short circuit",
    "stopwatch": "stop watch", "timestamp": "time stamp", "bookmark": "book mark",
    "lefthand": "left hand", "righthand": "right hand", "standby": "stand by",
    "startup": "at start up", "superheated": "superheat", "shortcircuited": "short circuited",
    "fullload": "full load", "noload": "no load", "naught": "nought", "ought": "nought",
    "aught": "nought", "treble": "triple", "fourty": "forty", "ninty": "ninety", "nill": "nil",
    "fiveth": "fifth", "ohmes": "ohms", "omes": "ohms", "mills amps": "milli amps",
    "mills amp": "milli amp", "mills volts": "milli volts", "mills volt": "milli volt",
    "mills bar": "milli bar", "milli meters": "millimeters", "milli meter": "millimeter",
    "centi meters": "centimeters", "centi meter": "centimeter", "kilo meters": "kilometers",
    "kilo meter": "kilometer", "micro meters": "micrometers", "micro meter": "micrometer",
    "kilo grams": "kilograms", "kilo gram": "kilogram", "milli litre": "milli liter",
    "psi": "p s i", "rpm": "r p m", "micro siemen": "micro siemens", "horsepower": "horse power",
    "megaohms": "mega ohms", "megaohm": "mega ohm", "kiloohms": "kilo ohms",
    "kiloohm": "kilo ohm", "kays": "k", "kay": "k", "mils": "mills", "mil": "mills",
    "mill": "mills", "megs": "meg", "ampere hours": "amp hours", "celcius": "celsius",
    "farenheit": "fahrenheit", "approx": "approximately", "ca": "approximately",
    "circa": "approximately", "ok": "okay", "o.k.": "okay", "uhm": "um", "umm": "um", "uhh": "uh",
    "mm hmm": "hmm", "hm": "hmm", "what is": "what is", "whats": "what's", "thats": "that's",
    "its": "it's", "im": "i'm", "ive": "i've", "lets": "let's", "oscilloscope": "scope",
    "temp": "temperature", "volt meter": "voltmeter", "torqued": "torque", "gnd": "ground",
    "neg": "negative", "earthed": "earth", "purple": "purple", "grnd": "ground",
    "stbd": "starboard", "stripey": "stripe", "stripes": "stripe", "tracers": "tracer",
    "whilst": "while", "metersper": "meters per", "dc": "d c", "ac": "a c", "vdc": "volts d c",
    "vac": "volts a c", "rms": "r m s", "ol": "o l", "negative battery": "battery negative",
    "alfa": "alpha", "juliett": "juliet", "whisky": "whiskey", "xray": "x-ray", "x ray": "x-ray",
    "resistence": "resistance", "aircon": "air", "bottoms": "bottom", "amperes": "amperes",
    "psis": "psi", "de energised": "de energized", "dialled": "dialed", "pic": "pic",
    "image": "image", "flexible": "flexible", "cavitys": "cavities",
}  # fmt: skip
"""Other spelling → the vocabulary's own (words, single spaces)."""

# -- talk ------------------------------------------------------------------------------------
TALK = frozenset(
    [
        "it", "hand", "give", "get", "me", "my", "you", "your", "he", "she", "they", "them", "we",
        "us", "our", "who", "whom", "whose", "why", "when", "if", "because", "but", "need",
        "needs", "needed", "want", "wants", "wanted", "pass", "bring", "fetch", "put", "set",
        "turn", "adjust", "try", "let", "lets", "do", "does", "did", "done", "don't", "doesn't",
        "didn't", "can", "can't", "could", "couldn't", "would", "wouldn't", "should", "shouldn't",
        "will", "won't", "shall", "must", "might", "may", "have", "has", "had", "be", "been",
        "being", "was", "were", "wasn't", "weren't", "isn't", "aren't", "am", "i'll", "you'll",
        "we'll", "he'll", "i'd", "you'd", "we'd", "they'd", "he'd", "she'd", "i've", "we've",
        "you've", "they've", "they're", "you're", "we're", "he's", "she's", "who's", "what",
        "which", "how", "long", "many", "much", "other", "another", "one's", "ones", "those",
        "these", "that", "this", "it's", "there", "then", "than", "look", "looks", "looking",
        "see", "saw", "seen", "hear", "heard", "think", "thinks", "thought", "know", "knows",
        "knew", "tell", "told", "ask", "asked", "say", "said", "talk", "talking", "call",
        "called", "go", "goes", "going", "gone", "went", "come", "comes", "coming", "came",
        "take", "takes", "taken", "took", "make", "makes", "made", "find", "found", "use", "used",
        "using", "buy", "bought", "cost", "costs", "price", "paid", "pay", "order", "ordered",
        "yesterday", "book", "manual", "sheet", "handbook", "catalogue", "tomorrow", "today",
        "tonight", "monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday",
        "morning", "afternoon", "evening", "lunch", "dinner", "tea", "coffee", "breakfast",
        "o'clock", "past", "ago", "later", "soon", "week", "weeks", "month", "months", "year",
        "years", "until", "till", "since", "again", "already", "still", "never", "always", "ever",
        "often", "sometimes", "spec", "limit", "limits", "specification", "nominal", "rated",
        "rating", "supposed", "expected", "target", "tolerance", "allowed", "required", "maximum",
        "minimum", "boss", "mate", "guys", "guy", "man", "lads", "customer", "client", "office",
        "phone", "truck", "van", "car", "house", "home", "wife", "kids", "name", "hello", "hi",
        "hey", "bye", "goodbye", "thanks", "thank", "cheers", "sorry", "please", "bad", "nice",
        "great", "perfect", "wrong", "weird", "strange", "funny", "same", "different", "better",
        "worse", "really", "very", "too", "quite", "pretty", "some", "any", "all", "both",
        "every", "each", "few", "several", "lot", "lots", "with", "without", "into", "onto",
        "out", "off", "up", "down", "over", "under", "about", "across", "away", "around", "drop",
        "dropped", "hold", "held", "keep", "kept", "leave", "left", "start", "started", "stop",
        "stopped", "finish", "finished", "replace", "replaced", "fix", "fixed", "install",
        "installed", "remove", "removed", "tighten", "loosen", "undo", "screw", "unscrew",
        "wrench", "spanner", "screwdriver", "ratchet", "hammer", "pliers", "torch", "flashlight",
        "ladder", "toolbox", "tool", "tools", "drill", "bit", "bits", "extension", "glove",
        "gloves", "rag", "not", "nothing", "something", "anything", "everything", "someone",
        "anyone", "everyone", "nobody", "were's", "where", "here's", "there's", "i'm", "drove",
        "driving", "walk", "walked", "remember", "remind", "reckon", "believe", "hope", "guess",
        "suppose", "sure", "wonder", "part", "parts", "spare", "spares", "stock", "shop",
        "bloody", "damn", "first", "third", "last", "next", "grab", "reach", "lift", "push",
        "pulled", "pushed", "hit", "bang", "open't", "close", "closes", "opened", "dollars",
        "quid", "euros", "bucks", "cents", "pence", "people", "person", "team", "crew",
        "birthday", "weather", "rain", "raining", "sunny", "football", "game", "match", "score",
    ]
)  # fmt: skip
"""Everyday words that no reading contains outside the phrases above: they make an utterance
talk."""
