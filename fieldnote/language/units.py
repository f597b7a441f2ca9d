"""Units of the trades that read instruments: UCUM code, symbol, kind, and how they are said.

Codes are those of UCUM 2.2 (https://ucum.org/ucum); ``tests/language/test_units.py`` walks the
whole
table through ucumvert and pint and compares dimension and factor.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit.

    ucum: code stored and exported. symbol: what people read. kind: kind of quantity.
    spoken: word sequences, the first is the one spoken back; all are in the recogniser's grammar.
    written: further forms of typed text and of recognisers that write symbols; never spoken.
        Case counts where a form would otherwise be another unit (mΩ and MΩ).
    pint: the same unit as pint names it (UCUM's own definition where the two differ).
    """

    ucum: str
    symbol: str
    kind: str
    spoken: tuple[str, ...]
    written: tuple[str, ...]
    pint: str


def _split(forms: str) -> tuple[str, ...]:
    return tuple(form.strip() for form in forms.split(",") if form.strip())


def _unit(ucum: str, symbol: str, kind: str, pint: str, spoken: str, written: str = "") -> Unit:
    return Unit(ucum, symbol, kind, _split(spoken), _split(written), pint)


_PREFIXES = {
    "p": ("p", "pico"),
    "n": ("n", "nano"),
    "u": ("µ", "micro"),
    "m": ("m", "milli"),
    "k": ("k", "kilo"),
    "M": ("M", "mega"),
    "G": ("G", "giga"),
}


def _prefixed(
    prefixes: str,
    ucum: str,
    symbol: str,
    kind: str,
    pint: str,
    one: str,
    many: str,
    extra: str = "",
) -> list[Unit]:
    """The unit with each of ``prefixes``: said as two words ("milli amps") or written as one."""
    units = []
    for prefix in prefixes:
        sign, word = _PREFIXES[prefix]
        symbols = [sign + symbol] if symbol == ucum else [sign + symbol, prefix + ucum]
        if prefix == "u":
            symbols += [f"u{symbol}"]
        units.append(
            Unit(
                prefix + ucum,
                sign + symbol,
                kind,
                _split(f"{word} {many}, {word} {one}" if one != many else f"{word} {one}"),
                (*dict.fromkeys(symbols), *_split(extra)),
                word + pint,
            )
        )
    return units


_EXTRA = {
    "kW": ("k w", ""),
    "kV": ("k v", ""),
    "kOhm": ("kilohms, kilohm, k ohms, k ohm", "K ohms, K ohm, Kohm, Kohms, KΩ, kohms, kohm"),
    "MOhm": ("meg ohms, meg ohm, megohms, megohm", "M ohms, M ohm, Mohms, Mohm, Megohms"),
}

_TABLE: tuple[Unit, ...] = (
    # electrical
    _unit("Ohm", "Ω", "resistance", "ohm", "ohms, ohm", "Ω, Ohm"),
    *_prefixed("umkMG", "Ohm", "Ω", "resistance", "ohm", "ohm", "ohms"),
    _unit("V", "V", "voltage", "volt", "volts, volt, v", "V"),
    *_prefixed("umk", "V", "V", "voltage", "volt", "volt", "volts", ""),
    _unit("A", "A", "current", "ampere", "amps, amp, amperes, ampere", "A"),
    *_prefixed("umk", "A", "A", "current", "ampere", "amp", "amps"),
    _unit("W", "W", "power", "watt", "watts, watt", "W, w"),
    *_prefixed("mkM", "W", "W", "power", "watt", "watt", "watts"),
    _unit("V.A", "VA", "apparent power", "volt * ampere", "volt amps, volt amp, v a", "VA, va"),
    _unit("kV.A", "kVA", "apparent power", "kilovolt * ampere",
          "k v a, kilo volt amps", "kVA, kva"),
    _unit("[HP]", "hp", "power", "horsepower", "horse power", "hp, HP"),
    _unit("F", "F", "capacitance", "farad", "farads, farad"),
    *_prefixed("pnum", "F", "F", "capacitance", "farad", "farad", "farads"),
    _unit("H", "H", "inductance", "henry", "henries, henry, henrys", "H"),
    *_prefixed("um", "H", "H", "inductance", "henry", "henry", "henries", ""),
    _unit("Hz", "Hz", "frequency", "hertz", "hertz", "Hz, hz"),
    *_prefixed("kM", "Hz", "Hz", "frequency", "hertz", "hertz", "hertz"),
    _unit("S", "S", "conductance", "siemens", "siemens"),
    _unit("uS/cm", "µS/cm", "conductivity", "microsiemens / centimeter",
          "micro siemens per centimeter", "µS/cm, uS/cm, microsiemens per centimeter"),
    _unit("mS/cm", "mS/cm", "conductivity", "millisiemens / centimeter",
          "milli siemens per centimeter", "mS/cm, millisiemens per centimeter"),
    _unit("A.h", "Ah", "charge", "ampere * hour", "amp hours, amp hour", "Ah"),
    _unit("mA.h", "mAh", "charge", "milliampere * hour",
          "milli amp hours, milli amp hour", "mAh, mah"),
    _unit("W.h", "Wh", "energy", "watt * hour", "watt hours, watt hour", "Wh"),
    _unit("kW.h", "kWh", "energy", "kilowatt * hour",
          "kilo watt hours, kilo watt hour", "kWh, kwh, kilowatt hours, kilowatt hour"),
    _unit("J", "J", "energy", "joule", "joules, joule", "J"),
    _unit("kJ", "kJ", "energy", "kilojoule",
          "kilo joules, kilo joule", "kJ, kilojoules, kilojoule"),
    # torque and force
    _unit("[lbf_av].[in_i]", "in·lbf", "torque", "pound_force * inch",
          "inch pounds, inch pound, pound inches, pound inch",
          "in lb, in lbs, in lbf, inch lbs, inch lb, lb in, lbf in, lbs in, inlb, inlbs"),
    _unit("[lbf_av].[ft_i]", "ft·lbf", "torque", "pound_force * foot",
          "foot pounds, foot pound, pound feet, pound foot",
          "ft lb, ft lbs, ft lbf, foot lbs, foot lb, lb ft, lbf ft, lbs ft,"
          "ftlb, ftlbs, feet pounds"),
    _unit("N.m", "N·m", "torque", "newton * meter", "newton meters, newton meter",
          "Nm, nm, N m, newtonmeters, newtonmeter"),
    _unit("N", "N", "force", "newton", "newtons, newton", "N"),
    _unit("kN", "kN", "force", "kilonewton", "kilo newtons, kilo newton",
          "kN, kilonewtons, kilonewton"),
    _unit("[lbf_av]", "lbf", "force", "pound_force", "pounds force, pound force", "lbf"),
    # pressure
    _unit("[psi]", "psi", "pressure", "psi",
          "p s i, pounds per square inch, pound per square inch, p s i gauge",
          "psi, PSI, psig, psis, lbf/in2"),
    _unit("bar", "bar", "pressure", "bar", "bar, bars, bar gauge", "barg"),
    _unit("mbar", "mbar", "pressure", "millibar", "milli bar, milli bars",
          "mbar, millibar, millibars, mb"),
    _unit("Pa", "Pa", "pressure", "pascal", "pascals, pascal", "Pa"),
    _unit("hPa", "hPa", "pressure", "hectopascal", "hecto pascals, hecto pascal",
          "hPa, hpa, hectopascals, hectopascal"),
    _unit("kPa", "kPa", "pressure", "kilopascal", "kilo pascals, kilo pascal, k p a",
          "kPa, kpa, KPA, KPa, kilopascals, kilopascal"),
    _unit("MPa", "MPa", "pressure", "megapascal", "mega pascals, mega pascal",
          "MPa, megapascals, megapascal"),
    _unit("[in_i'Hg]", "inHg", "pressure", "254/10000 * 133322/1000 * kilopascal",
          "inches of mercury, inch of mercury, inches mercury, inches of vacuum, inches h g",
          "inHg, inhg, in Hg, in hg, inches hg, inches Hg, inch hg, \"Hg"),
    _unit("mm[Hg]", "mmHg", "pressure", "133322/1000000 * kilopascal",
          "millimeters of mercury, millimeter of mercury", "mmHg, mmhg, mm Hg"),
    _unit("[in_i'H2O]", "inH₂O", "pressure", "254/10000 * 980665/100000 * kilopascal",
          "inches of water, inch of water, inch of water column, inch water column, inch of "
          "water gauge, inches water column, inches of water column,"
          "inches of water gauge, inches water gauge, inches w c, inches w g",
          "inH2O, in H2O, inwc, in wc, inWC, iwc, inches wc, inches wg, inch wc, \"wc, in w c"),
    _unit("mm[H2O]", "mmH₂O", "pressure", "980665/100000000 * kilopascal",
          "millimeters of water", "mmH2O, mm H2O"),
    _unit("m[H2O]", "mH₂O", "pressure", "980665/100000 * kilopascal",
          "meters of water, meters head, meters of head", "mH2O"),
    # length and angle
    _unit("mm", "mm", "length", "millimeter",
          "millimeters, millimeter", "mm, mms"),
    _unit("cm", "cm", "length", "centimeter",
          "centimeters, centimeter", "cm, cms"),
    _unit("m", "m", "length", "meter", "meters, meter", "m"),
    _unit("km", "km", "length", "kilometer",
          "kilometers, kilometer", "km"),
    _unit("um", "µm", "length", "micrometer", "microns, micron, micrometers, micrometer",
          "µm, um"),
    _unit("[in_i]", "in", "length", "inch", "inches, inch", "in, ins, \", ″"),
    _unit("[mil_i]", "thou", "length", "inch / 1000", "thou", "thous"),
    _unit("[ft_i]", "ft", "length", "foot", "feet, foot", "ft"),
    _unit("[yd_i]", "yd", "length", "yard", "yards, yard", "yd"),
    _unit("[mi_i]", "mi", "length", "mile", "miles, mile"),
    _unit("deg", "°", "angle", "degree", "degrees, degree", "°, deg, degs"),
    _unit("rad", "rad", "angle", "radian", "radians, radian", "rad"),
    _unit("circ", "turns", "angle", "turn", "turns, turn, revolutions, revolution"),
    # speed
    _unit("{rev}/min", "rpm", "rotational speed", "1 / minute",
          "r p m, revs per minute, revolutions per minute, revs, r p ms",
          "rpm, RPM, rpms, RPMs, rev/min, r/min"),
    _unit("m/s", "m/s", "speed", "meter / second",
          "meters per second, meter per second, meters a second", "m/s"),
    _unit("mm/s", "mm/s", "speed", "millimeter / second",
          "millimeters per second, millimeter per second, millimeters a second", "mm/s"),
    _unit("[in_i]/s", "in/s", "speed", "inch / second",
          "inches per second, inch per second, inches a second", "in/s, ips"),
    _unit("[ft_i]/s", "ft/s", "speed", "foot / second", "feet per second, foot per second", "ft/s"),
    _unit("[ft_i]/min", "ft/min", "speed", "foot / minute", "feet per minute, foot per minute",
          "ft/min, fpm"),
    _unit("km/h", "km/h", "speed", "kilometer / hour",
          "kilometers per hour, kilometers an hour",
          "km/h, kph, kmh"),
    _unit("[mi_i]/h", "mph", "speed", "mile / hour",
          "miles per hour, m p h, miles an hour", "mph, MPH"),
    _unit("[kn_i]", "kn", "speed", "knot", "knots, knot", "kn, kts"),
    # temperature
    _unit("Cel", "°C", "temperature", "degree_Celsius",
          "degrees celsius, degree celsius, degrees c, degree c, degrees centigrade,"
          "degree centigrade, celsius, centigrade, c",
          "°C, ºC, ℃, deg C, degc, degs C, C, oC, degC"),
    _unit("[degF]", "°F", "temperature", "degree_Fahrenheit",
          "degrees fahrenheit, degree fahrenheit, degrees f, degree f, fahrenheit",
          "°F, ºF, ℉, deg F, degf, degs F, degF"),
    _unit("K", "K", "temperature", "kelvin", "kelvin, kelvins, degrees kelvin"),
    # flow and volume
    _unit("L/min", "L/min", "flow", "liter / minute",
          "liters per minute, liter per minute, liters a minute, l p m",
          "L/min, l/min, lpm, LPM, ltr/min"),
    _unit("mL/min", "mL/min", "flow", "milliliter / minute",
          "milli liters per minute, milli liters a minute",
          "mL/min, ml/min, milliliters per minute"),
    _unit("L/s", "L/s", "flow", "liter / second",
          "liters per second, liter per second, liters a second", "L/s, l/s"),
    _unit("L/h", "L/h", "flow", "liter / hour",
          "liters per hour, liter per hour, liters an hour", "L/h, l/h, lph"),
    _unit("[gal_us]/min", "gal/min", "flow", "gallon / minute",
          "gallons per minute, gallon per minute, gallons a minute, g p m",
          "gpm, GPM, gal/min"),
    _unit("[gal_us]/h", "gal/h", "flow", "gallon / hour",
          "gallons per hour, gallon per hour, gallons an hour, g p h", "gph, GPH, gal/h"),
    _unit("[ft_i]3/min", "ft³/min", "flow", "foot ** 3 / minute",
          "cubic feet per minute, cubic foot per minute, c f m", "cfm, CFM, ft3/min"),
    _unit("m3/h", "m³/h", "flow", "meter ** 3 / hour",
          "cubic meters per hour, cubic meter per hour, cubic meters an hour", "m3/h, m³/h, m3/hr"),
    _unit("m3/s", "m³/s", "flow", "meter ** 3 / second", "cubic meters per second", "m3/s, m³/s"),
    _unit("L", "L", "volume", "liter", "liters, liter", "L, l, ltr, ltrs"),
    _unit("mL", "mL", "volume", "milliliter", "milli liters, milli liter",
          "mL, ml, milliliters, milliliter"),
    _unit("m3", "m³", "volume", "meter ** 3", "cubic meters, cubic meter", "m3, m³"),
    _unit("cm3", "cm³", "volume", "centimeter ** 3",
          "cubic centimeters, cubic centimeter, c c, c cs", "cc, ccs, cm3, cm³"),
    _unit("[gal_us]", "gal", "volume", "gallon",
          "gallons, gallon, u s gallons", "gal, gals, us gallons"),
    _unit("[gal_br]", "gal (imp)", "volume", "imperial_gallon",
          "imperial gallons, imperial gallon"),
    _unit("[qt_us]", "qt", "volume", "quart", "quarts, quart", "qt, qts"),
    _unit("[pt_us]", "pt", "volume", "pint", "u s pints, u s pint"),
    _unit("[pt_br]", "pt (imp)", "volume", "imperial_pint", "imperial pints, imperial pint"),
    _unit("[foz_us]", "fl oz", "volume", "fluid_ounce", "fluid ounces, fluid ounce", "fl oz"),
    # time
    _unit("s", "s", "time", "second", "seconds, second", "s, sec, secs"),
    _unit("ms", "ms", "time", "millisecond", "milli seconds, milli second",
          "ms, msec, milliseconds, millisecond"),
    _unit("us", "µs", "time", "microsecond", "micro seconds, micro second",
          "µs, us, microseconds, microsecond"),
    _unit("min", "min", "time", "minute", "minutes, minute", "min, mins"),
    _unit("h", "h", "time", "hour", "hours, hour", "h, hr, hrs"),
    _unit("d", "d", "time", "day", "days, day"),
    # mass
    _unit("kg", "kg", "mass", "kilogram", "kilograms, kilogram, kilos",
          "kg, kgs"),
    _unit("g", "g", "mass", "gram", "grams, gram", "g, gm"),
    _unit("[lb_av]", "lb", "mass", "pound", "pounds, pound", "lb, lbs"),
    _unit("[oz_av]", "oz", "mass", "ounce", "ounces, ounce", "oz"),
    _unit("t", "t", "mass", "metric_ton", "tonnes, tonne, metric tons", ""),
    # ratios and the rest
    _unit("%", "%", "ratio", "percent", "percent", "%, pct"),
    _unit("[ppm]", "ppm", "ratio", "ppm", "parts per million, p p m", "ppm, PPM"),
    _unit("[ppb]", "ppb", "ratio", "1/1000000000", "parts per billion, p p b", "ppb, PPB"),
    _unit("dB", "dB", "level", "decibel", "decibels, decibel, d b", "dB, db, DB"),
    _unit("[pH]", "pH", "acidity", "", "p h", "pH, ph"),
    _unit("lx", "lx", "illuminance", "lux", "lux", "lx"),
    _unit("T", "T", "flux density", "tesla", "tesla, teslas"),
    _unit("mT", "mT", "flux density", "millitesla", "milli tesla, milli teslas",
          "mT, millitesla, milliteslas"),
    _unit("G", "G", "flux density", "tesla / 10000", "gauss"),
)  # fmt: skip


def _with_extras(unit: Unit) -> Unit:
    if unit.ucum not in _EXTRA:
        return unit
    spoken, written = _EXTRA[unit.ucum]
    return Unit(
        unit.ucum, unit.symbol, unit.kind, unit.spoken + _split(spoken),
        unit.written + _split(written), unit.pint,
    )  # fmt: skip


UNITS: dict[str, Unit] = {unit.ucum: _with_extras(unit) for unit in _TABLE}
"""UCUM code → unit, in the order of the trades."""

PREFIXED_NUMBER = {"k": "kilo", "meg": "mega", "mills": "milli"}
"""Said after a number with no unit behind it: a factor without a unit, so the step must name the
kind of quantity (design rule 7); "mills" may be mm, mA, mL or thousandths of an inch."""


def symbol(ucum: str) -> str:
    """What people read for a UCUM code ("Ohm" → "Ω"); a code outside the table is shown as it
    is."""
    unit = UNITS.get(ucum)
    return unit.symbol if unit else ucum


def kind_of(ucum: str) -> str | None:
    """Kind of quantity of a UCUM code ("kOhm" → "resistance"), or None outside the table."""
    unit = UNITS.get(ucum)
    return unit.kind if unit else None
