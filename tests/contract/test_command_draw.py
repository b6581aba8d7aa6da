"""The command line: drawings to a file or to standard output, and trace files beside an order."""

import io
import json
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
from service.limits import MAX_TRACE_POINTS


def drawn_over_the_web(service: TestClient, order: object, accept: str, **more: object) -> bytes:
    body = json.dumps({"order": order, **more})
    response = service.post("/v1/bench/drawing", content=body, headers={**JSON, "Accept": accept})
    assert response.status_code == 200
    return response.content


# Drawings.


@pytest.mark.parametrize(("name", "accept"), [("out.svg", "image/svg+xml"), ("out.PDF", "application/pdf")])
def test_a_file_holds_what_the_service_draws(
    service: TestClient, written: Any, tmp_path: Path, capsys: Printed, name: str, accept: str
) -> None:
    out = tmp_path / name
    arguments = ["draw", written(ACCEPTED), "-o", str(out), "--page", "letter", "--lenses", "left", "--advised"]
    assert main(arguments) == 0
    told = {"page": "letter", "lenses": "left", "placement": "advised"}
    assert out.read_bytes() == drawn_over_the_web(service, ACCEPTED, accept, **told)
    printed = capsys.readouterr()
    assert printed.err == ""
    assert printed.out.startswith(f"{out}: accept. Print at 100 %")


def test_the_sheet_goes_to_standard_output_as_svg_unless_a_file_is_named(service: TestClient) -> None:
    finished = subprocess.run(
        [sys.executable, "-m", "service", "draw", "-"],
        input=json.dumps(ACCEPTED).encode(),
        capture_output=True,
        cwd=ROOT,
        check=False,
    )
    assert (finished.returncode, finished.stderr) == (0, b"")
    assert finished.stdout == drawn_over_the_web(service, ACCEPTED, "image/svg+xml")


@pytest.mark.parametrize(("order", "code"), [(ACCEPTED, 0), (DOUBTFUL, 1), (REJECTED, 2)])
def test_a_drawing_ends_with_the_code_of_the_decision(
    written: Any, tmp_path: Path, order: dict[str, Any], code: int
) -> None:
    assert main(["draw", written(order), "-o", str(tmp_path / "out.svg")]) == code
    assert (tmp_path / "out.svg").read_bytes().startswith(b"<?xml")


@pytest.mark.parametrize(
    ("order", "told"),
    [
        ({**ACCEPTED, "prescription": {"written": "as last time"}}, "nothing to draw"),
        ({**ACCEPTED, "pd_mm": {}}, "No pupil"),
        ({**ACCEPTED, "frame": {"a_mm": 54, "b_mm": 120, "dbl_mm": 18}}, "never shrunk"),
        ({**ACCEPTED, "frame": {"a_mm": "54", "b_mm": 40, "dbl_mm": 18}}, "/frame/a_mm"),
    ],
)
def test_what_cannot_be_drawn_is_told_and_leaves_no_file(
    written: Any, tmp_path: Path, capsys: Printed, order: dict[str, Any], told: str
) -> None:
    assert main(["draw", written(order), "-o", str(tmp_path / "out.pdf")]) == 3
    printed = capsys.readouterr()
    assert printed.out == ""
    assert told in printed.err
    assert not (tmp_path / "out.pdf").exists()


def test_a_file_that_is_neither_svg_nor_pdf_is_refused(written: Any, tmp_path: Path, capsys: Printed) -> None:
    for name in ("out.png", "out", "svg"):
        assert main(["draw", written(ACCEPTED), "-o", str(tmp_path / name)]) == 3
        assert ".svg" in capsys.readouterr().err
        assert not (tmp_path / name).exists()


def test_a_file_that_cannot_be_written_is_told(written: Any, tmp_path: Path, capsys: Printed) -> None:
    nowhere = tmp_path / "no-such-folder" / "out.svg"
    assert main(["draw", written(ACCEPTED), "-o", str(nowhere)]) == 3
    assert f"benchgate: {nowhere} cannot be written" in capsys.readouterr().err


# Trace files.


@pytest.mark.parametrize("eye", ["right", "left"])
def test_a_trace_file_beside_an_order_is_the_trace_in_it(
    service: TestClient, written: Any, capsys: Printed, eye: str
) -> None:
    code = main(["check", "--json", written(ACCEPTED), "--trace", written(TRACE, "trace.csv"), "--trace-eye", eye])
    printed = json.loads(capsys.readouterr().out)
    traced = {**ACCEPTED, "frame": {**ACCEPTED["frame"], "trace": {eye: {"points_mm": POINTS}}}}
    assert printed == service.post("/v1/orders/check", content=json.dumps(traced), headers=JSON).json()
    assert printed["fit"]["right"]["minimum_blank_mm"]["basis"] == "trace"
    assert printed["fit"]["right"]["outline"]["traced"] == eye
    assert code == 0


def test_a_trace_file_takes_the_place_of_the_outline_in_the_order(written: Any, capsys: Printed) -> None:
    round_lens = {"left": {"radii_mm": [20.0] * 36}}
    order = {**ACCEPTED, "frame": {**ACCEPTED["frame"], "trace": round_lens}}
    main(["check", "--json", written(order), "--trace", written(TRACE, "trace.csv")])
    fit = json.loads(capsys.readouterr().out)["fit"]
    assert [(fit[eye]["outline"]["a_mm"], fit[eye]["outline"]["traced"]) for eye in ("right", "left")] == [
        (54.0, "right"),
        (54.0, "right"),
    ]


def test_the_bevel_of_an_order_holds_for_the_outline_of_a_trace_file_as_well(written: Any, capsys: Printed) -> None:
    needs = []
    for bevel in ({}, {"bevel_mm": 0.5}):
        order = {**ACCEPTED, "frame": {**ACCEPTED["frame"], "trace": bevel}}
        main(["check", "--json", written(order), "--trace", written(TRACE, "trace.csv")])
        needs.append(json.loads(capsys.readouterr().out)["fit"]["right"]["minimum_blank_mm"]["expected"])
    assert needs[1] == pytest.approx(needs[0] + 1.0, abs=1e-4)


def test_a_drawing_shows_the_outline_of_the_trace_file(service: TestClient, written: Any, tmp_path: Path) -> None:
    out = tmp_path / "out.svg"
    assert main(["draw", written(ACCEPTED), "--trace", written(TRACE, "trace.csv"), "-o", str(out)]) == 0
    traced = {**ACCEPTED, "frame": {**ACCEPTED["frame"], "trace": {"right": {"points_mm": POINTS}}}}
    assert out.read_bytes() == drawn_over_the_web(service, traced, "image/svg+xml")


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "No figure was read"),
        ("no trace", "column names"),
        ("[NaN, 20, 20]", "NaN"),
        (TRACE.replace("27.0", "270", 1), "At most 150 mm"),
        ("20\n" * (MAX_TRACE_POINTS + 1), f"At most {MAX_TRACE_POINTS:,}"),
        ("REQ=FIL\nTRCFMT=1;400;E;R;F", "LABEL=value"),
        (
            "angle,radius\n" + "\n".join(f"{-5 * number},{20 + number % 3}" for number in range(72)),
            "traced from the back",
        ),
    ],
    ids=["empty", "words", "nan", "too-large", "too-many", "labels", "a-doubt"],
)
@pytest.mark.parametrize("command", ["check", "draw"])
def test_a_trace_file_that_is_refused_or_doubtful_stops_the_command(
    written: Any, capsys: Printed, text: str, told: str, command: str
) -> None:
    trace = written(text, "trace.csv")
    assert main([command, written(ACCEPTED), "--trace", trace]) == 3
    printed = capsys.readouterr()
    assert printed.out == ""
    assert printed.err.startswith(f"benchgate: {trace}: ")
    assert told in printed.err


def test_a_trace_that_is_no_lens_shape_is_judged_and_not_only_refused(written: Any, capsys: Printed) -> None:
    assert main(["check", written(ACCEPTED), "--trace", written("20\n" * 3, "trace.csv")]) == 2
    assert "[reject] trace-too-coarse  /frame/trace/right" in capsys.readouterr().out


@pytest.mark.parametrize("command", ["check", "draw"])
def test_a_trace_file_that_cannot_be_opened_is_told(
    written: Any, tmp_path: Path, capsys: Printed, command: str
) -> None:
    missing = tmp_path / "no-such-trace.csv"
    assert main([command, written(ACCEPTED), "--trace", str(missing)]) == 3
    assert f"benchgate: {missing} cannot be opened" in capsys.readouterr().err


def test_a_trace_may_come_from_standard_input(written: Any, monkeypatch: pytest.MonkeyPatch, capsys: Printed) -> None:
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(TRACE.encode())))
    assert main(["check", written(ACCEPTED), "--trace", "-"]) == 0
    assert "blank needed" in capsys.readouterr().out


@pytest.mark.parametrize(
    "arguments",
    [["draw"], ["draw", "a.json", "--page", "a3"], ["draw", "a.json", "--lenses", "none"], ["check", "--trace"]],
    ids=" ".join,
)
def test_what_is_not_understood_never_looks_like_a_decision(capsys: Printed, arguments: list[str]) -> None:
    with pytest.raises(SystemExit) as stopped:
        main(arguments)
    assert "usage: benchgate" in capsys.readouterr().err
    assert stopped.value.code == 3
