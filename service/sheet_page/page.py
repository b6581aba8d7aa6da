"""What stands on the sheet, as plain words and rows: the one source of both files.

What must be seen always is: the decision, the figures of both lenses, the checklist and the cautions. The findings and what
was assumed get the room that is left; what has none is counted, and stands in the answer. On the rare page that is full
before the gravest finding has its lines, the words on what is usual at the wheel give way, which are custom and not the
order's, and then all but the first line of a very long reference.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

from service.contract.answer import Finding
from service.contract.sheet import BenchSheet, Edging, SheetPair
from service.order_digest import code_text, in_groups
from service.sheet_page import room
from service.sheet_page.room import PageSize, plain
from service.sheet_page.rows import AFTER_EDGING, NOT_KNOWN, WRITE, EyeRow, eye_rows

VERDICTS: Final = {
    "accept": "ACCEPT",
    "review": "REVIEW: A PERSON MUST LOOK BEFORE THIS IS CUT",
    "reject": "REJECT: DO NOT CUT",
}
NAME: Final = "Bench sheet"
_TO_WRITE: Final = {
    # A blank that does not break keeps a line to write on with its name.
    "centre-distance": f"Read:\u00a0{WRITE}\u00a0mm",
    "heights": f"Read: R\u00a0{'_' * 8} L\u00a0{'_' * 8}\u00a0mm",
    "impact-resistance": f"Test:\u00a0{WRITE}",
}
_LEAST_REMARK_LINES: Final = 4
_TITLE_LINES: Final = 2
_SMALL_TITLE_LINES: Final = 4


@dataclass(frozen=True, slots=True)
class Line:
    """Words under a name."""

    label: str
    words: str


_EDGING_ELSEWHERE: Final = Line("Edge", "no room on this page: see the answer to POST /v1/bench/sheet as JSON.")


@dataclass(frozen=True, slots=True)
class Page:
    """Everything on one page, top to bottom. `more` tells what had no room."""

    size: PageSize
    title: str
    reference: str
    small_reference: bool
    decision: str
    verdict: str
    code: str
    head: tuple[Line, ...]
    eyes_heading: str
    eyes: tuple[EyeRow, ...]
    edging_heading: str
    edging: tuple[Line, ...]
    checks_heading: str
    checks: tuple[str, ...]
    cautions_heading: str
    cautions: tuple[str, ...]
    remarks_heading: str
    remarks: tuple[str, ...]
    more: str
    remarks_first: bool
    foot: str

    @property
    def reference_mm(self) -> tuple[float, float]:
        """Size of the reference's letters, and from one line of it to the next."""
        if self.small_reference:
            return room.SMALL_TITLE_MM, room.SMALL_TITLE_LINE_MM
        return room.TITLE_MM, room.TITLE_LINE_MM


def page(sheet: BenchSheet, size: PageSize) -> Page:
    """The page of a sheet: always one."""
    rejected = sheet.decision == "reject"
    reference = plain(sheet.reference or "")
    beside = room.width_mm(size) - room.CODE_MM - room.GAP_MM - room.NAME_MM
    small = room.lines(reference, beside, room.TITLE_MM, bold=True) > _TITLE_LINES
    engine = sheet.engine
    # What is not to be cut is not edged either; the room goes to the findings.
    edging = None if rejected else sheet.edging
    whole = Page(
        size=size,
        title=f"{NAME} {reference}".strip(),
        reference=room.shortened(reference, beside, room.SMALL_TITLE_MM, most=_SMALL_TITLE_LINES, bold=True)
        if small
        else reference,
        small_reference=small,
        decision=sheet.decision,
        verdict=VERDICTS[sheet.decision],
        code=code_text(sheet.order_digest),
        head=tuple(_plain(one) for one in _head(sheet)),
        eyes_heading="Set and read" + (" (rejected: do not cut)" if rejected else ""),
        eyes=tuple(
            EyeRow(row.label, plain(row.right), plain(row.left), row.strong)
            for row in eye_rows(sheet)
            if not (rejected and row.label == AFTER_EDGING)
        ),
        edging_heading=""
        if edging is None
        else f"Usual for {edging.family} (common practice, no source; the maker's word comes first)",
        edging=() if edging is None else tuple(_edging(edging)),
        checks_heading="Checklist (common practice where no source is named)",
        checks=tuple(_checks(sheet)),
        cautions_heading="Cautions",
        cautions=tuple(plain(one.message) for one in sheet.cautions),
        remarks_heading="Findings and assumptions",
        remarks=(),
        more="",
        remarks_first=sheet.decision != "accept",
        foot=plain(
            f"benchgate {engine.version}; {engine.rules}; profile: {engine.profile}. Figures not known are to be measured."
        ),
    )
    return _with_remarks(whole, tuple(dict.fromkeys(plain(words) for words in _remarks(sheet))))


def _plain(line: Line) -> Line:
    return Line(line.label, plain(line.words))


def _head(sheet: BenchSheet) -> Iterator[Line]:
    if sheet.pair is not None:
        pair = sheet.pair
        ed = f"{pair.ed_mm:g}" if pair.ed_mm is not None else NOT_KNOWN
        depth = "" if pair.rim_depth_mm is None else f", {pair.rim_depth_mm:g} mm deep"
        yield Line(
            "Frame",
            f"A {pair.a_mm:g}, B {pair.b_mm:g}, DBL {pair.dbl_mm:g}, ED {ed}, frame PD {round(pair.frame_pd_mm, 2):g} mm; "
            f"{pair.rim} rim{depth}",
        )
        yield Line("Lens", _lens(pair))
        apart = NOT_KNOWN if pair.centres_apart_mm is None else f"{round(pair.centres_apart_mm, 2):g} mm"
        yield Line("Centres", f"{apart} apart; limits of {pair.tolerance_standard}")
    yield Line("Order", f"{in_groups(sheet.order_digest)} (first of its SHA-256; the code holds all of it)")


def _lens(pair: SheetPair) -> str:
    material = "material not known" if pair.material is None else f"{pair.material.name}, n {pair.material.index_d:g}"
    tint = {"none": "", "even": ", tinted", "gradient": ", gradient tint"}[pair.tint]
    return f"{material}; {pair.use}{tint}{', polarised' if pair.polarised else ''}"


def _edging(edging: Edging) -> Iterator[Line]:
    yield Line("Edge", edging.edge)
    yield Line("Safety bevel", edging.safety_bevel)
    yield Line("Finish", edging.finish)
    yield Line("Cutting", edging.cutting)
    if edging.drilling is not None:
        yield Line("Drilling", edging.drilling)


def _checks(sheet: BenchSheet) -> Iterator[str]:
    for item in sheet.checklist:
        identity = item.source.rpartition("[")[2].rstrip("]")
        source = "" if identity == "common-practice" or identity in item.words else f" [{identity}]"
        to_write = _TO_WRITE.get(item.code, "")
        yield f"{plain(item.words + source)} {to_write}".strip()


def _remarks(sheet: BenchSheet) -> Iterator[str]:
    for finding in sheet.findings:
        yield f"{finding.severity.upper()}{_eye_of(finding)}: {finding.message}"
    for taken in sheet.assumptions:
        value = taken.value if isinstance(taken.value, str) else f"{round(taken.value, 2):g}"
        yield f"Assumed: {taken.reason} ({value})"


def _eye_of(finding: Finding) -> str:
    return "" if finding.eye is None else f" ({finding.eye})"


def _with_remarks(whole: Page, remarks: tuple[str, ...]) -> Page:
    """As many of the findings as there is room for, the gravest first, and how many more there are."""
    wide = room.width_mm(whole.size)
    lines_left = _lines_left(whole)
    if lines_left < _LEAST_REMARK_LINES and whole.edging:
        whole = replace(whole, edging=(_EDGING_ELSEWHERE,))
        lines_left = _lines_left(whole)
    if lines_left < _LEAST_REMARK_LINES and whole.small_reference:
        beside = wide - room.CODE_MM - room.GAP_MM - room.NAME_MM
        short = room.shortened(whole.reference, beside, room.SMALL_TITLE_MM, most=1, bold=True)
        whole = replace(whole, reference=short)
        lines_left = _lines_left(whole)
    lines_left = max(lines_left, 1)
    kept: list[str] = []
    for number, words in enumerate(remarks):
        last = number == len(remarks) - 1
        most = lines_left - (0 if last else 1)  # a line for how many more there are
        needed = room.lines(words, wide - room.BOX_MM, room.TEXT_MM)
        if needed > most and kept:
            break
        kept.append(room.shortened(words, wide - room.BOX_MM, room.TEXT_MM, most=max(most, 1)))
        lines_left -= min(needed, max(most, 1))
    missing = len(remarks) - len(kept)
    more = f"and {missing} more: see the answer to POST /v1/orders/check, or benchgate check" if missing else ""
    return replace(whole, remarks=tuple(kept), more=more)


def _lines_left(whole: Page) -> int:
    left = room.height_mm(whole.size) - height_mm(whole) - room.HEADING_ROOM_MM
    return int(left / room.LINE_MM)


def height_mm(whole: Page) -> float:
    """What the page takes without the findings, at most, in either file."""
    wide, size = room.width_mm(whole.size), whole.size
    head_room = wide - room.CODE_MM - room.GAP_MM
    head = room.VERDICT_ROOM_MM[whole.decision]
    letters, spacing = whole.reference_mm
    head += spacing * room.lines(whole.reference, head_room - room.NAME_MM, letters, bold=True)
    head += sum(_block(line.words, head_room - room.HEAD_LABEL_MM) for line in whole.head)
    total = max(head, room.CODE_MM) + room.GAP_MM
    if whole.eyes:
        total += 2.0 * room.HEADING_ROOM_MM
        total += sum(_eye_row(row, size) for row in whole.eyes)
    if whole.edging:
        total += room.HEADING_ROOM_MM + sum(_block(one.words, wide - room.EDGE_LABEL_MM) for one in whole.edging)
    if whole.checks:
        total += room.HEADING_ROOM_MM + sum(_block(words, wide - room.BOX_MM) + room.ROW_MM for words in whole.checks)
    if whole.cautions:
        total += room.HEADING_ROOM_MM + _block(" ".join(f"• {words}" for words in whole.cautions), wide)
    return total + _block(whole.foot, wide) + room.ROW_MM


def _block(words: str, wide_mm: float) -> float:
    return room.LINE_MM * room.lines(words, wide_mm, room.TEXT_MM)


def _eye_row(row: EyeRow, size: PageSize) -> float:
    letters, line = (room.POWER_MM, room.POWER_LINE_MM) if row.strong else (room.FIGURE_MM, room.FIGURE_LINE_MM)
    cells = [(row.label, room.LABEL_MM), (row.right, room.eye_column_mm(size)), (row.left, room.eye_column_mm(size))]
    return line * room.tallest(cells, letters, bold=row.strong) + room.ROW_MM
