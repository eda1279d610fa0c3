"""Measures a PDF with pdfium: paths and pictures in millimetres from the page's top left."""

import ctypes
from dataclasses import dataclass

import pypdfium2 as pdfium
import pypdfium2.raw as raw

MM = 25.4 / 72  # ISO 32000-1, 8.3.2.3: the default unit is 1/72 inch


@dataclass(frozen=True)
class Box:
    left: float
    top: float
    right: float
    low: float

    @property
    def width(self) -> float:
        return self.right - self.left

    @property
    def height(self) -> float:
        return self.low - self.top


def pages(pdf: bytes) -> pdfium.PdfDocument:
    return pdfium.PdfDocument(pdf)


def size_mm(page) -> tuple[float, float]:
    width, height = page.get_size()
    return width * MM, height * MM


def boxes(page) -> list[Box]:
    """Bounds of every path's own points, whatever the width of its stroke."""
    _, height = page.get_size()
    found = []
    for thing in page.get_objects(filter=[raw.FPDF_PAGEOBJ_PATH]):
        assert tuple(thing.get_matrix().get()) == (1, 0, 0, 1, 0, 0), "nothing may scale or turn the sheet"
        points = []
        for i in range(raw.FPDFPath_CountSegments(thing.raw)):
            x, y = ctypes.c_float(), ctypes.c_float()
            assert raw.FPDFPathSegment_GetPoint(raw.FPDFPath_GetPathSegment(thing.raw, i), x, y)
            points.append((x.value * MM, (height - y.value) * MM))
        xs, ys = [x for x, _ in points], [y for _, y in points]
        found.append(Box(min(xs), min(ys), max(xs), max(ys)))
    return found


def pictures(page) -> list[Box]:
    _, height = page.get_size()
    found = []
    for thing in page.get_objects(filter=[raw.FPDF_PAGEOBJ_IMAGE]):
        left, low, right, top = thing.get_bounds()
        found.append(Box(left * MM, (height - top) * MM, right * MM, (height - low) * MM))
    return found


def text(page) -> str:
    return page.get_textpage().get_text_range()


def pixels(page, px_per_mm: float):
    """The page as (rows, cols, 3) uint8."""
    import numpy as np

    return np.asarray(page.render(scale=px_per_mm * MM).to_pil().convert("RGB"))


def rule_mm(page) -> list[float]:
    """Lengths of the long level lines that carry a tick every millimetre: the check rules."""
    lines = boxes(page)
    found = []
    for flat in lines:
        if flat.width < 90 or flat.height > 0.5:
            continue
        ticks = [x for x in lines if x.width < 0.3 and 1 < x.height < 4 and abs(x.low - flat.top) < 0.4]
        if len(ticks) == 101:
            centres = sorted((x.left + x.right) / 2 for x in ticks)
            found.append(centres[-1] - centres[0])
    return found
