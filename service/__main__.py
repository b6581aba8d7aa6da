"""The command line: serve, check, read, draw, sheet-for, sheet, inspect, openapi, version."""

import argparse
import io
import json
import os
import sys
import traceback
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, Final, NoReturn, TypeVar

import uvicorn
from pydantic import TypeAdapter, ValidationError

from service import limits
from service.app import create_app
from service.bench_drawing import NotDrawableError, drawing
from service.bench_sheet import bench_sheet
from service.checking import check, engine, read
from service.contract.answer import CheckAnswer, Decision, ReadAnswer
from service.contract.bench import DrawingRequest
from service.contract.inspect import InspectAnswer
from service.contract.order import Order, ReadRequest, WrittenPrescription
from service.contract.sheet import SheetRequest
from service.documents import inspection_from, order_from
from service.drawing.pdf_writer import pdf
from service.drawing.sheet import TooLargeError
from service.drawing.svg_writer import svg
from service.inspecting import inspect
from service.profile.loader import ProfileError, load
from service.report import fault_report, report
from service.report_inspection import inspection_report
from service.routes.context import today_utc
from service.settings import Settings, SettingsError, settings_from
from service.sheet_page import html_writer, pdf_writer
from service.sheet_page.page import page
from service.sheets import command as sheet_command
from service.trace_reading import TraceFileError, with_trace
from service.web.problems import Problem, problem_document

UNREADABLE: Final = 3
_FAILED: Final = 70
_READER_GONE: Final = 141  # what a shell reports of a program whose reader went away
_EXIT_CODES: Final = {"accept": 0, "review": 1, "reject": 2}
_RESULT_CODES: Final = {"pass": 0, "review": 1, "fail": 2}
T = TypeVar("T")


class _Parser(argparse.ArgumentParser):
    """Leaves the exit codes of decisions to decisions."""

    def error(self, message: str) -> NoReturn:
        self.print_usage(sys.stderr)
        self.exit(UNREADABLE, f"{self.prog}: {message}\n")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run a command; the return value is the exit code."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")  # a terminal need not know Δ
    options = _parser().parse_args(arguments)
    run: Callable[[argparse.Namespace, Settings], int] = options.run
    try:
        code = run(options, settings_from(os.environ))
        sys.stdout.flush()
        return code
    except (SettingsError, ProfileError) as error:
        print(f"benchgate: {error}", file=sys.stderr)
        return UNREADABLE
    except BrokenPipeError:  # the reader has seen enough, as `head` has
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())  # or the interpreter complains as it ends
        return _READER_GONE
    except Exception:  # a fault of the program must not look like a decision
        traceback.print_exc()
        return _FAILED


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="benchgate", description="Reads, checks and explains a spectacle order before it reaches the bench."
    )
    commands = parser.add_subparsers(required=True, metavar="COMMAND")
    serve = commands.add_parser("serve", help="run the web service")
    serve.add_argument("--host", help="address to listen on (default: BENCHGATE_HOST, or 127.0.0.1)")
    serve.add_argument("--port", type=int, help="port to listen on (default: BENCHGATE_PORT, or 8000)")
    serve.add_argument("--demo", action="store_true", help="also serve an order form to try, at /demo/")
    serve.set_defaults(run=_serve)
    checker = commands.add_parser(
        "check",
        help="check one order",
        description="Check one order. Exit code: 0 accept, 1 review, 2 reject, 3 not readable.",
    )
    checker.add_argument("file", metavar="FILE", help="an order as JSON; - for standard input")
    checker.add_argument("--json", action="store_true", help="print the whole answer as JSON")
    _add_trace(checker)
    checker.set_defaults(run=_check)
    drawer = commands.add_parser(
        "draw",
        help="draw the lenses of an order at true size",
        description="Draw the lenses of an order on their blanks, at true size, as SVG or PDF. Exit code as for check; 3 also "
        "if nothing can be drawn.",
    )
    drawer.add_argument("file", metavar="FILE", help="an order as JSON; - for standard input")
    drawer.add_argument(
        "-o", "--output", metavar="OUT", help="file to write, .svg or .pdf (default: SVG to standard output)"
    )
    drawer.add_argument("--page", choices=("a4", "letter"), default="a4", help="size of the page (default: a4)")
    drawer.add_argument("--lenses", choices=("both", "right", "left"), default="both", help="lenses to draw")
    drawer.add_argument(
        "--advised", action="store_true", help="draw the blanks turned or shifted as the check advises, where it does"
    )
    _add_trace(drawer)
    drawer.set_defaults(run=_draw)
    sheet = commands.add_parser(
        "sheet-for",
        help="the bench sheet of an order: what is set, read and checked",
        description="The bench sheet of an order, one page to print, as HTML or PDF. Exit code as for check.",
    )
    sheet.add_argument("file", metavar="FILE", help="an order as JSON; - for standard input")
    sheet.add_argument(
        "-o", "--output", metavar="OUT", help="file to write, .html or .pdf (default: HTML to standard output)"
    )
    sheet.add_argument("--page", choices=("a4", "letter"), default="a4", help="size of the page (default: a4)")
    _add_trace(sheet)
    sheet.set_defaults(run=_sheet_for)
    sheet_command.add_to(commands, today_utc)
    inspector = commands.add_parser(
        "inspect",
        help="judge a finished pair",
        description="Hold the readings of a finished pair against its order. Exit code: 0 pass, 1 review, 2 fail, 3 not "
        "readable.",
    )
    inspector.add_argument("file", metavar="FILE", help="order and readings as JSON; - for standard input")
    inspector.add_argument("--json", action="store_true", help="print the whole answer as JSON")
    inspector.set_defaults(run=_inspect)
    reader = commands.add_parser(
        "read",
        help="read one prescription as it is written",
        description="Read one prescription. Exit code: 0 accept, 1 review, 2 reject, 3 not readable.",
    )
    reader.add_argument("text", metavar="TEXT", help="the prescription; - for standard input")
    reader.add_argument("--json", action="store_true", help="print the whole answer as JSON")
    reader.set_defaults(run=_read)
    commands.add_parser("openapi", help="print the contract (OpenAPI)").set_defaults(run=_openapi)
    commands.add_parser("version", help="print version, rules and profile").set_defaults(run=_version)
    return parser


def _add_trace(command: argparse.ArgumentParser) -> None:
    command.add_argument("--trace", metavar="TRACE", help="trace file of one lens: JSON, CSV or two plain columns")
    command.add_argument("--trace-eye", choices=("right", "left"), default="right", help="lens that was traced")


def _serve(options: argparse.Namespace, settings: Settings) -> int:
    host = options.host or settings.host
    port = settings.port if options.port is None else options.port
    settings = replace(settings, demo=settings.demo or options.demo)
    app = create_app(settings)
    print(
        f"benchgate listens on http://{host}:{port}/ (try it: http://{host}:{port}/docs); stop with Ctrl-C", flush=True
    )
    if settings.demo:
        print(f"The order form to try: http://{host}:{port}/demo/", flush=True)
    uvicorn.run(
        app,
        host=host,
        port=port,
        access_log=False,  # the service writes its own, which holds nothing of an order
        log_level="warning",
        server_header=False,
        timeout_keep_alive=limits.KEEP_ALIVE_SECONDS,
        timeout_graceful_shutdown=limits.GRACEFUL_SHUTDOWN_SECONDS,
    )
    return 0


def _check(options: argparse.Namespace, settings: Settings) -> int:
    shop = load(settings.profile_path)
    order = _readable(lambda: _order(options), as_json=options.json)
    if order is None:
        return UNREADABLE
    answer = check(order, shop, today_utc())
    print(_as_json(CheckAnswer, answer) if options.json else report(answer))
    return _EXIT_CODES[answer.decision]


def _inspect(options: argparse.Namespace, settings: Settings) -> int:
    shop = load(settings.profile_path)
    asked = _readable(lambda: inspection_from(_opened(options.file)), as_json=options.json)
    if asked is None:
        return UNREADABLE
    answer = inspect(asked, shop, today_utc())
    print(_as_json(InspectAnswer, answer) if options.json else inspection_report(answer))
    return _RESULT_CODES[answer.result]


def _readable(read: Callable[[], T], *, as_json: bool) -> T | None:
    """What a command is given; None where it cannot be read, which is then told."""
    try:
        return read()
    except Problem as problem:
        if as_json:
            document = problem_document(problem, request_id="", instance=None)
            print(_as_json(type(document), document))
        else:
            print("NOT READABLE", fault_report(problem.detail, problem.errors), sep="\n", file=sys.stderr)
    except _NotOpenedError as error:
        print(f"benchgate: {error}", file=sys.stderr)
    return None


def _as_json(kind: Any, value: Any) -> str:
    return TypeAdapter(kind).dump_json(value, by_alias=True, indent=2).decode()


def _draw(options: argparse.Namespace, settings: Settings) -> int:
    shop = load(settings.profile_path)

    def made(ending: str) -> tuple[bytes, Decision]:
        request = DrawingRequest(
            order=_order(options),
            lenses=options.lenses,
            page=options.page,
            placement="advised" if options.advised else "as_ordered",
        )
        drawn = drawing(request, shop, today_utc())
        return (pdf if ending == ".pdf" else svg)(drawn.sheet), drawn.answer.decision

    told = " Print at 100 % and measure the check square before you rely on it."
    return _written(options.output, (".svg", ".pdf"), made, told)


def _sheet_for(options: argparse.Namespace, settings: Settings) -> int:
    shop = load(settings.profile_path)

    def made(ending: str) -> tuple[bytes, Decision]:
        sheet = bench_sheet(SheetRequest(order=_order(options), page=options.page), shop, today_utc())
        write = pdf_writer.pdf if ending == ".pdf" else html_writer.html
        return write(page(sheet, options.page)), sheet.decision

    return _written(options.output, (".html", ".pdf"), made)


def _written(
    file: str | None, endings: tuple[str, str], made: Callable[[str], tuple[bytes, Decision]], told: str = ""
) -> int:
    """Write what is made to a file by its ending, or in the first form to standard output. The exit code."""
    output = None if file is None else Path(file)
    ending = endings[0] if output is None else output.suffix.lower()
    if ending not in endings:
        print(
            f"benchgate: {output} ends neither in {' nor in '.join(endings)}. Name the file by what it is to be.",
            file=sys.stderr,
        )
        return UNREADABLE
    try:
        content, decision = made(ending)
        if output is None:
            sys.stdout.buffer.write(content)
        else:
            output.write_bytes(content)
    except Problem as problem:
        print("NOT READABLE", fault_report(problem.detail, problem.errors), sep="\n", file=sys.stderr)
        return UNREADABLE
    except NotDrawableError as error:
        print(f"benchgate: {error}", report(error.answer), sep="\n", file=sys.stderr)
        return UNREADABLE
    except (TooLargeError, _NotOpenedError) as error:
        print(f"benchgate: {error}", file=sys.stderr)
        return UNREADABLE
    except BrokenPipeError:
        raise
    except OSError as error:
        print(f"benchgate: {output} cannot be written: {error.strerror}.", file=sys.stderr)
        return UNREADABLE
    if output is not None:
        print(f"{output}: {decision}.{told}")
    return _EXIT_CODES[decision]


def _read(options: argparse.Namespace, settings: Settings) -> int:
    shop = load(settings.profile_path)
    text = (
        sys.stdin.buffer.read(limits.MAX_BODY_BYTES).decode("utf-8", "replace") if options.text == "-" else options.text
    )
    try:
        written = WrittenPrescription(written=text)
    except ValidationError:
        most = limits.MAX_WRITTEN_CHARACTERS
        print(f"benchgate: {len(text)} characters were read; 1 to {most} are expected.", file=sys.stderr)
        return UNREADABLE
    answer = read(ReadRequest(prescription=written), shop, today_utc())
    print(_as_json(ReadAnswer, answer) if options.json else report(answer))
    return _EXIT_CODES[answer.decision]


class _NotOpenedError(Exception):
    """A file that cannot be opened, or not used; the text says which and why."""


def _order(options: argparse.Namespace) -> Order:
    """The order that a command names, with the outline of its trace file. Raises Problem or _NotOpenedError."""
    order = order_from(_opened(options.file))
    if options.trace is None:
        return order
    text = _opened(options.trace).decode("utf-8", "replace")
    try:
        order, notes = with_trace(order, text, options.trace_eye)
    except TraceFileError as error:
        raise _NotOpenedError(f"{options.trace}: {error}") from None
    for note in notes:
        print(f"benchgate: {options.trace}: {note}", file=sys.stderr)
    return order


def _opened(file: str) -> bytes:
    try:
        return _bytes_of(file)
    except OSError as error:
        raise _NotOpenedError(f"{file} cannot be opened: {error.strerror}.") from None


def _bytes_of(file: str) -> bytes:
    """At most one byte more than is taken, so that a runaway file is refused and not read."""
    most = limits.MAX_BODY_BYTES + 1
    if file == "-":
        return sys.stdin.buffer.read(most)
    with Path(file).open("rb") as opened:
        return opened.read(most)


def _openapi(_: argparse.Namespace, settings: Settings) -> int:
    print(json.dumps(create_app(settings).openapi(), indent=2, ensure_ascii=False))
    return 0


def _version(_: argparse.Namespace, settings: Settings) -> int:
    made_by = engine(load(settings.profile_path))
    print(f"benchgate {made_by.version}; {made_by.rules}; profile: {made_by.profile}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
