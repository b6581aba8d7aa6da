"""The whole way of a sheet: read, check row by row, write, and say how it went."""

import os
import sys
import warnings
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from importlib.util import find_spec
from pathlib import Path
from typing import Any, Final, TextIO

from service.checking import cautions, check, engine
from service.documents import order_of
from service.many.columns_out import UNREADABLE, Cell
from service.profile.loader import Limits
from service.sheets.fault import SheetError, no_extra
from service.sheets.files import opened_table
from service.sheets.outcome import WORDS, Asked, Outcome, Reader, header_notes
from service.sheets.progress import Progress
from service.sheets.resume import Sidecar, digest
from service.sheets.table import SheetRow, Table, TextStyle
from service.sheets.writers import About, Layout, TextWriter, Writer
from service.web.problems import Problem

_MOST_TOLD: Final = 10


@dataclass(frozen=True, slots=True)
class Step:
    """One row on its way: what it asks, and its outcome where it is known."""

    row: SheetRow
    asked: Asked
    outcome: Outcome | None


@dataclass(frozen=True, slots=True)
class Judge:
    """Who checks the orders: a way from steps to outcomes in their order, and what is said of it in the output."""

    outcomes: Callable[[Iterator[Step], Reader], Iterator[tuple[Step, Outcome | None]]]
    identity: str  # of what the outcomes rest on: another one does not take over the rows of this
    about: About


@dataclass(slots=True)
class Result:
    """How a run went."""

    counts: Counter[str]
    resumed: int
    unread: list[str]
    table: Table

    @property
    def exit_code(self) -> int:
        """0 where all were accepted, 1 where a person must look, 2 where one was rejected or not read."""
        if self.counts["reject"] or self.counts[UNREADABLE]:
            return 2
        return 1 if self.counts["accept"] < self.counts.total() else 0  # a word of a newer service is no acceptance


def here(limits: Limits, today: date) -> Judge:
    """The check in this process."""

    def outcomes(steps: Iterator[Step], reader: Reader) -> Iterator[tuple[Step, Outcome | None]]:
        for step in steps:
            if step.outcome is not None or step.asked.document is None:
                yield step, step.outcome
                continue
            try:
                order = order_of(step.asked.document)
            except Problem as problem:
                yield step, reader.refused(step.row, problem)
                continue
            yield step, reader.checked(step.row, check(order, limits, today))

    made_by = engine(limits)
    about = About(today, judged_by(made_by, today), [one.message for one in cautions(limits)])
    return Judge(outcomes, identity_of(made_by, today), about)


def judged_by(made_by: Any, today: date) -> list[tuple[str, Cell]]:
    """What the output says of who judged: `made_by` is the engine that an answer names, here or as the client has it."""
    named = [("Program", f"benchgate {made_by.version}"), ("Rules", made_by.rules), ("Profile", made_by.profile)]
    return [*named, ("Day", today.isoformat())]


def identity_of(made_by: Any, today: date) -> str:
    """A digest of the same: rows that another one judged are judged again."""
    return digest(made_by.version, made_by.rules, made_by.profile, today.isoformat())


def checked_sheet(
    source: Path,
    output: Path,
    judge: Judge,
    *,
    sheet: str | None = None,
    encoding: str | None = None,
    terminal: TextIO = sys.stderr,
) -> Result:
    """Check a sheet and write it. Raises SheetError where it cannot be read or written; nothing is then written."""
    with warnings.catch_warnings():
        # What the library of workbooks has to say of styles and parts that are left out helps nobody here.
        warnings.filterwarnings("ignore", module=r"openpyxl\.")
        _demand_output(source, output)
        with opened_table(source, sheet=sheet, encoding=encoding) as table:
            run = digest(judge.identity, table.name, table.header.number, [repr(cell) for cell in table.header.cells])
            with Sidecar(output.with_name(f"{output.name}.part.ndjson"), run) as sidecar:
                result = _written(table, output, judge, sidecar, terminal)
                sidecar.finished()
    return result


def _demand_output(source: Path, output: Path) -> None:
    if output.suffix.lower() not in (".xlsx", ".csv"):
        raise SheetError(f"the output {output} ends neither in .xlsx nor in .csv. Name the file by what it is to be.")
    if output.suffix.lower() == ".xlsx" and find_spec("xlsxwriter") is None:
        raise no_extra("write")
    if not output.parent.is_dir():
        raise SheetError(f"the output {output} cannot be written: there is no folder {output.parent}.")
    if output.exists() and source.exists() and output.samefile(source):
        raise SheetError("the output is the same file. Name another one, so that your sheet stays as it is.")


def _written(table: Table, output: Path, judge: Judge, sidecar: Sidecar, terminal: TextIO) -> Result:
    part = output.with_name(f"{output.name}.part")
    writer = _writer(part, output, table)
    progress = Progress(table.filled - 1, terminal)
    result = Result(Counter(), 0, [], table)
    try:
        writer.top(table.above, [*header_notes(table.header)])
        reader = Reader(table.header, table.merged)
        for step, outcome in judge.outcomes(_steps(table.rows(), reader, sidecar), reader):
            if outcome is not None:
                _count(result, step, outcome)
                if step.outcome is None:
                    sidecar.keep(step.row, outcome)
                progress.step()
            writer.row(step.row, outcome)
        writer.close(_about(result, judge.about))
        os.replace(part, output)
    except OSError as error:
        writer.drop()
        reason = error.strerror or "it could not be done"
        raise SheetError(
            f"{output} cannot be written: {reason}. Is it open in another program? What is done is kept in {sidecar.path}; the "
            "same command goes on from there."
        ) from None
    except BaseException:
        writer.drop()
        raise
    finally:
        progress.close()
        part.unlink(missing_ok=True)
    return result


def _writer(part: Path, output: Path, table: Table) -> Writer:
    layout = Layout(table.header, table.width)
    if output.suffix.lower() == ".csv":
        return TextWriter(part, layout, table.style or TextStyle())
    # Only here: CSV files need no library.
    from service.sheets.workbook_writer import WorkbookWriter

    return WorkbookWriter(part, layout, table.name)


def _steps(rows: Iterable[SheetRow], reader: Reader, sidecar: Sidecar) -> Iterator[Step]:
    for row in rows:
        asked = reader.asked(row)
        if asked.document is None:
            yield Step(row, asked, reader.unread(row, asked.remarks) if asked.remarks else None)
        else:
            yield Step(row, asked, sidecar.done(row))


def _count(result: Result, step: Step, outcome: Outcome) -> None:
    result.counts[outcome.word] += 1
    result.resumed += step.outcome is not None and step.asked.document is not None
    if outcome.word == UNREADABLE and len(result.unread) < _MOST_TOLD:
        result.unread.append(str(outcome.cells[-2]))


def _about(result: Result, about: About) -> About:
    counted = [(f"Rows: {word}", result.counts[word]) for word in WORDS]
    where = [("Sheet", result.table.name)] if result.table.name else []
    return About(about.day, [*where, ("Rows", result.counts.total()), *counted, *about.facts], about.cautions)
