"""Small arithmetic formulas with names, evaluated exactly: derived values, dependent limits.

+ - * / and whole powers (``^`` or ``**``) are exact on fractions. ``sqrt``, ``ln`` and ``exp`` have
no exact value and are taken to 28 significant digits. Nothing else is accepted: a formula in a
procedure file is data, not a program.
"""

from __future__ import annotations

import ast
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation, localcontext
from fractions import Fraction

from fieldnote.acceptance.exact import rounded_up
from fieldnote.errors import BadInputError

_LONGEST = 500
_HIGHEST_POWER = 12


def _by_decimal(function: Callable[[Decimal], Decimal]) -> Callable[[Fraction], Fraction]:
    def take(value: Fraction) -> Fraction:
        with localcontext() as context:
            context.prec = 28
            return Fraction(function(Decimal(value.numerator) / Decimal(value.denominator)))

    return take


_ONE: dict[str, Callable[[Fraction], Fraction]] = {
    "abs": abs,
    "sqrt": _by_decimal(Decimal.sqrt),
    "ln": _by_decimal(Decimal.ln),
    "exp": _by_decimal(Decimal.exp),
}
_MANY: dict[str, Callable[..., Fraction]] = {
    "min": min,
    "max": max,
    "mean": lambda *all_: sum(all_, Fraction(0)) / len(all_),
}


@dataclass(frozen=True, slots=True)
class Formula:
    """A checked formula. text: as written; names: the names it takes values for, sorted."""

    text: str
    names: tuple[str, ...]

    @classmethod
    def parse(cls, text: str) -> Formula:
        """Check a formula.

        Raises:
            BadInputError: it holds more than numbers, names, + - * / ^ and the functions.
        """
        names: set[str] = set()
        _check(_tree(text), text, names)
        return cls(text, tuple(sorted(names)))

    def __call__(self, values: Mapping[str, Fraction]) -> Fraction:
        """The value for the given names.

        Raises:
            BadInputError: a name has no value, or there is no result (division by nought).
        """
        missing = [name for name in self.names if name not in values]
        if missing:
            raise BadInputError(
                f"The formula {self.text} needs a value for {', '.join(missing)}.", "Take it first."
            )
        try:
            return _evaluate(_tree(self.text), values)
        except (ZeroDivisionError, InvalidOperation, OverflowError, ValueError):
            raise BadInputError(
                f"The formula {self.text} has no value for these readings.",
                "Check the readings: it divides by nought, or takes an impossible root.",
            ) from None

    def uncertainty(
        self, values: Mapping[str, Fraction], uncertainties: Mapping[str, Fraction]
    ) -> Decimal:
        """Combined standard uncertainty, rounded up to 3 digits, for inputs taken as uncorrelated.

        JCGM 100:2008, 5.1.2, with each sensitivity found by varying its input by ± its own standard
        uncertainty (5.1.3, note 2), so no derivatives are needed. A name without an uncertainty
        counts as exact.
        """
        total = Fraction(0)
        for name in self.names:
            u = uncertainties.get(name)
            if u:
                up = self({**values, name: values[name] + u})
                down = self({**values, name: values[name] - u})
                total += ((up - down) / 2) ** 2
        with localcontext() as context:
            context.prec = 28
            return rounded_up((Decimal(total.numerator) / Decimal(total.denominator)).sqrt())


def _tree(text: str) -> ast.expr:
    if len(text) > _LONGEST:
        raise BadInputError(
            f"The formula is longer than {_LONGEST} characters.", "Split it in steps."
        )
    try:
        return ast.parse(text.replace("^", "**").strip(), mode="eval").body
    except (SyntaxError, ValueError, RecursionError, MemoryError):
        raise BadInputError(
            f"The formula “{text}” cannot be read.", "Write it like (supply - load) / supply * 100."
        ) from None


def _check(node: ast.expr, text: str, names: set[str]) -> None:
    match node:
        case ast.Constant(value=int() | float()) if not isinstance(node.value, bool):
            inner: list[ast.expr] = []
        case ast.Name(id=name):
            names.add(name)
            inner = []
        case ast.UnaryOp(op=ast.USub() | ast.UAdd(), operand=operand):
            inner = [operand]
        case ast.BinOp(left=base, op=ast.Pow(), right=ast.Constant(value=int(power))) if (
            0 <= power <= _HIGHEST_POWER
        ):
            inner = [base]
        case ast.BinOp(left=left, op=ast.Add() | ast.Sub() | ast.Mult() | ast.Div(), right=right):
            inner = [left, right]
        case ast.Call(func=ast.Name(id=function), args=[_, *_] as arguments, keywords=[]) if (
            function in _ONE and len(arguments) == 1
        ) or function in _MANY:
            inner = arguments
        case _:
            raise BadInputError(
                f"“{ast.unparse(node)}” cannot stand in the formula “{text}”.",
                f"Use numbers, names, + - * /, powers up to {_HIGHEST_POWER} and"
                f" {', '.join(sorted((*_ONE, *_MANY)))}.",
            )
    for each in inner:
        _check(each, text, names)


def _evaluate(node: ast.expr, values: Mapping[str, Fraction]) -> Fraction:
    match node:
        case ast.Constant(value=value):
            # repr gives the digits as written: 0.1 is one tenth, not its binary neighbour.
            return Fraction(repr(value))
        case ast.Name(id=name):
            return values[name]
        case ast.UnaryOp(op=op, operand=operand):
            inner = _evaluate(operand, values)
            return -inner if isinstance(op, ast.USub) else inner
        case ast.BinOp(left=left, op=ast.Pow(), right=ast.Constant(value=int(power))):
            return _evaluate(left, values) ** power
        case ast.BinOp(left=left, op=op, right=right):
            one, other = _evaluate(left, values), _evaluate(right, values)
            match op:
                case ast.Add():
                    return one + other
                case ast.Sub():
                    return one - other
                case ast.Mult():
                    return one * other
            return one / other
        case ast.Call(func=ast.Name(id=name), args=arguments):
            inner_values = [_evaluate(each, values) for each in arguments]
            return _ONE[name](inner_values[0]) if name in _ONE else _MANY[name](*inner_values)
    raise AssertionError("checked formulas hold nothing else")
