"""The page as HTML that stands by itself: one style within, no script, nothing from elsewhere; black on white.

A browser runs or loads nothing that the policy beside it does not name, and it names this one style by its digest.
"""

import base64
import hashlib
from collections.abc import Iterable
from functools import cache
from html import escape
from typing import Final

from service.sheet_page import room
from service.sheet_page.code import code
from service.sheet_page.page import NAME, Line, Page
from service.sheet_page.room import PageSize
from service.sheet_page.rows import COLUMNS, EyeRow

_PAPER: Final[dict[PageSize, str]] = {"a4": "A4", "letter": "Letter"}
_VERDICT: Final = "\n".join(
    f".{name} .verdict {{ font-size: {size}mm; line-height: {room.VERDICT_ROOM_MM[name] - room.VERDICT_BELOW_MM:g}mm; }}"
    for name, size in room.VERDICT_MM.items()
)
# Within the box of a rejection: what the page has for the verdict, less the box's own lines.
_IN_BOX_MM: Final = room.VERDICT_ROOM_MM["reject"] - room.VERDICT_BELOW_MM - 2.0 * room.VERDICT_PEN_MM


@cache
def style(size: PageSize) -> str:
    """The style of a page of this size; every height is that which the room was counted with."""
    return f"""
@page {{ size: {_PAPER[size]} portrait; margin: {room.MARGIN_MM:g}mm; }}
* {{ margin: 0; padding: 0; box-sizing: border-box; }}
html {{ background: white; color: black; }}
body {{ width: {room.width_mm(size):g}mm; margin: 0 auto; overflow-wrap: anywhere;
  font: {room.TEXT_MM}mm/{room.LINE_MM}mm Arial, Helvetica, "Liberation Sans", "DejaVu Sans", sans-serif; }}
@media screen {{ body {{ margin: {room.MARGIN_MM:g}mm auto; }} }}
header {{ display: grid; grid-template-columns: 1fr {room.CODE_MM:g}mm; column-gap: {room.GAP_MM:g}mm; }}
header svg {{ width: {room.CODE_MM:g}mm; height: {room.CODE_MM:g}mm; }}
h1 {{ display: grid; grid-template-columns: {room.NAME_MM - 2.0:g}mm 1fr; column-gap: 2mm; overflow: hidden;
  font-size: {room.TITLE_MM}mm; line-height: {room.TITLE_LINE_MM}mm; }}
h1 .small {{ font-size: {room.SMALL_TITLE_MM}mm; line-height: {room.SMALL_TITLE_LINE_MM}mm; }}
.verdict {{ font-weight: bold; margin-bottom: {room.VERDICT_BELOW_MM:g}mm; }}
{_VERDICT}
.reject .verdict {{ border: {room.VERDICT_PEN_MM:g}mm solid black; padding-left: {room.VERDICT_INSET_MM:g}mm;
  line-height: {_IN_BOX_MM:g}mm; }}
h2 {{ font-size: {room.HEADING_MM}mm; line-height: {room.HEADING_LINE_MM:g}mm; padding-top: {room.HEADING_ABOVE_MM:g}mm;
  height: {room.HEADING_ROOM_MM}mm; }}
dl.head {{ display: grid; grid-template-columns: {room.HEAD_LABEL_MM:g}mm 1fr; }}
dl.edging {{ display: grid; grid-template-columns: {room.EDGE_LABEL_MM:g}mm 1fr; }}
dt {{ font-weight: bold; }}
table {{ width: 100%; border-collapse: collapse; table-layout: fixed; font-size: {room.FIGURE_MM}mm;
  line-height: {room.FIGURE_LINE_MM}mm; }}
col.label {{ width: {room.LABEL_MM:g}mm; }}
th, td {{ border: {room.RULE_MM:g}mm solid black; text-align: left; vertical-align: top; padding: 0.1mm {room.CELL_MM:g}mm; }}
th {{ font-weight: normal; }}
thead th, .strong td, .strong th {{ font-weight: bold; }}
.strong td, .strong th {{ font-size: {room.POWER_MM}mm; line-height: {room.POWER_LINE_MM}mm; }}
ul {{ list-style: none; }}
.checks li, .remarks li {{ position: relative; padding-left: {room.BOX_MM:g}mm; }}
.checks li {{ padding-bottom: {room.ROW_MM}mm; }}
.checks li::before {{ content: ""; position: absolute; left: 0; top: {room.TICK_DOWN_MM:g}mm; width: {room.TICK_MM:g}mm;
  height: {room.TICK_MM:g}mm; border: {room.TICK_PEN_MM:g}mm solid black; }}
.remarks li::before {{ content: "•"; position: absolute; left: {room.BULLET_MM:g}mm; }}
.cautions li {{ display: inline; }}
.cautions li::before {{ content: "• "; }}
footer {{ border-top: {room.RULE_MM:g}mm solid black; padding-top: 0.2mm; }}
"""


@cache
def policy(size: PageSize) -> str:
    """What a browser may do with such a page: take its one style, and nothing else."""
    digest = base64.b64encode(hashlib.sha256(style(size).encode()).digest()).decode()
    return (
        f"default-src 'none'; style-src 'sha256-{digest}'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
    )


def html(page: Page) -> bytes:
    """The page as an HTML document in UTF-8."""
    return "\n".join(_lines(page)).encode()


def _lines(page: Page) -> Iterable[str]:
    yield "<!doctype html>"
    yield '<html lang="en">'
    yield f'<head>\n<meta charset="utf-8">\n<title>{escape(page.title)}</title>'
    yield f"<style>{style(page.size)}</style>\n</head>"
    yield f'<body class="{page.decision}">'
    yield "<header>\n<div>"
    small = ' class="small"' if page.small_reference else ""
    yield f"<h1><span>{NAME}</span> <span{small}>{escape(page.reference)}</span></h1>"
    yield f'<p class="verdict">{escape(page.verdict)}</p>'
    yield from _named("head", page.head)
    yield f"</div>\n{_code(page.code)}\n</header>\n<main>"
    remarks = (*page.remarks, *([page.more] if page.more else []))
    if page.remarks_first:
        yield from _list("remarks", page.remarks_heading, remarks)
    if page.eyes:
        yield f"<h2>{escape(page.eyes_heading)}</h2>"
        yield from _table(page.eyes)
    if page.edging:
        yield f"<h2>{escape(page.edging_heading)}</h2>"
        yield from _named("edging", page.edging)
    yield from _list("checks", page.checks_heading, page.checks)
    yield from _list("cautions", page.cautions_heading, page.cautions)
    if not page.remarks_first:
        yield from _list("remarks", page.remarks_heading, remarks)
    yield f"</main>\n<footer><p>{escape(page.foot)}</p></footer>\n</body>\n</html>\n"


def _named(name: str, lines: Iterable[Line]) -> Iterable[str]:
    yield f'<dl class="{name}">'
    for line in lines:
        yield f"<dt>{escape(line.label)}</dt><dd>{escape(line.words)}</dd>"
    yield "</dl>"


def _table(rows: Iterable[EyeRow]) -> Iterable[str]:
    yield '<table>\n<colgroup><col class="label"><col><col></colgroup>'
    names = "".join(f'<th scope="col">{name}</th>' for name in COLUMNS)
    yield f"<thead><tr><td></td>{names}</tr></thead>\n<tbody>"
    for row in rows:
        strong = ' class="strong"' if row.strong else ""
        cells = f"<td>{escape(row.right)}</td><td>{escape(row.left)}</td>"
        yield f'<tr{strong}><th scope="row">{escape(row.label)}</th>{cells}</tr>'
    yield "</tbody>\n</table>"


def _list(name: str, heading: str, items: tuple[str, ...]) -> Iterable[str]:
    if items:
        yield f"<h2>{escape(heading)}</h2>"
        yield f'<ul class="{name}">'
        yield from (f"<li>{escape(words)}</li>" for words in items)
        yield "</ul>"


def _code(text: str) -> str:
    block = code(text)
    path = "".join(f"M{run.across} {run.down}h{run.count}v1h-{run.count}z" for run in block.runs)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {block.side} {block.side}" role="img" '
        f'aria-label="Code block: {escape(text)}" shape-rendering="crispEdges">'
        f'<rect width="{block.side}" height="{block.side}" fill="white"/><path d="{path}" fill="black"/></svg>'
    )
