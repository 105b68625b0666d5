"""What the grower typed about a product and a can, checked: ``--label``, ``--rate``, ``--can``, ``--liquid``."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Annotated

from pydantic import AfterValidator, Field

from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.forms import Strict, as_option, checked, shortened
from calendar_core.planning.feeding.dose import Product
from calendar_core.science.tree.nutrients import (
    GRAMS_PER_OUNCE,
    LITRES_PER_GALLON,
    ML_PER_FLUID_OUNCE,
    ML_PER_TEASPOON,
    ProductLabel,
    grams,
)

if TYPE_CHECKING:
    from calendar_core.garden.model import Units

NUMBER = r"(\d{1,6}(?:[.,]\d{1,6})?)"
BY_MASS = {  # grams of product a litre
    "g/l": 1.0,
    "g/gal": 1 / LITRES_PER_GALLON,
    "oz/gal": GRAMS_PER_OUNCE / LITRES_PER_GALLON,
    "oz/100gal": GRAMS_PER_OUNCE / LITRES_PER_GALLON / 100,
}
BY_VOLUME = {  # millilitres of liquid product a litre
    "ml/l": 1.0,
    "ml/gal": 1 / LITRES_PER_GALLON,
    "floz/gal": ML_PER_FLUID_OUNCE / LITRES_PER_GALLON,
    "tsp/gal": ML_PER_TEASPOON / LITRES_PER_GALLON,
}


def _label(text: str | None) -> str | None:
    if text is not None:
        label_of(text)
    return text


def _rate(text: str | None) -> str | None:
    if text is not None:
        rate_of(text)
    return text


class Typed(Strict):
    """The options as typed."""

    label: Annotated[str | None, AfterValidator(_label)] = None
    rate: Annotated[str | None, AfterValidator(_rate)] = None
    can: Annotated[float | None, Field(gt=0, le=10000)] = None
    liquid: Annotated[float | None, Field(ge=0.5, le=3)] = None


def product_of(
    label: str | None, rate: str | None, liquid: float | None, can: float | None
) -> Product | None:
    """Return the product the options tell of, None without a label.

    Raises
    ------
    Refusal
        With one line for each option that cannot be meant.
    """
    checked(Typed, {"label": label, "rate": rate, "can": can, "liquid": liquid}, as_option)
    if label is None:
        for name, given in (("--rate", rate), ("--liquid", liquid), ("--can", can)):
            if given is not None:
                raise Refusal(
                    f"{name} goes with --label; right would be its three numbers too, such as 20-20-20"
                )
        return None
    product = Product(label_of(label), None if rate is None else _grams_per_litre(rate, liquid), liquid)
    if product.label.n == 0 and product.rate_g_l is None:
        raise Refusal(
            "--label: a product without nitrogen is measured by its label; right would be --rate as well"
        )
    return product


def label_of(text: str) -> ProductLabel:
    """Return a label from its three numbers as printed. Raises ValueError.

    >>> label_of("7-10.5-6")
    ProductLabel(n=7.0, p2o5=10.5, k2o=6.0)
    """
    found = re.fullmatch(rf"\s*{NUMBER}\s*[-–/]\s*{NUMBER}\s*[-–/]\s*{NUMBER}\s*", text)
    if found is None:
        raise ValueError(
            f"found {shortened(text)}; right would be three numbers as printed, such as 20-20-20"
        )
    try:
        return ProductLabel(*(_number(part) for part in found.groups()))
    except ValueError as error:
        raise ValueError(f"{shortened(text)}: {error}") from None


def rate_of(text: str) -> tuple[float, str]:
    """Return a rate as number and unit. Raises ValueError.

    >>> rate_of("1.5 g/L"), rate_of("2 fl oz/gal")
    ((1.5, 'g/l'), (2.0, 'floz/gal'))
    """
    found = re.fullmatch(rf"{NUMBER}([a-z][a-z0-9/]*)", re.sub(r"\s", "", text).lower())
    if found is None or found[2] not in BY_MASS | BY_VOLUME or _number(found[1]) == 0:
        units = "g/L, mL/L, g/gal, oz/gal, oz/100gal, mL/gal, fl oz/gal or tsp/gal"
        raise ValueError(
            f"found {shortened(text)}; right would be a number and a unit such as 1 g/L: {units}"
        )
    return _number(found[1]), found[2]


def _grams_per_litre(rate: str, density: float | None) -> float:
    amount, unit = rate_of(rate)
    if unit in BY_MASS:
        return amount * BY_MASS[unit]
    if density is None:
        raise Refusal(
            "--rate by volume is for liquids; right would be --liquid with its density, such as 1.2, or a rate by weight"
        )
    return grams(amount * BY_VOLUME[unit], density)


def litres_of(can: float | None, units: Units) -> float:
    """Return the water in a can, given in gallons where those are used; a litre or a gallon where none is given."""
    return (1.0 if can is None else can) * (LITRES_PER_GALLON if units == "us" else 1.0)


def _number(text: str) -> float:
    return float(text.replace(",", "."))
