"""The command line: the bench sheet to a file or to standard output, the same bytes as over the web."""

import json
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from command_files import ACCEPTED, DOUBTFUL, POINTS, REJECTED, ROOT, TRACE, Printed
from command_files import no_settings as no_settings
from command_files import written as written
from starlette.testclient import TestClient
from web_toys import JSON

from service.__main__ import main

NOT_UNDERSTOOD = {**ACCEPTED, "prescription": {"written": "as last time"}}


def over_the_web(service: TestClient, order: object, accept: str, **more: object) -> bytes:
    body = json.dumps({"order": order, **more})
    response = service.post("/v1/bench/sheet", content=body, headers={**JSON, "Accept": accept})
    assert response.status_code == 200
    return response.content


@pytest.mark.parametrize(("name", "accept"), [("out.html", "text/html"), ("out.PDF", "application/pdf")])
@pytest.mark.parametrize("size", ["a4", "letter"])
def test_a_file_holds_what_the_service_sends(
    service: TestClient, written: Any, tmp_path: Path, capsys: Printed, name: str, accept: str, size: str
) -> None:
    out = tmp_path / name
    assert main(["sheet-for", written(ACCEPTED), "-o", str(out), "--page", size]) == 0
    assert out.read_bytes() == over_the_web(service, ACCEPTED, accept, page=size)
    assert capsys.readouterr() == (f"{out}: accept.\n", "")


def test_the_sheet_goes_to_standard_output_as_html_unless_a_file_is_named(service: TestClient) -> None:
    finished = subprocess.run(
        [sys.executable, "-m", "service", "sheet-for", "-"],
        input=json.dumps(ACCEPTED).encode(),
        capture_output=True,
        cwd=ROOT,
        check=False,
    )
    assert (finished.returncode, finished.stderr) == (0, b"")
    assert finished.stdout == over_the_web(service, ACCEPTED, "text/html")


@pytest.mark.parametrize(
    ("order", "code"),
    [(ACCEPTED, 0), (DOUBTFUL, 1), (REJECTED, 2), (NOT_UNDERSTOOD, 2), ({**ACCEPTED, "pd_mm": {}}, 2)],
)
def test_it_ends_with_the_code_of_the_decision(written: Any, tmp_path: Path, order: object, code: int) -> None:
    out = tmp_path / "out.html"
    assert main(["sheet-for", written(order), "-o", str(out)]) == code
    assert ("DO NOT CUT" in out.read_text("utf-8")) == (code == 2)


def test_an_order_that_cannot_be_read_leaves_no_file(written: Any, tmp_path: Path, capsys: Printed) -> None:
    out = tmp_path / "out.pdf"
    order = {**ACCEPTED, "frame": {"a_mm": "54", "b_mm": 40, "dbl_mm": 18}}
    assert main(["sheet-for", written(order), "-o", str(out)]) == 3
    printed = capsys.readouterr()
    assert printed.out == ""
    assert "/frame/a_mm" in printed.err
    assert not out.exists()


def test_a_file_that_is_neither_html_nor_pdf_is_refused(written: Any, tmp_path: Path, capsys: Printed) -> None:
    for name in ("out.svg", "out", "html"):
        assert main(["sheet-for", written(ACCEPTED), "-o", str(tmp_path / name)]) == 3
        assert ".html" in capsys.readouterr().err
        assert not (tmp_path / name).exists()


def test_what_cannot_be_opened_or_written_is_told(written: Any, tmp_path: Path, capsys: Printed) -> None:
    nowhere = tmp_path / "no-such-folder" / "out.html"
    assert main(["sheet-for", written(ACCEPTED), "-o", str(nowhere)]) == 3
    assert f"benchgate: {nowhere} cannot be written" in capsys.readouterr().err
    missing = tmp_path / "no-such-order.json"
    assert main(["sheet-for", str(missing)]) == 3
    assert f"benchgate: {missing} cannot be opened" in capsys.readouterr().err


@pytest.mark.parametrize("eye", ["right", "left"])
def test_a_trace_file_beside_an_order_is_the_trace_in_it_and_has_the_same_digest(
    service: TestClient, written: Any, tmp_path: Path, eye: str
) -> None:
    out = tmp_path / "out.html"
    arguments = ["sheet-for", written(ACCEPTED), "--trace", written(TRACE, "trace.csv"), "--trace-eye", eye]
    assert main([*arguments, "-o", str(out)]) == 0
    page = out.read_text("utf-8")
    assert "(traced)" in page
    plain = over_the_web(service, ACCEPTED, "text/html").decode()
    assert digest_on(page) != digest_on(plain)
    traced = {**ACCEPTED, "frame": {**ACCEPTED["frame"], "trace": {eye: {"points_mm": POINTS}}}}
    assert out.read_bytes() == over_the_web(service, traced, "text/html")


def digest_on(page: str) -> str:
    (found,) = re.findall(r"benchgate:order:sha256:([0-9a-f]{64})", page)
    return str(found)


@pytest.mark.parametrize("arguments", [["sheet-for"], ["sheet-for", "a.json", "--page", "a3"]], ids=" ".join)
def test_what_is_not_understood_never_looks_like_a_decision(capsys: Printed, arguments: list[str]) -> None:
    with pytest.raises(SystemExit) as stopped:
        main(arguments)
    assert "usage: benchgate" in capsys.readouterr().err
    assert stopped.value.code == 3
