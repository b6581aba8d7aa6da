"""The page as PDF: the same words in the same order, the built-in letters every reader has, the same bytes every time."""

from collections.abc import Sequence
from io import BytesIO
from typing import Any

from service.drawing.letters import broken, eight_bit
from service.drawing.pdf_writer import POINTS_IN_MM
from service.sheet_page import room
from service.sheet_page.code import code
from service.sheet_page.page import NAME, Line, Page
from service.sheet_page.rows import COLUMNS, EyeRow


def pdf(page: Page) -> bytes:
    """The page as a PDF document of one page."""
    # Asked for here and not at the top: it takes longer to load than the rest of the service's start allows for.
    from reportlab.pdfgen.canvas import Canvas  # type: ignore[import-untyped]  # it comes without types

    written = BytesIO()
    size = tuple(side * POINTS_IN_MM for side in room.PAGES_MM[page.size])
    # Invariant: no time of day and no random mark, so that the same sheet gives the same bytes.
    canvas = Canvas(written, pagesize=size, invariant=1, pageCompression=1, lang="en-GB")
    canvas.setTitle(page.title)
    canvas.setSubject(page.verdict)
    canvas.setAuthor("")
    canvas.setCreator("benchgate")
    canvas.setProducer("benchgate")
    _Sheet(canvas, page).write()
    canvas.showPage()
    canvas.save()
    return written.getvalue()


class _Sheet:
    """A pen on one page, that goes down from the upper margin; mm from the upper left corner."""

    def __init__(self, canvas: Any, page: Page) -> None:
        self.canvas = canvas
        self.page = page
        self.high = room.PAGES_MM[page.size][1]
        self.left = room.MARGIN_MM
        self.wide = room.width_mm(page.size)
        self.down = room.MARGIN_MM

    def write(self) -> None:
        """Everything on the page."""
        page = self.page
        self._head()
        if page.remarks_first:
            self._remarks()
        if page.eyes:
            self._heading(page.eyes_heading)
            self._table(page.eyes)
        if page.edging:
            self._heading(page.edging_heading)
            self._named(page.edging, room.EDGE_LABEL_MM, self.wide)
        if page.checks:
            self._heading(page.checks_heading)
            for words in page.checks:
                self._box(self.left, self.down + room.TICK_DOWN_MM, room.TICK_MM, room.TICK_MM, room.TICK_PEN_MM)
                self._words(words, self.left + room.BOX_MM, self.wide - room.BOX_MM)
                self.down += room.ROW_MM
        if page.cautions:
            self._heading(page.cautions_heading)
            self._words(" ".join(f"• {words}" for words in page.cautions), self.left, self.wide)
        if not page.remarks_first:
            self._remarks()
        self._rule(self.left, self.down, self.left + self.wide, self.down)
        self.down += 0.2
        self._words(page.foot, self.left, self.wide)

    def _head(self) -> None:
        page, top = self.page, self.down
        wide = self.wide - room.CODE_MM - room.GAP_MM
        self._code(self.left + wide + room.GAP_MM, top)
        self._line(NAME, self.left, room.TITLE_MM, room.TITLE_LINE_MM, bold=True)
        letters, line = page.reference_mm
        begun = self.down
        self._words(page.reference, self.left + room.NAME_MM, wide - room.NAME_MM, letters, line, bold=True)
        self.down = max(self.down, begun + room.TITLE_LINE_MM)
        size, high = room.VERDICT_MM[page.decision], room.VERDICT_ROOM_MM[page.decision] - room.VERDICT_BELOW_MM
        inset = 0.0
        if page.decision == "reject":
            pen = room.VERDICT_PEN_MM
            self._box(self.left + pen / 2.0, self.down + pen / 2.0, wide - pen, high - pen, pen)
            inset = pen + room.VERDICT_INSET_MM
        self._line(page.verdict, self.left + inset, size, high, bold=True)
        self.down += high + room.VERDICT_BELOW_MM
        self._named(page.head, room.HEAD_LABEL_MM, wide)
        self.down = max(self.down, top + room.CODE_MM) + room.GAP_MM

    def _remarks(self) -> None:
        page = self.page
        if page.remarks:
            self._heading(page.remarks_heading)
        for words in (*page.remarks, *([page.more] if page.more else [])):
            self._line("•", self.left + room.BULLET_MM, room.TEXT_MM, room.LINE_MM)
            self._words(words, self.left + room.BOX_MM, self.wide - room.BOX_MM)

    def _heading(self, words: str) -> None:
        self.down += room.HEADING_ABOVE_MM
        self._line(words, self.left, room.HEADING_MM, room.HEADING_LINE_MM, bold=True)
        self.down += room.HEADING_ROOM_MM - room.HEADING_ABOVE_MM

    def _named(self, lines: Sequence[Line], label_mm: float, wide: float) -> None:
        for line in lines:
            self._line(line.label, self.left, room.TEXT_MM, room.LINE_MM, bold=True)
            self._words(line.words, self.left + label_mm, wide - label_mm)

    def _table(self, rows: Sequence[EyeRow]) -> None:
        column = room.eye_column_mm(self.page.size)
        starts = (self.left, self.left + room.LABEL_MM, self.left + room.LABEL_MM + column)
        widths = (room.LABEL_MM, column, column)
        top = self.down
        self._rule(self.left, top, self.left + self.wide, top)
        head = EyeRow("", *COLUMNS)
        for number, row in enumerate((head, *rows)):
            bold = row.strong or number == 0
            size, line = (room.POWER_MM, room.POWER_LINE_MM) if row.strong else (room.FIGURE_MM, room.FIGURE_LINE_MM)
            begun, ended = self.down + room.ROW_MM / 2.0, self.down
            for words, start, width in zip((row.label, row.right, row.left), starts, widths, strict=True):
                self.down = begun
                self._words(words, start + room.CELL_MM, width - room.CELL_SIDES_MM, size, line, bold=bold)
                ended = max(ended, self.down)
            self.down = ended + room.ROW_MM / 2.0
            self._rule(self.left, self.down, self.left + self.wide, self.down)
        for x in (*starts, self.left + self.wide):
            self._rule(x, top, x, self.down)

    def _words(
        self,
        words: str,
        x: float,
        wide: float,
        size: float = room.TEXT_MM,
        line: float = room.LINE_MM,
        *,
        bold: bool = False,
    ) -> None:
        """Words broken into lines; the pen goes down with them."""
        for one in broken(eight_bit(words), wide, size, most=room.MOST_LINES, bold=bold):
            self._line(one, x, size, line, bold=bold)
            self.down += line

    def _line(self, words: str, x: float, size: float, line: float, *, bold: bool = False) -> None:
        """One line of words, its letters in the middle of the line's height; the pen stays."""
        self.canvas.setFont("Helvetica-Bold" if bold else "Helvetica", size * POINTS_IN_MM)
        stands = self.down + line / 2.0 + 0.36 * size
        self.canvas.drawString(x * POINTS_IN_MM, (self.high - stands) * POINTS_IN_MM, eight_bit(words))

    def _rule(self, x: float, y: float, to_x: float, to_y: float) -> None:
        self.canvas.setLineWidth(room.RULE_MM * POINTS_IN_MM)
        self.canvas.line(*(side * POINTS_IN_MM for side in (x, self.high - y, to_x, self.high - to_y)))

    def _box(self, x: float, y: float, wide: float, high: float, pen_mm: float) -> None:
        self.canvas.setLineWidth(pen_mm * POINTS_IN_MM)
        self.canvas.rect(*(side * POINTS_IN_MM for side in (x, self.high - y - high, wide, high)), stroke=1, fill=0)

    def _code(self, x: float, y: float) -> None:
        block = code(self.page.code)
        square = room.CODE_MM / block.side
        path = self.canvas.beginPath()
        for run in block.runs:
            path.rect(
                (x + run.across * square) * POINTS_IN_MM,
                (self.high - y - (run.down + 1) * square) * POINTS_IN_MM,
                run.count * square * POINTS_IN_MM,
                square * POINTS_IN_MM,
            )
        self.canvas.drawPath(path, stroke=0, fill=1)
