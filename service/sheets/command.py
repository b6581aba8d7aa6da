"""`benchgate sheet`: a sheet of orders in, the same sheet checked out."""

import argparse
import sys
from collections.abc import Callable
from contextlib import AbstractContextManager, nullcontext
from datetime import date
from pathlib import Path
from typing import Any, Final

from service.profile.loader import load
from service.settings import Settings
from service.sheets.elsewhere import there
from service.sheets.fault import SheetError
from service.sheets.outcome import WORDS
from service.sheets.run import Judge, Result, checked_sheet, here
from service.sheets.text_table import ENCODINGS

UNREADABLE: Final = 3
INTERRUPTED: Final = 130  # as shells have it
_DESCRIPTION: Final = (
    "Check a sheet of orders, a row each: a workbook (.xlsx) or a CSV file. The output holds your columns in their order and "
    "the answer at their right; a workbook has every finding on a second sheet. A run that was stopped goes on where it was "
    "when it is started again. Exit code: 0 all accepted, 1 some for review, 2 some rejected or not readable, 3 nothing "
    "written, 130 stopped."
)


def add_to(commands: Any, today: Callable[[], date]) -> None:
    """Add the command to those of the command line."""
    sheet = commands.add_parser("sheet", help="check a sheet of orders (.xlsx or .csv)", description=_DESCRIPTION)
    sheet.add_argument("file", metavar="FILE", help="the orders, .xlsx or .csv")
    sheet.add_argument("-o", "--output", metavar="OUT", required=True, help="file to write, .xlsx or .csv")
    sheet.add_argument("--sheet", metavar="NAME", help="sheet of the workbook (default: the one that holds orders)")
    sheet.add_argument(
        "--encoding", choices=ENCODINGS, help="how a CSV file is written (default: UTF-8, or as it says)"
    )
    sheet.add_argument(
        "--server", metavar="URL", help="check by the service at this address (default: in this process)"
    )
    sheet.set_defaults(run=lambda options, settings: _run(options, settings, today()))


def _run(options: argparse.Namespace, settings: Settings, today: date) -> int:
    source, output = Path(options.file), Path(options.output)
    try:
        with _judge(options, settings, today) as judge:
            result = checked_sheet(source, output, judge, sheet=options.sheet, encoding=options.encoding)
    except SheetError as error:
        print(f"benchgate: {source}: {error}", file=sys.stderr)
        return UNREADABLE
    except KeyboardInterrupt:
        print("benchgate: stopped. The same command goes on from here.", file=sys.stderr)
        return INTERRUPTED
    _tell(result, output)
    return result.exit_code


def _judge(options: argparse.Namespace, settings: Settings, today: date) -> AbstractContextManager[Judge]:
    if options.server is not None:
        return there(options.server, today)
    return nullcontext(here(load(settings.profile_path), today))


def _tell(result: Result, output: Path) -> None:
    for message in (remark.message for remark in result.table.header.notes):
        print(f"benchgate: {message}", file=sys.stderr)
    for message in result.unread:
        print(f"benchgate: {message}", file=sys.stderr)
    more = result.counts["unreadable"] - len(result.unread)
    if more > 0:
        print(f"benchgate: {more:,} more rows were not readable; the output says why.", file=sys.stderr)
    counted = ", ".join(f"{result.counts[word]:,} {word}" for word in WORDS)
    resumed = f" ({result.resumed:,} of them from the run that was stopped)" if result.resumed else ""
    rows = "1 row" if result.counts.total() == 1 else f"{result.counts.total():,} rows"
    print(f"{output}: {rows}{resumed}: {counted}")
