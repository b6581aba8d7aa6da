"""The page as SVG: sizes in millimetres, plain elements, no style sheet, no script, nothing from elsewhere.

Widths of words are fitted to those the layout counted on, whatever typeface the viewer takes for "sans-serif".
"""

from xml.sax.saxutils import escape

from service.drawing.page import scene
from service.drawing.scene import Circle, Item, Path, Pen, Scene
from service.drawing.sheet import Sheet


def svg(sheet: Sheet) -> bytes:
    """The sheet as an SVG document in UTF-8."""
    return svg_of(scene(sheet))


def svg_of(drawn: Scene) -> bytes:
    """A page as an SVG document in UTF-8."""
    wide, high = _figure(drawn.width_mm), _figure(drawn.height_mm)
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide}mm" height="{high}mm" viewBox="0 0 {wide} {high}"'
        ' role="img" aria-labelledby="sheet-title sheet-description" font-family="sans-serif">',
        f'<title id="sheet-title">{escape(drawn.title)}</title>',
        f'<desc id="sheet-description">{escape(drawn.description)}</desc>',
        f'<rect id="page" width="{wide}" height="{high}" fill="white"/>',
    ]
    for group in drawn.groups:
        lines.append(f'<g id="{group.name}">')
        lines += [_element(item) for item in group.items]
        lines.append("</g>")
    lines.append("</svg>\n")
    return "\n".join(lines).encode()


def _element(item: Item) -> str:
    if isinstance(item, Path):
        points = " ".join(f"{_figure(x)},{_figure(y)}" for x, y in item.points)
        return f'<{"polygon" if item.closed else "polyline"} points="{points}"{_stroke(item.pen)}/>'
    if isinstance(item, Circle):
        place = f'cx="{_figure(item.x)}" cy="{_figure(item.y)}" r="{_figure(item.radius_mm)}"'
        return f"<circle {place}{_stroke(item.pen)}/>"
    anchor = "" if item.anchor == "start" else f' text-anchor="{item.anchor}"'
    bold = ' font-weight="bold"' if item.bold else ""
    return (
        f'<text x="{_figure(item.x)}" y="{_figure(item.y)}" font-size="{_figure(item.size_mm)}"{bold}{anchor}'
        f' textLength="{_figure(item.width_mm)}" lengthAdjust="spacingAndGlyphs">{escape(item.words)}</text>'
    )


def _stroke(pen: Pen | None) -> str:
    if pen is None:
        return ' fill="black"'
    dashes = f' stroke-dasharray="{" ".join(map(_figure, pen.dashes_mm))}"' if pen.dashes_mm else ""
    return f' fill="none" stroke="black" stroke-width="{_figure(pen.width_mm)}" stroke-linejoin="round"{dashes}'


def _figure(value: float) -> str:
    """Millimetres to a thousandth, no more figures than needed, and no minus before nothing."""
    return f"{round(value, 3) + 0.0:.3f}".rstrip("0").rstrip(".")
