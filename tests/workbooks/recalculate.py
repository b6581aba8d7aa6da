"""Opens workbooks in LibreOffice, lets it fetch, changes cells, and prints what the cells hold. For Debian's own Python.

    python3 recalculate.py < job.json

The job: {"folder", "locale", "books": [path], "changes": [[sheet, cell, value or null]]}. The answer: for each book a list
of two states, before and after the changes, each {sheet: {cell: {"error", "value", "text", "is_number"}}} of the formulas.

LibreOffice fetches from a file only if that lies in a trusted folder and is opened with full updating; a file opened from
the command line with --convert-to never does.
"""

import contextlib
import json
import os
import subprocess
import sys
import tempfile
import time
import uuid
from pathlib import Path
from typing import Any

import uno  # type: ignore[import-not-found,unused-ignore]

FULL_UPDATE = 3
START_SECONDS = 60
PROXIES = ("http_proxy", "https_proxy", "all_proxy", "HTTP_PROXY", "HTTPS_PROXY", "ALL_PROXY")


def settings(folder: Path, locale: str) -> str:
    """A profile that trusts the folder and speaks the language."""
    items = "".join(
        f'<item oor:path="/org.openoffice.{path}"><prop oor:name="{name}" oor:op="fuse"><value>{value}</value></prop></item>'
        for path, name, value in (
            ("Office.Common/Security/Scripting", "SecureURL", f"<it>{folder.as_uri()}</it>"),
            ("Setup/L10N", "ooSetupSystemLocale", locale),
        )
    )
    return (
        '<?xml version="1.0" encoding="UTF-8"?>'
        f'<oor:items xmlns:oor="http://openoffice.org/2001/registry">{items}</oor:items>'
    )


def named(name: str, value: Any) -> Any:
    """A named value as LibreOffice takes it."""
    made = uno.createUnoStruct("com.sun.star.beans.PropertyValue")
    made.Name, made.Value = name, value
    return made


def desktop(pipe: str, process: "subprocess.Popen[bytes]") -> Any:
    """The running program, as soon as it answers."""
    local = uno.getComponentContext()
    resolver = local.ServiceManager.createInstanceWithContext("com.sun.star.bridge.UnoUrlResolver", local)
    deadline = time.monotonic() + START_SECONDS
    while True:
        try:
            context = resolver.resolve(f"uno:pipe,name={pipe};urp;StarOffice.ComponentContext")
            return context.ServiceManager.createInstanceWithContext("com.sun.star.frame.Desktop", context)
        except Exception:
            if time.monotonic() > deadline or process.poll() is not None:
                raise
            time.sleep(0.1)


def state(document: Any) -> dict[str, dict[str, Any]]:
    """What every formula shows."""
    found: dict[str, dict[str, Any]] = {}
    for sheet in document.Sheets:
        cursor = sheet.createCursor()
        cursor.gotoEndOfUsedArea(False)
        last = cursor.RangeAddress
        cells = found.setdefault(sheet.Name, {})
        for row in range(last.EndRow + 1):
            for column in range(last.EndColumn + 1):
                cell = sheet.getCellByPosition(column, row)
                if cell.Formula.startswith("="):
                    cells[f"{chr(ord('A') + column)}{row + 1}"] = {
                        "error": cell.getError(),
                        "value": cell.Value,
                        "text": cell.String,
                        "is_number": cell.FormulaResultType2 == 1,
                    }
    return found


def change(document: Any, sheet: str, cell: str, value: Any) -> None:
    """Type a figure, a text or a formula into a cell, or empty it."""
    target = document.Sheets.getByName(sheet).getCellRangeByName(cell)
    if isinstance(value, (int, float)):
        target.Value = value
    elif value is not None and value.startswith("="):
        target.Formula = value
    else:
        target.String = value or ""


def worked(job: dict[str, Any], program: Any) -> list[list[dict[str, dict[str, Any]]]]:
    """Every book before and after the changes."""
    answers = []
    for book in job["books"]:
        document = program.loadComponentFromURL(
            Path(book).as_uri(), "_blank", 0, (named("Hidden", True), named("UpdateDocMode", FULL_UPDATE))
        )
        try:
            before = state(document)
            for sheet, cell, value in job["changes"]:
                change(document, sheet, cell, value)
            document.calculateAll()
            answers.append([before, state(document)])
        finally:
            document.close(True)
    return answers


def main() -> None:
    """Read the job, print the answer."""
    job = json.load(sys.stdin)
    environment = {name: value for name, value in os.environ.items() if name not in PROXIES}
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as profile:
        written = Path(profile, "user", "registrymodifications.xcu")
        written.parent.mkdir()
        written.write_text(settings(Path(job["folder"]), job["locale"]), "utf-8")
        pipe = f"benchgate{uuid.uuid4().hex}"
        process = subprocess.Popen(
            [
                "soffice",
                f"-env:UserInstallation={Path(profile).as_uri()}",
                "--headless",
                "--norestore",
                "--nologo",
                f"--accept=pipe,name={pipe};urp;",
            ],
            env=environment,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )
        try:
            program = desktop(pipe, process)
            answers = worked(job, program)
            with contextlib.suppress(Exception):  # the bridge may break before the answer comes
                program.terminate()
            process.wait(30)
        finally:
            if process.poll() is None:
                os.killpg(process.pid, 15)  # the group that was started here, and no other
                process.wait(10)
    json.dump(answers, sys.stdout)


main()
