"""Charts in one style everywhere: the window as a band, readings with their uncertainty as bars.

Drawn by matplotlib as SVG. Its colours are stand-ins that are turned into the page's own, so that a
chart follows light and dark like everything round it.
"""

from __future__ import annotations

import base64
import io
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any

from fieldnote.acceptance import Window, symbol
from fieldnote.review.texts import Texts

if TYPE_CHECKING:
    from matplotlib.axes import Axes

INK, SOFT, BAND, LIMIT = "#010101", "#020202", "#030303", "#040404"
SIGNS = {  # a shape for each verdict, as everywhere
    "pass": ("o", "#050505"),
    "fail": ("D", "#060606"),
    "indeterminate": ("^", "#070707"),
}
PLAIN = ("o", SOFT)
COLOURS = {  # stand-in: on light, on dark; the values of look.css
    INK: ("#1c2325", "#eeeae0"),
    SOFT: ("#4a5355", "#b9bcb2"),
    BAND: ("#d3e1d8", "#2c4238"),
    LIMIT: ("#2f5a46", "#9fd0b8"),
    "#050505": ("#1c5c45", "#8ed1b0"),
    "#060606": ("#98301c", "#f5a58f"),
    "#070707": ("#725000", "#e9c46c"),
}
STYLE: dict[Any, Any] = {
    "svg.fonttype": "none",
    "svg.hashsalt": "fieldnote",  # the same chart is the same file
    "font.family": ["Liberation Sans", "DejaVu Sans", "sans-serif"],
    "font.size": 10,
    "text.color": INK,
    "axes.edgecolor": SOFT,
    "axes.labelcolor": INK,
    "xtick.color": INK,
    "ytick.color": INK,
    "axes.spines.top": False,
    "axes.spines.right": False,
}


@dataclass(frozen=True, slots=True)
class Dot:
    """One reading to draw: floats, since a drawing is no record."""

    at: datetime
    value: float
    uncertainty: float
    result: str


def trend(dots: Sequence[Dot], window: Window | None, unit: str, texts: Texts) -> str:
    """An SVG document of readings over time, 640 × 230 units.

    Args:
        dots: at least one, oldest first, in ``unit`` (UCUM).
        window: in the same unit; drawn as a band where there is one.
    """
    import matplotlib
    from matplotlib import dates
    from matplotlib.figure import Figure

    with matplotlib.rc_context(STYLE):
        figure = Figure(figsize=(640 / 72, 230 / 72), layout="constrained")
        axes = figure.add_subplot()
        times = [float(dates.date2num(dot.at)) for dot in dots]  # type: ignore[no-untyped-call]
        values = [dot.value for dot in dots]
        _window(axes, window, values)
        axes.plot(times, values, color=SOFT, linewidth=1, zorder=2)
        for time, dot in zip(times, dots, strict=True):
            shape, colour = SIGNS.get(dot.result, PLAIN)
            axes.errorbar(
                [time],
                [dot.value],
                yerr=[dot.uncertainty] if dot.uncertainty else None,
                fmt=shape,
                markersize=7,
                color=colour,
                capsize=3,
                zorder=3,
            )
        axes.xaxis_date(dots[0].at.tzinfo)
        locator = dates.AutoDateLocator(maxticks=7)  # type: ignore[no-untyped-call]
        axes.xaxis.set_major_locator(locator)
        scale = dates.ConciseDateFormatter(locator)  # type: ignore[no-untyped-call]
        axes.xaxis.set_major_formatter(scale)
        axes.yaxis.set_major_formatter(lambda value, _: texts.number(f"{value:g}"))
        axes.set_ylabel(symbol(unit))
        axes.margins(x=0.06)
        drawn = io.StringIO()
        figure.savefig(drawn, format="svg", transparent=True, metadata={"Date": None})
    return _coloured(drawn.getvalue())


def curve(
    values: Sequence[float],
    places: Sequence[float] | None,
    turn: int,
    marked: Sequence[tuple[int, str]],
    labels: tuple[str, str],
    *,
    for_paper: bool = False,
) -> str:
    """An SVG document of one travel, 640 × 260 units: the way out a line, the way back dashed.

    Args:
        places: where each reading lies along the travel; None counts them.
        turn: index of the reading where the way back begins.
        marked: index and result of readings that a finding names.
        labels: of the axes, across and up.
        for_paper: light colours only, for programs that know no variables.
    """
    import matplotlib
    from matplotlib.figure import Figure

    along = list(places) if places is not None else [float(n + 1) for n in range(len(values))]
    with matplotlib.rc_context(STYLE):
        figure = Figure(figsize=(640 / 72, 260 / 72), layout="constrained")
        axes = figure.add_subplot()
        out, back = slice(0, turn + 1), slice(turn, None)
        axes.plot(along[out], values[out], color=INK, linewidth=1.6, marker=".", markersize=5)
        if turn < len(values) - 1:
            axes.plot(along[back], values[back], color=SOFT, linewidth=1.4, linestyle="--")
        for index, result in marked:
            shape, colour = SIGNS.get(result, PLAIN)
            axes.plot([along[index]], [values[index]], shape, color=colour, markersize=9, zorder=3)
        axes.set_xlabel(labels[0])
        axes.set_ylabel(labels[1])
        drawn = io.StringIO()
        figure.savefig(drawn, format="svg", transparent=True, metadata={"Date": None})
    return _on_paper(drawn.getvalue()) if for_paper else _coloured(drawn.getvalue())


def address(svg: str) -> str:
    """An SVG as an address that an image can show."""
    return "data:image/svg+xml;base64," + base64.b64encode(svg.encode()).decode("ascii")


def _window(axes: Axes, window: Window | None, values: Sequence[float]) -> None:
    low, high = min(values), max(values)
    limits = [float(limit) for limit in (window.limits if window else ()) if limit is not None]
    low, high = min([low, *limits]), max([high, *limits])
    room = (high - low) * 0.15 or abs(high) * 0.1 or 1.0
    axes.set_ylim(low - room, high + room)
    if window is None:
        return
    lower, upper = window.limits
    bottom = low - room if lower is None else float(lower)
    top = high + room if upper is None else float(upper)
    axes.axhspan(bottom, top, color=BAND, linewidth=0, zorder=0)
    for limit in limits:
        axes.axhline(limit, color=LIMIT, linewidth=1.2, zorder=1)


def _on_paper(svg: str) -> str:
    for stand_in, (light, _) in COLOURS.items():
        svg = svg.replace(stand_in, light)
    return svg


def _coloured(svg: str) -> str:
    """The stand-ins turned into variables that follow the reader's light or dark."""
    for stand_in in COLOURS:
        svg = svg.replace(stand_in, f"var(--c{stand_in[-2:]})")
    light = "".join(f"--c{name[-2:]}:{pair[0]};" for name, pair in COLOURS.items())
    dark = "".join(f"--c{name[-2:]}:{pair[1]};" for name, pair in COLOURS.items())
    style = f"<style>svg{{{light}}}@media(prefers-color-scheme:dark){{svg{{{dark}}}}}</style>"
    start = svg.index(">", svg.index("<svg")) + 1
    return svg[:start] + style + svg[start:]
