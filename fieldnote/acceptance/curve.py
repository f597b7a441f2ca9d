"""A table of points with straight lines between, for limits that depend on another value."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from fieldnote.acceptance.exact import decimal, written
from fieldnote.errors import BadInputError


@dataclass(frozen=True, slots=True)
class Curve:
    """points: (x, y) as decimal strings, x rising. Values are never read beyond the ends."""

    points: tuple[tuple[str, str], ...]

    def __post_init__(self) -> None:
        xs = [decimal(x, "A table's first number") for x, _ in self.points]
        for _, y in self.points:
            decimal(y, "A table's second number")
        if len(xs) < 2:
            raise BadInputError("The table has fewer than two points.", "Give at least two pairs.")
        for before, after in pairwise(xs):
            if after <= before:
                raise BadInputError(
                    f"The table's first numbers do not rise: {after} comes after {before}.",
                    "Sort the pairs by their first number, each once.",
                )

    def __call__(self, x: Fraction) -> Fraction:
        """y at x by linear interpolation, exact.

        Raises:
            BadInputError: x lies beyond the table.
        """
        xs, ys = _columns(self.points)
        if not xs[0] <= x <= xs[-1]:
            raise BadInputError(
                f"{written(x)} lies beyond the table, which goes from {self.points[0][0]}"
                f" to {self.points[-1][0]}.",
                "Take the reading within that span, or look in the maker's manual.",
            )
        i = min(bisect_right(xs, x), len(xs) - 1)
        share = (x - xs[i - 1]) / (xs[i] - xs[i - 1])
        return ys[i - 1] + share * (ys[i] - ys[i - 1])


def _columns(points: Sequence[tuple[str, str]]) -> tuple[list[Fraction], list[Fraction]]:
    return [Fraction(x) for x, _ in points], [Fraction(y) for _, y in points]
