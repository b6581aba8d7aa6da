"""The command line: serve, check, read, draw, openapi, version."""

import argparse
import io
import json
import os
import sys
import traceback
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Final, NoReturn

import uvicorn
from pydantic import TypeAdapter, ValidationError

from service import limits
from service.app import create_app
from service.bench_drawing import NotDrawableError, drawing
from service.checking import check, engine, read
from service.contract.answer import CheckAnswer, ReadAnswer
from service.contract.bench import DrawingRequest
from service.contract.order import Order, ReadRequest, WrittenPrescription
from service.documents import order_from
from service.drawing.pdf_writer import pdf
from service.drawing.sheet import TooLargeError
from service.drawing.svg_writer import svg
from service.profile.loader import ProfileError, load
from service.report import fault_report, report
from service.routes.context import today_utc
from service.settings import Settings, SettingsError, settings_from
from service.trace_reading import TraceFileError, with_trace
from service.web.problems import Problem, problem_document

UNREADABLE: Final = 3
_FAILED: Final = 70
_EXIT_CODES: Final = {"accept": 0, "review": 1, "reject": 2}


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
        return run(options, settings_from(os.environ))
    except (SettingsError, ProfileError) as error:
        print(f"benchgate: {error}", file=sys.stderr)
        return UNREADABLE
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
    app = create_app(settings)
    print(
        f"benchgate listens on http://{host}:{port}/ (try it: http://{host}:{port}/docs); stop with Ctrl-C", flush=True
    )
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
    try:
        order = _order(options)
    except Problem as problem:
        if options.json:
            document = problem_document(problem, request_id="", instance=None)
            print(TypeAdapter(type(document)).dump_json(document, indent=2).decode())
        else:
            print("NOT READABLE", fault_report(problem.detail, problem.errors), sep="\n", file=sys.stderr)
        return UNREADABLE
    except _NotOpenedError as error:
        print(f"benchgate: {error}", file=sys.stderr)
        return UNREADABLE
    answer = check(order, shop, today_utc())
    if options.json:
        print(TypeAdapter(CheckAnswer).dump_json(answer, by_alias=True, indent=2).decode())
    else:
        print(report(answer))
    return _EXIT_CODES[answer.decision]


def _draw(options: argparse.Namespace, settings: Settings) -> int:
    shop = load(settings.profile_path)
    output = None if options.output is None else Path(options.output)
    if output is not None and output.suffix.lower() not in (".svg", ".pdf"):
        print(
            f"benchgate: {output} ends neither in .svg nor in .pdf. Name the file by what it is to be.", file=sys.stderr
        )
        return UNREADABLE
    try:
        request = DrawingRequest(
            order=_order(options),
            lenses=options.lenses,
            page=options.page,
            placement="advised" if options.advised else "as_ordered",
        )
        drawn = drawing(request, shop, today_utc())
        written = (pdf if output is not None and output.suffix.lower() == ".pdf" else svg)(drawn.sheet)
        if output is None:
            sys.stdout.buffer.write(written)
        else:
            output.write_bytes(written)
    except Problem as problem:
        print("NOT READABLE", fault_report(problem.detail, problem.errors), sep="\n", file=sys.stderr)
        return UNREADABLE
    except NotDrawableError as error:
        print(f"benchgate: {error}", report(error.answer), sep="\n", file=sys.stderr)
        return UNREADABLE
    except (TooLargeError, _NotOpenedError) as error:
        print(f"benchgate: {error}", file=sys.stderr)
        return UNREADABLE
    except OSError as error:
        print(f"benchgate: {output} cannot be written: {error.strerror}.", file=sys.stderr)
        return UNREADABLE
    if output is not None:
        print(f"{output}: {drawn.answer.decision}. Print at 100 % and measure the check square before you rely on it.")
    return _EXIT_CODES[drawn.answer.decision]


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
    print(
        TypeAdapter(ReadAnswer).dump_json(answer, by_alias=True, indent=2).decode() if options.json else report(answer)
    )
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
