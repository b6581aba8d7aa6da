"""The page as PDF: vector lines at true size, the built-in letters every reader has, the same bytes every time."""

from io import BytesIO
from typing import Any, Final

from service.drawing.letters import eight_bit
from service.drawing.page import scene
from service.drawing.scene import Circle, Item, Path, Pen, Scene
from service.drawing.sheet import Sheet

POINTS_IN_MM: Final = 72.0 / 25.4


def pdf(sheet: Sheet) -> bytes:
    """The sheet as a PDF document of one page."""
    return pdf_of(scene(sheet))


def pdf_of(drawn: Scene) -> bytes:
    """A page as a PDF document."""
    # Asked for here and not at the top: it takes longer to load than the rest of the service's start allows for.
    from reportlab.pdfgen.canvas import Canvas  # type: ignore[import-untyped]  # it comes without types

    written = BytesIO()
    size = (drawn.width_mm * POINTS_IN_MM, drawn.height_mm * POINTS_IN_MM)
    # Invariant: no time of day and no random mark, so that the same sheet gives the same bytes.
    canvas = Canvas(written, pagesize=size, invariant=1, pageCompression=1, lang="en-GB")
    canvas.setTitle(drawn.title)
    canvas.setSubject(drawn.description)
    canvas.setAuthor("")
    canvas.setCreator("benchgate")
    canvas.setProducer("benchgate")
    canvas.setViewerPreference("PrintScaling", "None")  # a print dialogue then offers true size first
    canvas.setLineJoin(1)
    for group in drawn.groups:
        for item in group.items:
            _draw(canvas, item, drawn.height_mm)
    canvas.showPage()
    canvas.save()
    return written.getvalue()


def _draw(canvas: Any, item: Item, page_mm: float) -> None:
    """One item; a page of PDF is counted from its lower left corner, in points."""
    if isinstance(item, Path):
        path = canvas.beginPath()
        for count, (x, y) in enumerate(item.points):
            (path.lineTo if count else path.moveTo)(x * POINTS_IN_MM, (page_mm - y) * POINTS_IN_MM)
        if item.closed:
            path.close()
        _take_up(canvas, item.pen)
        canvas.drawPath(path, stroke=int(item.pen is not None), fill=int(item.pen is None))
    elif isinstance(item, Circle):
        _take_up(canvas, item.pen)
        x, y, radius = item.x * POINTS_IN_MM, (page_mm - item.y) * POINTS_IN_MM, item.radius_mm * POINTS_IN_MM
        canvas.circle(x, y, radius, stroke=int(item.pen is not None), fill=int(item.pen is None))
    else:
        canvas.setFont("Helvetica-Bold" if item.bold else "Helvetica", item.size_mm * POINTS_IN_MM)
        write = {"start": canvas.drawString, "middle": canvas.drawCentredString, "end": canvas.drawRightString}
        write[item.anchor](item.x * POINTS_IN_MM, (page_mm - item.y) * POINTS_IN_MM, eight_bit(item.words))


def _take_up(canvas: Any, pen: Pen | None) -> None:
    if pen is not None:
        canvas.setLineWidth(pen.width_mm * POINTS_IN_MM)
        canvas.setDash([dash * POINTS_IN_MM for dash in pen.dashes_mm])
