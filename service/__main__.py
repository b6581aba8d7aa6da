"""The command line: serve, check, read, openapi, version."""

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
from service.checking import check, engine, read
from service.contract.answer import CheckAnswer, ReadAnswer
from service.contract.order import ReadRequest, WrittenPrescription
from service.documents import order_from
from service.profile.loader import ProfileError, load
from service.report import fault_report, report
from service.routes.context import today_utc
from service.settings import Settings, SettingsError, settings_from
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
    checker.set_defaults(run=_check)
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
        body = _bytes_of(options.file)
    except OSError as error:
        print(f"benchgate: {options.file} cannot be opened: {error.strerror}.", file=sys.stderr)
        return UNREADABLE
    try:
        order = order_from(body)
    except Problem as problem:
        if options.json:
            document = problem_document(problem, request_id="", instance=None)
            print(TypeAdapter(type(document)).dump_json(document, indent=2).decode())
        else:
            print("NOT READABLE", fault_report(problem.detail, problem.errors), sep="\n", file=sys.stderr)
        return UNREADABLE
    answer = check(order, shop, today_utc())
    if options.json:
        print(TypeAdapter(CheckAnswer).dump_json(answer, by_alias=True, indent=2).decode())
    else:
        print(report(answer))
    return _EXIT_CODES[answer.decision]


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
