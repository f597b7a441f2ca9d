"""What the parts of a job are called, for pages, reports and the terminal alike."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from fieldnote.acceptance import UNITS, Window, symbol
from fieldnote.review.story import Line, Said, Story
from fieldnote.review.texts import Texts
from fieldnote.review.units import Preferred, converted, decimals, difference

# IEC 60757 letter codes: name and a colour to draw them with (common practice, no source).
WIRE_COLOURS: Mapping[str, tuple[str, str]] = {
    "BK": ("black", "#1b1b1b"), "BN": ("brown", "#6b4226"), "RD": ("red", "#b3261e"),
    "OG": ("orange", "#d9741a"), "YE": ("yellow", "#e8c51b"), "GN": ("green", "#2e7d4a"),
    "BU": ("blue", "#2a5ea8"), "VT": ("violet", "#6f4a9e"), "GY": ("grey", "#8b8f90"),
    "WH": ("white", "#fbfbf8"), "PK": ("pink", "#e295ad"), "GD": ("gold", "#b8923a"),
    "TQ": ("turquoise", "#2a9d9d"), "SR": ("silver", "#b9bdbf"),
    "GNYE": ("green-and-yellow", "#2e7d4a"),
}  # fmt: skip


MANY = 6  # values of a series that are still written out in a line


class Phrases:
    """The words of one locale for the parts of a ``Story``."""

    def __init__(
        self, texts: Texts, steps: Mapping[str, str] | None = None, units: Preferred | None = None
    ) -> None:
        """steps: what each step of the procedure asks, by its id. units: those of the customer;
        what was taken then stands behind in brackets."""
        self.t = texts
        self.steps = steps or {}
        self.units = units or Preferred()

    def value(self, entry: Mapping[str, Any]) -> str:
        """What was read, as people write it: ``10.60 Ω``, ``open circuit``, ``BK/BN``."""
        kind, unit = entry.get("kind"), self._unit(entry.get("unit"))
        shown = self.units.instead_of(entry.get("unit"))
        if kind == "open":
            return self.t("open circuit")
        if kind == "short":
            return self.t("short circuit")
        if kind == "wire":
            return str(entry.get("colour") or "")
        if kind == "remark":
            return str(entry.get("text") or "")
        if kind == "series" or entry.get("values"):
            series = [str(v) for v in entry.get("values") or ()]
            taken = self._series(series, unit)
            if not shown or not series:
                return taken
            there = [converted(v, str(entry["unit"]), shown) for v in series]
            return self._beside(self._series(there, self._unit(shown)), taken)
        if entry.get("value") is not None:
            digits = self.t.number(str(entry["value"]))
        else:
            return str(entry.get("text") or "—")
        hedge = f"{entry['hedge']} " if entry.get("hedge") else ""
        current = f" {entry['current']}" if entry.get("current") else ""
        taken = f"{hedge}{digits}{unit}{current}"
        if not shown:
            return taken
        elsewhere = converted(str(entry["value"]), str(entry["unit"]), shown)
        return self._beside(f"{hedge}{self.quantity(elsewhere, shown)}{current}", taken)

    def _beside(self, shown: str, taken: str) -> str:
        """What the customer is used to, and in brackets what was really taken."""
        return f"{shown} ({taken})"

    def _series(self, digits: list[str], unit: str) -> str:
        values = [self.t.number(each) for each in digits]
        if len(values) <= MANY:
            return " · ".join(values) + unit
        ends = f"{values[0]} … {values[-1]}{unit}"
        return self.t("%(ends)s, %(count)s readings", ends=ends, count=len(values))

    def quantity(self, digits: str | None, unit: str | None) -> str:
        return "" if digits is None else f"{self.t.number(digits)}{self._unit(unit)}"

    def point(self, said: Said) -> str:
        """What was measured: label, pins, position and state, or the step's name."""
        entry = said.entry
        parts = [str(entry["label"])] if entry.get("label") else []
        if entry.get("pins"):
            parts.append(self.pins(entry["pins"]))
        parts += [str(entry[name]) for name in ("position", "state") if entry.get(name)]
        if parts:
            text = ", ".join(parts)
            return text[:1].upper() + text[1:]
        return self.step(said.step) or self.t("Without a name")

    def pins(self, pins: list[str]) -> str:
        if len(pins) == 1:
            return self.t("pin %(pin)s", pin=pins[0]) if pins[0].isdecimal() else pins[0]
        to = self.t("to")
        return f" {to} ".join(pins)

    def step(self, step: str | None) -> str:
        """A step's id as words."""
        return step.replace("-", " ").replace("_", " ").capitalize() if step else ""

    def ask(self, said: Said) -> str:
        """What the step asked, in the procedure's own words; empty where the point says as much."""
        words = self.steps.get(said.step or "") or self.step(said.step)
        return "" if words == self.point(said) else words

    def result(self, result: str) -> str:
        t = self.t
        return {
            "pass": t("pass"),
            "fail": t("fail"),
            "indeterminate": t("indeterminate"),
            "unclear": t("unclear"),
        }.get(result, t("unchecked"))

    def meaning(self, result: str, line: Line | None = None) -> str:
        """The verdict in a sentence that needs no training to read."""
        t = self.t
        if line is not None and line.kind != "reading":  # a choice or a colour: no window
            told = {"pass": t("as it should be"), "fail": t("not as it should be")}
            if result in told:
                return told[result]
        return {
            "pass": t("inside its window"),
            "fail": t("outside its window"),
            "indeterminate": t("too near a limit for the meter's accuracy"),
            "unclear": t("not understood; ask again"),
        }.get(result, t("no window given"))

    def margin(self, said: Said) -> str:
        """How far from the nearest limit, in words."""
        margin, unit = said.verdict.get("margin"), str(said.verdict.get("unit") or "")
        if margin is None:
            return ""
        digits, unit = self._margin(said, str(margin), unit)
        if digits.startswith("-"):
            return self.t("%(by)s beyond the limit", by=self.quantity(digits[1:], unit))
        return self.t("%(by)s to the nearest limit", by=self.quantity(digits, unit))

    def _margin(self, said: Said, digits: str, unit: str) -> tuple[str, str]:
        """A margin to the digits of the reading or its limits, in the unit shown."""
        window, target = said.window, self._instead_of(unit, said.entry) or unit
        stated = [window.lower, window.upper] if window and target == unit else []
        if said.entry.get("unit") == target:
            stated.append(str(said.entry.get("value") or ""))
        places = max((decimals(each) for each in stated if each), default=0)
        return difference(digits, unit, target, places) if unit else digits, target

    def _instead_of(self, unit: str, entry: Mapping[str, Any] | None) -> str | None:
        """The unit to show limits in: where they are converted at all, that of their reading."""
        shown, taken = self.units.instead_of(unit), (entry or {}).get("unit")
        if shown and taken in UNITS and UNITS[taken].kind == UNITS[unit].kind:
            shown = self.units.instead_of(taken) or str(taken)
        return None if shown == unit else shown

    def limits(self, window: Window, entry: Mapping[str, Any] | None = None) -> str:
        """The limits alone: ``10 to 12 Ω``, ``at least 1 MΩ``; entry: the reading beside them."""
        shown = self._instead_of(window.unit, entry)
        taken = self._limits(window)
        if shown is None:
            return taken
        ends = [x and converted(x, window.unit, shown) for x in (window.lower, window.upper)]
        return self._beside(self._limits(Window(shown, *ends)), taken)

    def _limits(self, window: Window) -> str:
        number, unit = self.t.number, self._unit(window.unit)
        if window.lower is None:
            return self.t("at most %(limit)s", limit=number(window.upper or "") + unit)
        if window.upper is None:
            return self.t("at least %(limit)s", limit=number(window.lower) + unit)
        return self.t(
            "%(lower)s to %(upper)s", lower=number(window.lower), upper=number(window.upper) + unit
        )

    def stated(self, window: Window) -> str:
        """Nominal value and tolerance where the procedure gives them so: ``11 ± 1 Ω``."""
        if window.nominal is None or window.tolerance is None:
            return ""
        number, tolerance = self.t.number, window.tolerance
        if tolerance.endswith("%"):
            share = number(tolerance.rstrip("% "))
            return f"{self.quantity(window.nominal, window.unit)} ± {share}\N{NO-BREAK SPACE}%"
        if window.tolerance_unit and window.tolerance_unit != window.unit:
            nominal = self.quantity(window.nominal, window.unit)
            return f"{nominal} ± {self.quantity(tolerance, window.tolerance_unit)}"
        return f"{number(window.nominal)} ± {self.quantity(tolerance, window.unit)}"

    def bar(self, said: Said) -> str:
        """The drawn bar in words, for those who do not see it."""
        if said.window is None:
            return self.t("No window")
        return self.t(
            "Window %(limits)s; reading %(value)s: %(result)s",
            limits=self.limits(said.window, said.entry),
            value=self.value(said.entry),
            result=self.meaning(said.result),
        )

    def guess(self, line: Line) -> str:
        """The value, of an unclear entry only as what it may have been."""
        value = self.value(line.now.entry)
        return self.t("perhaps %(value)s", value=value) if line.now.kind == "unclear" else value

    def how(self, how: str) -> str:
        t = self.t
        return {
            "voice": t("spoken"),
            "photo": t("photographed"),
            "derived": t("calculated"),
        }.get(how, t("typed"))

    def how_short(self, how: str) -> str:
        t = self.t
        return {
            "voice": t("spoken"),
            "photo": t("photo"),
            "derived": t("worked out"),
        }.get(how, t("typed"))

    def kind(self, kind: str) -> str:
        t = self.t
        return {
            "reading": t("reading"),
            "remark": t("remark"),
            "wire": t("wire"),
            "photo": t("picture"),
            "question": t("question"),
            "step": t("step"),
            "close": t("closed"),
            "reopen": t("taken up again"),
            "start": t("started"),
            "correction": t("correction"),
            "withdrawal": t("withdrawal"),
            "rereading": t("re-reading"),
        }.get(kind, kind)

    def share(self, confidence: Any) -> str:
        """A confidence in [0, 1] as a percentage; empty where there is none.

        Nobody is ever wholly sure: what would round to 100 % is told as more than 99.
        """
        try:
            percent = 100 * float(confidence)
            return (
                ">\N{NO-BREAK SPACE}99\N{NO-BREAK SPACE}%" if percent > 99 else f"{percent:.0f} %"
            )
        except (TypeError, ValueError):
            return ""

    def colours(self, code: str | None) -> str:
        """An IEC 60757 code in words: ``BK/BN`` is black with a brown tracer."""
        names = [self.t(WIRE_COLOURS.get(part, (part, ""))[0]) for part in (code or "").split("/")]
        if len(names) == 2:
            return self.t("%(base)s with a %(tracer)s tracer", base=names[0], tracer=names[1])
        return ", ".join(names)

    def tally(self, story: Story) -> list[tuple[str, int]]:
        """How many standing entries have each result; results without any are left out."""
        order = ("pass", "fail", "indeterminate", "unchecked")
        counted = ((result, len(story.with_result(result))) for result in order)
        return [(result, number) for result, number in counted if number]

    def heard(self, line: Line) -> str:
        return str(line.now.entry.get("text") or line.now.source.get("heard") or "")

    def typed(self, entry: Mapping[str, Any]) -> str:
        """An entry as one would type it in, to start a correction from: always with a point."""
        if entry.get("kind") == "remark":
            return f"note {entry.get('text') or ''}"
        if entry.get("kind") in ("wire", "open", "short"):
            return str(entry.get("text") or "")
        digits = " ".join(entry.get("values") or ()) or str(entry.get("value") or "")
        pins = [str(pin) for pin in entry.get("pins") or ()]
        parts = [
            entry.get("label"),
            f"pin {pins[0]}" if len(pins) == 1 and pins[0].isdecimal() else " to ".join(pins),
            entry.get("position"),
            entry.get("state"),
            digits,
            symbol(str(entry["unit"])) if entry.get("unit") else "",
            entry.get("current"),
        ]
        return " ".join(str(part) for part in parts if part)

    @staticmethod
    def _unit(unit: Any) -> str:
        if not unit:
            return ""
        sign = symbol(str(unit))
        return sign if sign in ("°", "′", "″") else f"\N{NO-BREAK SPACE}{sign}"
