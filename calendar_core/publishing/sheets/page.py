"""A sheet as one self-contained page of HTML: it loads nothing and runs nothing, and breaks pages by itself."""

from __future__ import annotations

from typing import TYPE_CHECKING

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from calendar_core.publishing.sheets.codes import qr_svg

if TYPE_CHECKING:
    from calendar_core.publishing.sheets.content import ReviewSheet

TEMPLATE = "review.html.jinja"


def page(sheet: ReviewSheet) -> str:
    """Return a sheet as HTML; all text is escaped."""
    return rendered(TEMPLATE, sheet=sheet, words=sheet.words)


def rendered(template: str, **values: object) -> str:
    """Return a template of this room filled in; all text is escaped."""
    environment = Environment(
        loader=PackageLoader("calendar_core.publishing.sheets"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["qr"] = lambda text: Markup(qr_svg(text))  # noqa: S704 - it is made of squares alone
    return environment.get_template(template).render(**values)
