"""Units of measurement that instruments use, and exact conversion between those of one kind.

Each factor is exact by definition: the SI brochure (9th edition) for the prefixes, minute and degree
Celsius, and NIST SP 811 (2008), appendix B, for inch, bar, pound-force per square inch and degree
Fahrenheit; both from memory.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal, localcontext
from fractions import Fraction

from walkapp.errors import InputError
from walkapp.language import tr

_PSI = Fraction("0.45359237") * Fraction("9.80665") / Fraction("0.0254") ** 2
"""Pascals: an avoirdupois pound under standard gravity on a square inch."""


@dataclass(frozen=True, slots=True)
class _Unit:
    """A unit: value in the base unit of its kind = number x `size` + `zero`."""

    kind: str
    size: Fraction
    zero: Fraction = Fraction(0)


_UNITS = {
    "mm": _Unit("length", Fraction(1, 1000)),
    "µm": _Unit("length", Fraction(1, 10**6)),
    "cm": _Unit("length", Fraction(1, 100)),
    "m": _Unit("length", Fraction(1)),
    "in": _Unit("length", Fraction("0.0254")),
    "N": _Unit("force", Fraction(1)),
    "kN": _Unit("force", Fraction(1000)),
    "°C": _Unit("temperature", Fraction(1)),
    "°F": _Unit("temperature", Fraction(5, 9), Fraction(-160, 9)),
    "g": _Unit("mass", Fraction(1)),
    "kg": _Unit("mass", Fraction(1000)),
    "Pa": _Unit("pressure", Fraction(1)),
    "bar": _Unit("pressure", Fraction(10**5)),
    "mbar": _Unit("pressure", Fraction(100)),
    "kPa": _Unit("pressure", Fraction(1000)),
    "MPa": _Unit("pressure", Fraction(10**6)),
    "psi": _Unit("pressure", _PSI),
    "s": _Unit("time", Fraction(1)),
    "min": _Unit("time", Fraction(60)),
    "Nm": _Unit("torque", Fraction(1)),
    "%": _Unit("share", Fraction(1)),
    "V": _Unit("voltage", Fraction(1)),
    "A": _Unit("current", Fraction(1)),
}

# no text: units
_WRITTEN = {
    "\N{GREEK SMALL LETTER MU}m": "µm", "um": "µm", "MM": "mm", "CM": "cm",
    '"': "in", "\N{DOUBLE PRIME}": "in", "IN": "in", "inch": "in", "INCH": "in", "Inch": "in",
    "C": "°C", "degC": "°C", "\N{DEGREE CELSIUS}": "°C",
    "F": "°F", "degF": "°F", "\N{DEGREE FAHRENHEIT}": "°F",
    "KG": "kg", "BAR": "bar", "PSI": "psi", "sec": "s", "N·m": "Nm", "N.m": "Nm", "N*m": "Nm", "N m": "Nm",
}  # fmt: skip
"""Other ways to write them, as instruments do. Capital letters stand here only where they can mean nothing
else: NM is no torque for sure, MPA no pressure."""

MOST_DECIMALS = 12
"""More decimals no converted value is given."""


def unit_called(written: str) -> str:
    """Give the name of a unit as this program writes it; empty when it knows none that is written so.

    Examples
    --------
    >>> unit_called("inch"), unit_called("um"), unit_called("furlong")
    ('in', 'µm', '')
    """
    name = _WRITTEN.get(written, written)
    return name if name in _UNITS else ""


def is_same_unit(one: str, other: str) -> bool:
    """Say whether two names mean the same unit; a name that is not known means only itself."""
    return one == other or (bool(unit_called(one)) and unit_called(one) == unit_called(other))


def converted(value: Decimal, given: str, wanted: str, limits: Iterable[Decimal] = ()) -> Decimal:
    """Convert a value to another unit of the same kind.

    Parameters
    ----------
    value
        A finite number in unit `given`.
    given, wanted
        Names of units.
    limits
        Numbers in unit `wanted` that the value is going to be compared with.

    Returns
    -------
    Decimal
        The exact value where it has a few decimals only. Otherwise it is rounded half to even, to a
        hundredth or less of the last digit of `value`, and finer where it would else lie on another side
        of a limit, or on it.

    Raises
    ------
    InputError
        If a unit is not known, or they are of different kinds.

    Examples
    --------
    >>> converted(Decimal("-0.050"), "in", "mm")
    Decimal('-1.27')
    >>> converted(Decimal("100.0"), "°F", "°C")
    Decimal('37.7778')
    """
    before, after = _UNITS.get(unit_called(given)), _UNITS.get(unit_called(wanted))
    if before is None or after is None or before.kind != after.kind:
        raise InputError(
            tr(
                "A value in {given} cannot be taken where {wanted} is asked for.",
                given=given,
                wanted=wanted or tr("no unit"),
            )
        )
    exact = (Fraction(value) * before.size + before.zero - after.zero) / after.size
    last_digit = Fraction(Decimal((0, (1,), int(value.as_tuple().exponent)))) * before.size / after.size
    least = _decimals_for(last_digit)
    whole = next((n for n in range(least, least + 4) if (exact * 10**n).denominator == 1), None)
    bounds = [Fraction(limit) for limit in limits]
    for decimals in range(least + 2 if whole is None else whole, MOST_DECIMALS + 1):
        rounded = _rounded(exact, decimals)
        if all(_side(Fraction(rounded), bound) == _side(exact, bound) for bound in bounds):
            return rounded
    raise InputError(
        tr("The value is too near a limit to be converted; set the instrument to the asked unit.")
    )


def _decimals_for(digit: Fraction) -> int:
    """Give how many decimals are needed so that one of the last place is not more than `digit`."""
    decimals = 0
    while Fraction(1, 10**decimals) > digit and decimals < MOST_DECIMALS:
        decimals += 1
    return decimals


def _rounded(exact: Fraction, decimals: int) -> Decimal:
    with localcontext() as context:
        context.prec, context.rounding = 60, ROUND_HALF_EVEN
        scaled = round(exact * 10**decimals)  # of a fraction: to the nearest, half to even
        number = Decimal(scaled).scaleb(-decimals)
    return number if number else abs(number)


def _side(value: Fraction, bound: Fraction) -> int:
    return (value > bound) - (value < bound)
