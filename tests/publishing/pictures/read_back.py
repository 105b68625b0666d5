"""A picture read back from its SVG: its lines, its texts as a real font sets them, and what must hold of any."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from itertools import combinations
from pathlib import Path
from xml.etree import ElementTree as ET

import matplotlib as mpl
from PIL import ImageFont

SVG = "{http://www.w3.org/2000/svg}"
SIZE = 15.0
CLASSES = {"ink", "quiet", "rule", "night", "accent", "hatch", "halo", "picture"}
Point = tuple[float, float]


@dataclass(frozen=True)
class Text:
    words: str
    x: float
    y: float
    left: float
    right: float
    ink: str
    bold: bool


@dataclass(frozen=True)
class Stroke:
    ink: str
    pieces: tuple[tuple[Point, ...], ...]
    width: float
    dashes: str

    @property
    def points(self) -> tuple[Point, ...]:
        return tuple(point for piece in self.pieces for point in piece)


@dataclass(frozen=True)
class Bar:
    left: float
    top: float
    right: float
    bottom: float
    stops: tuple[Point, ...]
    hatched: bool


@cache
def _font(bold: bool) -> ImageFont.FreeTypeFont:
    """A serif of common width (of Times), as it comes with matplotlib."""
    name = "STIXGeneralBol.ttf" if bold else "STIXGeneral.ttf"
    return ImageFont.truetype(Path(mpl.get_data_path()) / "fonts" / "ttf" / name, 100)


class Picture:
    """What a picture shows; whatever must hold of every picture is checked as it is read."""

    def __init__(self, svg: str) -> None:
        self.root = ET.fromstring(svg)  # noqa: S314 - our own text
        assert self.root.get("role") == "img"
        assert self.root.get("aria-label")
        self.width, self.height = map(float, self.root.attrib["viewBox"].split()[2:])
        assert float(self.root.attrib["font-size"]) >= SIZE
        assert "nan" not in svg.lower()
        assert "inf" not in re.sub(r">[^<]*<|aria-label=\"[^\"]*\"", "", svg).lower()
        for element in self.root.iter():
            assert "style" not in element.attrib
            assert "font-size" not in element.attrib or element is self.root
            assert set(element.get("class", "ink").split()) <= CLASSES
            for name in ("fill", "stroke", "stop-color"):
                assert re.fullmatch(r"none|currentColor|url\(#[\w-]+\)", element.get(name, "none"))
        ids = [element.attrib["id"] for element in self.root.iter() if "id" in element.attrib]
        assert sorted(set(ids)) == sorted(ids)
        assert set(re.findall(r"url\(#([\w-]+)\)", svg)) == set(ids)
        self.texts = [self._text(element) for element in self.root.iter(f"{SVG}text")]
        self.strokes = [self._stroke(e) for e in self.root.iter(f"{SVG}path") if e.get("fill") == "none"]
        self.bars = [self._bar(element) for element in self.root.iter(f"{SVG}rect")]
        self._check_texts()
        self._check_places()

    def text(self, words: str) -> Text:
        (found,) = (text for text in self.texts if text.words == words)
        return found

    def said(self) -> str:
        return self.root.attrib["aria-label"]

    def _text(self, element: ET.Element) -> Text:
        words, bold = element.text or "", element.get("font-weight") == "bold"
        x, y = float(element.attrib["x"]), float(element.attrib["y"])
        wide = _font(bold).getlength(words) * SIZE / 100
        left = x - wide * {"start": 0.0, "middle": 0.5, "end": 1.0}[element.get("text-anchor", "start")]
        return Text(words, x, y, left, left + wide, element.attrib["class"].split()[0], bold)

    def _stroke(self, element: ET.Element) -> Stroke:
        pieces = []
        for piece in element.attrib["d"].split("M")[1:]:
            pairs = (pair.split() for pair in piece.split("L"))
            pieces.append(tuple((float(x), float(y)) for x, y in pairs))
        dashes, width = element.get("stroke-dasharray", ""), float(element.attrib["stroke-width"])
        return Stroke(element.attrib["class"], tuple(pieces), width, dashes)

    def _bar(self, element: ET.Element) -> Bar:
        left, top, wide, high = (float(element.attrib[name]) for name in ("x", "y", "width", "height"))
        fill = element.attrib["fill"].removeprefix("url(#").removesuffix(")")
        stops = [
            (left + float(stop.attrib["offset"]) * wide, float(stop.attrib["stop-opacity"]))
            for gradient in self.root.iter(f"{SVG}linearGradient")
            if gradient.attrib["id"] == fill
            for stop in gradient
        ]
        hatched = any(pattern.attrib["id"] == fill for pattern in self.root.iter(f"{SVG}pattern"))
        return Bar(left, top, left + wide, top + high, tuple(stops), hatched)

    def _check_texts(self) -> None:
        """No text leaves the picture or meets another, as a real font sets it."""
        for text in self.texts:
            assert text.left >= -0.5, text
            assert text.right <= self.width + 0.5, text
            assert text.y - 0.7 * SIZE >= -0.5, text
            assert text.y + 0.22 * SIZE <= self.height + 0.5, text
        for one, other in combinations(self.texts, 2):
            apart = one.right <= other.left or other.right <= one.left or abs(one.y - other.y) >= 0.92 * SIZE
            assert apart, (one, other)

    def _check_places(self) -> None:
        for x, y in (point for stroke in self.strokes for point in stroke.points):
            assert -0.5 <= x <= self.width + 0.5
            assert -0.5 <= y <= self.height + 0.5
        for bar in self.bars:
            assert -0.5 <= bar.left < bar.right <= self.width + 0.5
            assert -0.5 <= bar.top < bar.bottom <= self.height + 0.5
            assert all(0.0 <= strength <= 1.0 for _, strength in bar.stops)
