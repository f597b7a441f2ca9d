"""Every word the language knows, declared once as data.

The parser, the recogniser's grammar and the page of what can be said are all derived from here and
from ``units.py``. Words are lower case, in one spelling; ``SPELLINGS`` maps the others onto it.
Where no source is named beside an entry, it is common practice of the trade.
"""

from __future__ import annotations

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
SCALES = {"hundred": 100, "thousand": 1000, "million": 1_000_000}
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
    "open", "open circuit", "open line", "open loop", "over limit", "over load", "over range", "o l",
    "infinite", "infinity", "infinite ohms", "infinite resistance", "no continuity", "dead open",
    "no circuit", "out of range", "open circuited", "off scale", "off the scale", "goes to infinity",
    "fully open circuit", "reads infinity", "o dot l", "o point l", "completely open", "no path",
)  # fmt: skip
SHORT = (
    "short", "shorted", "dead short", "short circuit", "direct short", "hard short",
    "short circuited", "shorted out", "bolted short", "shorting", "complete short",
    "short to", "shorted to", "dead short to",
)  # fmt: skip
NOTHING_READ = (
    "no reading", "nothing", "no signal", "no volts", "no voltage", "no power", "dead",
    "no display", "blank", "no current", "no pressure", "no flow", "continuity", "good continuity",
    "has continuity",
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
PIN_PLACES = (
    "ground", "earth", "chassis", "neutral", "frame", "battery positive", "battery negative", "line",
    "live", "case", "shield", "screen", "common", "positive", "supply",
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
    "injector", "fuse", "relay", "wire", "number", "test point", "measuring point", "station", "unit", "motor", "fan",
    "bearing", "bolt", "stage", "string", "line", "loop", "coil", "winding", "valve", "compressor",
    "room", "bay", "connector", "lead", "core", "conductor", "battery", "panel", "port", "probe",
    "breaker", "engine", "generator", "gauge", "tap", "section", "level", "position", "switch", "test",
    "solenoid", "sender", "burner", "boiler", "evaporator", "thermostat", "thermocouple", "output",
    "input", "module", "drive", "axis", "belt", "wheel", "tire", "brake", "cable", "step", "sample",
    "set", "nozzle", "filter", "rectifier", "inverter", "array", "rod", "joint", "flange", "stud",
)  # fmt: skip
"""Nouns that a number may follow as a name: "cylinder two"."""
NOUNS = (
    "actuator", "air", "airflow", "alignment", "alternator", "ambient", "amplitude", "anode",
    "armature", "arm", "array", "assembly", "axle", "backlash", "backup", "ballast", "bilge",
    "blade", "bleed", "block", "blower", "body", "boost", "boot", "bottom dead center", "box",
    "bracket", "brush", "bulb", "bus", "busbar", "bush", "bushing", "bypass", "cable", "cabinet",
    "cam", "capacitor", "capacity", "carriage", "casing", "cathode", "chain", "chamber", "charge",
    "charger", "charging", "check", "chilled", "chiller", "clamp", "clearance", "clip", "closing",
    "clutch", "cold room", "cold store", "collar", "column", "combustion", "compression",
    "concentration", "condenser", "conductivity", "consumption", "contactor", "control",
    "controller", "coolant", "cooler", "cooling", "cord", "counter", "coupling", "cover", "crank",
    "crankcase", "cranking", "current", "cutout", "damper", "deflection", "delivery", "demand",
    "depth", "diaphragm", "diesel", "differential", "diode", "discharge", "display", "distance",
    "draft", "drain", "draw", "drop", "drum", "duct", "duty", "duty cycle", "earth fault loop",
    "edge", "efficiency", "electrode", "element", "end", "end float", "end play", "engine oil",
    "exhaust", "expansion", "face", "feed", "feedback", "feeler", "field", "fill", "final drive",
    "fitting", "flow", "fluid", "flywheel", "float", "force", "forward bias", "freezer",
    "frequency", "fridge", "fuel", "fuse box", "fuse holder", "gap", "gas", "gasket", "gear",
    "gearbox", "glow plug", "governor", "grease", "grid", "ground", "guard", "guide", "harness",
    "head", "header", "heat", "heater", "heating", "height", "holder", "hood", "hose", "hot side",
    "hour meter", "hours", "housing", "hub", "humidity", "hydraulic", "idle speed", "ignition",
    "impedance", "impeller", "indicator", "inductance", "inlet", "insulation", "intake",
    "intercooler", "jacket", "jet", "journal", "junction", "junction box", "key", "keyway",
    "lamp", "leak", "leakage", "length", "lever", "lid", "lift pump", "light", "limit switch",
    "liner", "link", "liquid", "lock", "lubrication", "magnet", "main", "mains", "manifold",
    "margin", "mass", "mast", "master", "meter", "moisture", "mount", "mounting", "needle",
    "negative terminal", "noise", "nut", "offset", "oil", "opening", "orifice", "oven", "oxygen",
    "packing", "pad", "pedal", "phase angle", "pickup", "pinion", "pipe", "piston", "pitch",
    "plate", "play", "plug", "plunger", "pole", "positive terminal", "pot", "potentiometer",
    "power", "power factor", "preload", "pressure", "primary", "prop shaft", "propeller", "pulley",
    "pull", "pulse", "pulse width", "purge", "quill", "rack", "radiator", "rail", "ram", "range",
    "rate", "ratio", "receiver", "reference", "refrigerant", "regulator", "reservoir",
    "resistance", "resistor", "return", "ride height", "rim", "ring", "ripple", "roller", "room",
    "rotor", "rudder", "rudder angle", "runout", "saddle", "salinity", "screw", "seal", "seat",
    "secondary", "segment", "servo", "setting", "shaft", "sheave", "shim", "shoe", "shore power",
    "shroud", "side clearance", "signal", "slack", "sleeve", "slip", "slip ring", "socket",
    "spark plug", "specific gravity", "speed", "spindle", "spring", "sprocket", "stack", "starter",
    "stator", "stator winding", "steering", "stem", "strainer", "stroke", "stub", "subcooling",
    "suction", "sump", "superheat", "supply", "surface", "swing arm", "tachometer", "tail",
    "tappet", "temperature", "tension", "tensioner", "terminal block", "thermistor", "thickness",
    "throttle", "throttle position", "thrust", "tie rod", "tilt", "timing", "tip", "tooth",
    "torque", "track", "transducer", "transformer", "transmission", "travel", "tread", "tread depth",
    "trim", "trip", "trip time", "truck", "tube", "turbo", "vacuum", "valve clearance", "vane",
    "velocity", "vent", "vessel", "vibration", "viscosity", "voltage", "voltage drop", "volume",
    "wall", "warp", "washer", "waste", "water", "wear", "weight", "well", "wheel", "width", "winch",
    "wiper", "wick", "yaw", "yoke",
)  # fmt: skip
"""Names of parts and measured quantities; several in a row make a label."""
POSITIONS = (
    "port", "starboard", "left", "right", "upper", "lower", "top", "bottom", "front", "rear",
    "forward", "aft", "inner", "outer", "inboard", "outboard", "center", "middle", "near side",
    "off side", "drive end", "non drive end", "up stream", "down stream", "left hand",
    "right hand", "high side", "low side", "north", "south", "east", "west", "back",
)  # fmt: skip
STATES = (
    "before", "after", "cold", "hot", "warm", "at idle", "idle", "idling", "at full load",
    "full load", "no load", "under load", "off load", "on load", "at no load", "half load",
    "running", "stopped", "engine off", "engine on", "engine running", "key on", "key off",
    "ignition on", "ignition off", "at rest", "while cranking", "dry", "wet", "static", "dynamic",
    "at full throttle", "full throttle", "as found", "as left", "at start up", "at shut down",
    "switched on", "switched off", "powered up", "powered down", "disconnected", "connected",
    "unplugged", "plugged in", "loaded", "unloaded", "closed", "steady", "rising", "falling",
    "at rated speed", "energized", "de energized", "isolated", "before repair", "after repair",
    "before cleaning", "after cleaning", "before adjustment", "after adjustment",
    "after warm up", "before start", "after start", "after charging", "before charging",
    "after reset", "before service", "after service", "at cruise",
)  # fmt: skip
COMPOUNDS = ("side", "junction", "aisle", "plate", "spot", "water", "gas", "air", "leg", "bulb",
             "end", "start", "cranking", "speed", "well", "store", "room", "return", "supply",
             "hand", "liquid", "feed", "oil")  # fmt: skip
"""Nouns before which "cold", "hot" and their kin are part of the name, not a state."""

# -- words around a reading ------------------------------------------------------------------
HEDGES = (
    "about", "around", "roughly", "approximately", "nearly", "almost", "just under", "just over",
    "close to", "more or less", "maybe", "probably", "somewhere around", "give or take",
    "i think", "call it", "say", "near enough", "or so", "ish", "looks like", "just about",
    "a bit under", "a bit over", "in the region of", "or thereabouts", "i reckon", "i guess",
    "just shy of", "a touch under", "a touch over", "something like", "on the order of",
    "a shade under", "a shade over", "approaching", "bang on", "perhaps",
)  # fmt: skip
FILLERS = (
    "um", "uh", "er", "erm", "ah", "hmm", "okay", "so", "well", "let's see", "now", "please",
    "yeah", "alright", "all right", "that's", "it's", "it is", "i have", "i've got", "i get",
    "i got", "i have got", "i'm getting", "i'm reading", "i am getting", "i am reading", "i make it",
    "i see", "i'm seeing", "we have", "we've got", "we have got", "we get", "we're at", "we're getting",
    "we are getting", "we're reading", "we are reading", "reading", "readings", "reads", "showing",
    "shows", "measured", "measures", "measuring", "measurement", "meter says", "the meter says",
    "the meter reads", "meter reads", "meter shows", "the meter shows", "is", "are", "the", "got",
    "there's", "there is", "here", "that is", "equals", "comes to", "comes out at", "sits at",
    "steady at", "holding at", "settled at", "coming in at", "comes in at", "sitting at", "stands at",
    "exactly", "dead on", "spot on", "currently", "is at", "is reading", "is showing", "value", "of",
    "an", "and it's", "you know", "like", "looking at", "we're looking at", "i'm looking at",
    "settles at", "settling at", "value is", "the value is", "reading is", "the reading is",
    "got a reading of", "a reading of", "i've got a reading of", "it reads", "it's reading",
    "it's showing", "it shows", "it says", "says", "right then", "right so", "okay so", "then", "this is",
    "reading of", "gives", "gives me", "giving me", "it's at", "my reading is", "i read", "just",
    "turns out", "log", "record", "put down", "write down", "enter", "logging", "oh okay",
    "steady on", "sitting on", "i measure", "i measured", "we measured", "check", "test",
    "dialed in at", "final reading", "first reading", "second reading", "third reading", "next reading is",
    "came to", "came in at", "came out at", "was reading", "their",
)  # fmt: skip
ARTICLES = ("a", "an", "the")
LINKS = ("at", "on", "across", "for", "in", "from", "between", "to", "with", "of", "per", "through", "by",
         "and", "or")  # fmt: skip
BOUNDS = (
    "over", "under", "more than", "less than", "greater than", "above", "below", "at least",
    "at most", "up to", "better than", "not more than", "no more than", "no less than", "exceeds",
    "in excess of", "higher than", "lower than", "minimum", "maximum", "min of", "max of", "plus or minus",
    "within", "outside",
)  # fmt: skip
"""A bound is no value: the entry is unclear and asked for again."""
CORRECTIONS = (
    "no", "no wait", "wait", "wait no", "sorry", "no sorry", "sorry no", "correction", "scratch that",
    "strike that", "i mean", "make that", "rather", "actually", "or rather", "my mistake",
    "i meant", "no make that", "no scratch that", "nope", "no actually", "actually no",
    "hang on", "hold on", "no hang on", "no hold on", "cancel that", "let me correct that",
    "correct that", "no correction", "wait a minute", "no that's", "sorry that's",
    "wait that's", "actually that's", "actually it's", "no it's", "sorry it's", "wait it's",
    "oh no", "oh wait", "oh sorry", "sorry make that", "sorry i mean", "no i mean",
    "should be", "that should be", "excuse me", "delete that", "no no", "ignore that",
    "change that to", "not that", "i should say",
)  # fmt: skip
"""Between two values: the first is withdrawn, the last counts."""
REMARK_WORDS = ("note", "remark", "comment", "make a note", "take a note", "memo", "note that",
                "observation", "add a note", "add note", "for the record")  # fmt: skip
REMARK_NOUNS = (
    "insulation", "connector", "seal", "wire", "bracket", "hose", "bearing", "fastener", "harness",
    "gasket", "bolt", "nut", "screw", "clamp", "clip", "cable", "belt", "pump", "valve", "pipe",
    "fitting", "housing", "cover", "plug", "socket", "terminal", "pin", "switch", "relay", "fuse",
    "motor", "fan", "filter", "tank", "sensor", "sender", "oil", "coolant", "water", "fuel", "grease",
    "leak", "corrosion", "rust", "wear", "crack", "noise", "vibration", "smell", "paint",
)  # fmt: skip
REMARK_ADJECTIVES = (
    "corroded", "damaged", "chafed", "loose", "bent", "cracked", "leaking", "missing", "worn",
    "burned", "broken", "dirty", "rusty", "noisy", "blocked", "frayed", "melted", "swollen",
    "replaced", "tightened", "cleaned", "repaired", "adjusted", "greased", "new", "old", "good",
    "bad", "wet", "dry", "hot", "cold", "slight", "heavy", "small", "large", "seized", "stiff",
    "pitted", "scored", "discolored", "stained", "weeping", "perished", "okay",
)  # fmt: skip

# -- commands --------------------------------------------------------------------------------
COMMANDS: dict[str, tuple[str, ...]] = {
    "withdraw": (
        "scratch that", "scratch it", "scratch the last one", "scratch the last entry", "delete that",
        "delete the last one", "delete the last entry", "delete the last reading", "delete last",
        "delete last entry", "undo", "undo that", "undo last", "undo the last one", "undo the last entry",
        "take that back", "strike that", "strike the last one", "strike the last entry",
        "cancel that", "cancel the last entry", "cancel the last one", "cancel last entry",
        "remove that", "remove the last one", "remove the last entry", "remove the last reading",
        "withdraw", "withdraw that", "withdraw the last entry", "withdraw the last reading",
        "withdraw last entry", "withdraw the last one", "forget that", "forget the last one",
        "forget that one", "erase that", "erase the last one", "erase the last entry", "ignore that",
        "ignore the last one", "ignore that one", "ignore the last reading", "discard that",
        "discard the last reading", "that was wrong", "that one was wrong", "throw that away",
        "throw that out", "scratch that one", "scratch the last reading", "scrap that",
        "disregard that", "disregard", "disregard the last entry", "disregard last",
        "drop that", "drop the last one", "drop that one", "take that out", "scratch last entry",
        "scratch that last one", "delete that one", "undo last entry", "take back the last one",
        "take the last one back", "wipe that", "belay that", "remove last entry",
    ),
    "next": (
        "next", "next step", "next one", "next reading", "move on", "go on", "carry on", "continue",
        "proceed", "go to the next step", "move to the next step", "go to next step", "next please",
        "next item", "on to the next", "on to the next one", "go forward", "forward", "advance",
        "next point", "step forward", "move along", "go to the next one", "what's next", "next test",
        "next measurement", "move on to the next step", "onto the next one", "go next", "ready for next",
        "what is next", "let's move on", "let's go on", "let's carry on", "let's continue",
    ),
    "back": (
        "back", "go back", "previous", "previous step", "last step", "back one", "one back",
        "back up", "step back", "go back one", "go back one step", "back one step", "previous one",
        "go to the previous step", "go back a step", "back a step", "one step back", "previous item",
        "go to previous step", "return to the previous step", "back to the last step",
        "back to the previous step", "backwards", "go back to the last step", "go back to the previous step",
        "move back", "let's go back", "take me back",
    ),
    "repeat": (
        "repeat", "repeat that", "say again", "say that again", "come again", "what was that",
        "read that back", "read back", "repeat the question", "repeat the step", "repeat step",
        "again", "once more", "pardon", "repeat please", "read it back", "tell me again",
        "say it again", "one more time", "repeat the instruction", "what did you say",
        "repeat this step", "ask again", "ask me again", "read that again", "repeat last",
        "repeat instruction", "repeat it", "read the step again", "read it again", "play that back",
        "say that one more time", "repeat that please", "i didn't catch that",
    ),
    "skip": (
        "skip", "skip step", "skip this", "skip it", "skip that", "skip this step", "skip this one",
        "skip that one", "skip that step", "leave this one", "leave this one out", "pass on this one",
        "not applicable", "n a", "skip the step", "skip ahead", "leave it out", "skip to the next step",
        "skip to the next one", "skip one", "skip over", "skip this reading", "leave that one",
        "leave that one out", "pass over this one", "skip to next", "let's skip this one",
        "let's skip that one", "let's skip it", "skip this point", "skip this test",
    ),
    "pause": (
        "pause", "hold on", "hang on", "wait", "stand by", "wait a minute", "wait a moment",
        "wait a second", "one moment", "one moment please", "give me a minute", "give me a moment",
        "give me a second", "take a break", "hold it", "hang on a second", "hang on a minute",
        "hold on a second", "hold on a minute", "hold on a moment", "just a minute", "just a moment",
        "just a second", "one second", "one minute please", "pause the session", "pause session",
        "stop listening", "pause the job", "pause recording", "pause here", "pause for a moment",
        "pause for a minute", "let's pause", "pause it", "wait there", "bear with me",
        "stand by one", "pause now", "suspend",
    ),
    "resume": ("resume", "i'm back", "unpause", "start again", "resume session", "resume the session",
               "resume the job", "start listening", "pick up where we left off", "i'm ready", "ready",
               "go ahead"),
    "stop": (
        "stop", "stop session", "stop the session", "end session", "end the session", "finish",
        "i'm done", "we're done", "all done", "that's all", "that's it", "done", "finished", "quit",
        "end", "exit", "close the job", "end of job", "that is all", "i'm finished", "we're finished",
        "end the job", "finish the job", "stop the job", "stop now", "stop recording", "job done",
        "end of session", "finish up", "finish session", "finish the session", "close the session",
        "stop here", "that's everything", "end job", "close job", "wrap up", "wrap it up",
        "let's stop", "let's stop here", "let's finish", "stop there",
    ),
    "picture": (
        "picture", "photo", "photograph", "snapshot", "snap", "take a picture", "take a photo",
        "take a snapshot", "take a photograph", "take picture", "take photo", "take a shot",
        "get a picture", "get a photo", "take another picture", "take another photo", "capture",
        "grab a picture", "grab a photo", "take a picture of this", "take a picture of that",
        "take a photo of this", "take a photo of that", "photograph this", "photograph that",
        "picture of this", "photo of this", "snap a picture", "snap a photo", "capture image",
        "capture this", "take the picture", "take the photo", "take an image", "camera",
        "shoot a picture", "take a pic", "get a shot of this", "get a picture of this",
        "get a photo of this", "capture that", "another picture", "another photo",
        "take a picture of it", "take a photo of it", "capture a picture", "capture an image",
        "new picture", "new photo",
    ),
    "mark": (
        "mark", "mark that", "mark this", "mark it", "mark the moment", "mark this moment",
        "mark a moment", "mark the time", "time stamp", "book mark", "book mark this",
        "book mark that", "flag this", "flag that", "flag it", "mark now", "mark here", "mark time",
        "mark this time", "mark this point", "mark this spot", "drop a marker", "set a marker",
        "place a marker", "add a marker", "marker", "time mark", "note the time", "time stamp this",
        "mark that moment", "flag this moment", "put a marker", "put a marker here",
        "drop a mark", "set a mark", "time stamp that",
    ),
    "timer-start": (
        "start timer", "start the timer", "start a timer", "start timing", "start the clock",
        "begin timing", "timer on", "start stop watch", "start the stop watch", "start a stop watch",
        "time this", "timer start", "begin the timer", "begin timer", "start clock", "run the timer",
        "set the timer", "set a timer", "start the timer now", "start counting", "timer go", "start time",
        "start timing now", "clock on", "set timer", "new timer", "start new timer",
    ),
    "timer-stop": (
        "stop timer", "stop the timer", "stop timing", "stop the clock", "end timing", "timer off",
        "stop stop watch", "stop the stop watch", "end timer", "end the timer", "timer stop",
        "stop clock", "kill the timer", "halt the timer", "stop the timer now", "cancel timer",
        "cancel the timer", "stop counting", "stop time", "time stop", "finish timing",
        "halt timer", "stop that timer",
    ),
    "how-long": (
        "how long", "how long has it been", "how long so far", "elapsed time", "time elapsed",
        "how much time", "how much time has passed", "how long is it", "how long is that",
        "how long was that", "time check", "what's the timer", "what's the time so far",
        "how long has that been", "how long now", "how long have i been", "how long did that take",
        "what's the elapsed time", "what is the elapsed time", "how long did it take",
        "how long has passed", "how much time has gone", "read the timer", "what does the timer say",
        "how much time is on the timer", "how long left", "how long is left", "how much time is left",
        "how much longer", "how long to go", "what's on the timer", "how long since the start",
        "how long has it been running", "how long has the timer been running", "timer reading",
        "how long is that now", "how long since the mark", "how long since i started", "check the timer",
        "check timer", "how long has this been running", "how many minutes", "how long have we been",
        "how long was it",
    ),
    "limit": (
        "limit", "limits", "what's the limit", "what is the limit", "what are the limits", "spec",
        "what's the spec", "what is the spec", "what's the tolerance", "what is the tolerance",
        "tolerance", "what's the window", "what is the window", "what's the range",
        "what is the range", "acceptable range", "what should it be", "what's it supposed to be",
        "what is it supposed to be", "what's the target", "what is the target",
        "what's the specification", "what is the specification", "what's allowed",
        "what is allowed", "what's acceptable", "what is acceptable", "read the limit",
        "read the limits", "tell me the limit", "tell me the limits", "what should it read",
        "what should i see", "what should i get", "what am i looking for", "what's the acceptable range",
        "what is the acceptable range", "say the limit", "give me the limit", "give me the limits",
        "what's the maximum", "what's the minimum", "what is the maximum", "what is the minimum",
        "what are the tolerances", "show limits", "show me the limits", "what is the upper limit",
        "what is the lower limit", "what's the upper limit", "what's the lower limit",
        "what were the limits", "what was the limit", "is that in spec", "is that within limits",
        "what is the expected value", "what's the expected value", "what's normal", "what is normal",
        "what's the limit again", "what is the limit again", "what's the spec again",
        "what's the allowable range", "what should the reading be", "what should the value be",
    ),
    "last": (
        "last value", "last reading", "what was the last value", "what was the last reading",
        "what was the last one", "what did i say", "read the last one", "read back the last value",
        "what's the last value", "what is the last value", "what's the last reading",
        "what is the last reading", "last one", "previous value", "previous reading", "last entry",
        "what was the last entry", "read back the last one", "read back the last reading",
        "what did you get", "what have you got", "what was my last reading", "what was my last value",
        "read last value", "read last reading", "tell me the last value", "tell me the last reading",
        "repeat the last value", "repeat the last reading", "say the last value", "what did i get",
        "what did i just say", "what was the previous value", "what was the previous reading",
        "repeat last value", "repeat last reading", "what did i read", "read the last value",
        "read the last reading", "read the last entry", "what did you hear", "what did you write down",
        "read me the last value", "read me the last reading", "read back the last entry",
        "show the last value", "show last value", "give me the last value", "give me the last reading",
        "what did i record", "what did we get", "what was the value", "what was the reading",
        "repeat the last entry", "what was that last value", "what was that last reading", "last value please",
        "what's the previous value", "what did you record", "what did you log",
    ),
    "where": ("where am i", "where are we", "what step is this", "which step", "which step is this",
              "what step am i on", "what step are we on", "which step am i on", "current step"),
    "help": ("help", "what can i say", "help me"),
    "yes": (
        "yes", "yeah", "yep", "yes please", "that's right", "that is right", "correct",
        "that's correct", "that is correct", "affirmative", "affirm", "confirm", "confirmed",
        "confirm that", "save that", "save reading", "save it", "save the reading", "keep it", "keep that",
        "accept", "accept that", "accept it", "right", "yes that's right", "yes correct", "log it",
        "log that", "record that", "record it", "store that", "store it", "save", "save this",
        "keep that one",
    ),
    "no": ("no", "nope", "no that's wrong", "that's wrong", "that is wrong", "wrong", "incorrect",
           "that's not right", "that is not right", "that's incorrect", "negative", "not correct",
           "no it's not", "no it isn't", "no not that"),
}  # fmt: skip
"""Canonical name → everything that is said for it."""
TIMER_LINKS = ("for", "of", "to")
COURTESIES = ("please", "okay", "now", "can you", "could you", "thanks", "thank you", "um", "uh",
              "er", "erm", "well", "so", "right", "alright", "all right", "then", "just", "hey",
              "would you", "will you", "let's", "and", "i'd like to", "i want to", "i need to",
              "computer", "yeah")  # fmt: skip

# -- spellings -------------------------------------------------------------------------------
SPELLINGS: dict[str, str] = {
    # English on both sides of the water
    "metre": "meter", "metres": "meters", "litre": "liter", "litres": "liters",
    "millimetre": "millimeter", "millimetres": "millimeters", "centimetre": "centimeter",
    "centimetres": "centimeters", "kilometre": "kilometer", "kilometres": "kilometers",
    "micrometre": "micrometer", "micrometres": "micrometers", "millilitre": "milliliter",
    "millilitres": "milliliters", "centre": "center", "grey": "gray", "tyre": "tire",
    "colour": "color", "aluminium": "aluminum", "draught": "draft", "energised": "energized",
    "discoloured": "discolored", "burnt": "burned", "golden": "gold", "bonnet": "bonnet",
    "newtonmetre": "newtonmeter", "newtonmetres": "newtonmeters",
    # one word or two
    "per cent": "percent", "nearside": "near side", "offside": "off side",
    "upstream": "up stream", "downstream": "down stream", "overload": "over load",
    "overlimit": "over limit", "overrange": "over range", "opencircuit": "open circuit",
    "shortcircuit": "short circuit", "stopwatch": "stop watch", "timestamp": "time stamp",
    "bookmark": "book mark", "lefthand": "left hand", "righthand": "right hand",
    "standby": "stand by", "startup": "at start up", "superheated": "superheat",
    "shortcircuited": "short circuited", "fullload": "full load", "noload": "no load",
    "undo it": "undo that",
    # numbers
    "naught": "nought", "ought": "nought", "aught": "nought", "treble": "triple",
    "fourty": "forty", "ninty": "ninety", "nill": "nil", "fiveth": "fifth",
    # said the same or nearly so
    "ohmes": "ohms", "omes": "ohms", "mil amps": "milli amps", "mill amps": "milli amps",
    "mils amps": "milli amps", "mil volts": "milli volts", "mill volts": "milli volts",
    "mil amp": "milli amp", "mill amp": "milli amp", "kay ohms": "k ohms", "mega ohms": "mega ohms",
    "megaohms": "mega ohms", "megaohm": "mega ohm", "kiloohms": "kilo ohms", "kiloohm": "kilo ohm",
    "kays": "k", "kay": "k", "mils": "mills", "mil": "mills", "mill": "mills", "megs": "meg",
    "ampere hours": "amp hours", "celcius": "celsius", "farenheit": "fahrenheit",
    "approx": "approximately", "ca": "approximately", "circa": "approximately",
    "ok": "okay", "o.k.": "okay", "uhm": "um", "umm": "um", "uhh": "uh", "mm hmm": "hmm", "hm": "hmm",
    "what is": "what is", "whats": "what's", "thats": "that's", "its": "it's", "im": "i'm",
    "ive": "i've", "lets": "let's", "oscilloscope": "scope", "temp": "temperature",
    "volt meter": "voltmeter", "torqued": "torque", "gnd": "ground", "neg": "negative",
    "earthed": "earth", "purple": "purple", "grnd": "ground", "stbd": "starboard", "stripey": "stripe",
    "stripes": "stripe", "tracers": "tracer", "whilst": "while", "metersper": "meters per",
    "dc": "d c", "ac": "a c", "vdc": "volts d c", "vac": "volts a c", "rms": "r m s", "ol": "o l",
    "negative battery": "battery negative", "alfa": "alpha", "juliett": "juliet",
    "whisky": "whiskey", "xray": "x-ray", "x ray": "x-ray", "resistence": "resistance",
    "aircon": "air", "bottoms": "bottom", "amperes": "amperes", "psis": "psi",
    "de energised": "de energized", "dialled": "dialed", "pic": "pic", "image": "image",
    "flexible": "flexible", "cavitys": "cavities",
}  # fmt: skip
"""Other spelling → the vocabulary's own (words, single spaces)."""

# -- talk ------------------------------------------------------------------------------------
TALK = frozenset(
    """
    hand give get me my you your he she they them we us our who whom whose why when if because but
    need needs needed want wants wanted pass bring fetch put set turn adjust try let lets do does did
    done don't doesn't didn't can can't could couldn't would wouldn't should shouldn't will won't shall
    must might may have has had be been being was were wasn't weren't isn't aren't am i'll you'll we'll he'll
    i'd you'd we'd they'd he'd she'd i've we've you've they've they're you're we're he's she's who's what which
    how long many much other another one's ones those these that this them it's there them then than
    look looks looking see saw seen hear heard think thinks thought know knows knew tell told ask asked
    say said talk talking call called go goes going gone went come comes coming came take takes taken took
    make makes made find found use used using buy bought cost costs price paid pay order ordered
    yesterday tomorrow today tonight monday tuesday wednesday thursday friday saturday sunday
    morning afternoon evening lunch dinner tea coffee breakfast o'clock past ago later soon before't
    week weeks month months year years until till since again already still never always ever often sometimes
    spec limit limits specification nominal rated rating supposed should expected target tolerance allowed required
    maximum minimum
    boss mate guys guy man lads customer client office phone truck van car house home wife kids name
    hello hi hey bye goodbye thanks thank cheers sorry please
    good bad nice great fine perfect wrong weird strange funny same different better worse
    really very too quite pretty some any all both every each few several lot lots
    with without into onto out off up down over under about across away around
    drop dropped hold held keep kept leave left start started stop stopped finish finished
    replace replaced fix fixed install installed remove removed tighten loosen torque'd undo screw unscrew
    wrench spanner screwdriver ratchet hammer pliers torch flashlight ladder toolbox tool tools
    socket't drill bit bits extension glove gloves rag
    not isn't nothing something anything everything someone anyone everyone nobody
    were's where here's there's i'm
    drove drive's driving walk walked minutes' ago't
    remember remind reckon believe hope guess suppose sure wonder
    order part parts spare spares stock delivery't shop store't bloody damn
    first second't third last next
    grab reach lift push pull's pulled pushed held hit bang
    open't close closes opened closing't
    dollars pounds't quid euros bucks cents pence percent't
    people person guys lads team crew
    birthday weather rain raining sunny football game match score
    """.split()
)  # fmt: skip
"""Everyday words that no reading contains outside the phrases above: they make an utterance talk."""
