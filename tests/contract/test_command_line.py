"""The command line: its exit codes, what it reads, and that it says the same as the service does over the web."""

import io
import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from command_files import ROOT, Printed
from command_files import no_settings as no_settings
from starlette.testclient import TestClient
from web_toys import JSON

from service import limits
from service.__main__ import main
from service.contract.order import EXAMPLE_ORDER

ACCEPTED = EXAMPLE_ORDER
DOUBTFUL = {**EXAMPLE_ORDER, "wearer": {"age_years": 9}}
REJECTED = {**EXAMPLE_ORDER, "lens": {"material": "polycarbonate", "use": "distance", "blank_diameter_mm": 60}}
UNREADABLE = {**EXAMPLE_ORDER, "frame": {"a_mm": "54", "b_mm": 40, "dbl_mm": 18}}


@pytest.fixture
def order_file(tmp_path: Path) -> Any:
    def written(content: object) -> str:
        path = tmp_path / "order.json"
        path.write_bytes(content if isinstance(content, bytes) else json.dumps(content).encode())
        return str(path)

    return written


def test_exit_codes_tell_the_decision(order_file: Any, capsys: Printed) -> None:
    for order, code, heading in (
        (ACCEPTED, 0, "W-1042: ACCEPT"),
        (DOUBTFUL, 1, "W-1042: REVIEW"),
        (REJECTED, 2, "W-1042: REJECT"),
    ):
        assert main(["check", order_file(order)]) == code
        printed = capsys.readouterr()
        assert printed.out.startswith(heading)
        assert printed.err == ""


def test_the_report_tells_reasons_figures_sources_and_cautions(order_file: Any, capsys: Printed) -> None:
    assert main(["check", order_file(REJECTED)]) == 2
    printed = capsys.readouterr().out
    for words in (
        "[reject] blank-too-small  /lens/blank_diameter_mm",
        "The blank of 60 mm",
        "at least 65 mm",
        "/lens/blank_diameter_mm ≥ 70",
        "Source: ",
        "right -2.25 -0.75 x 010",
        "frame PD 72 mm",
        "not a prescription",
        "benchgate 0.",
    ):
        assert words in printed, words


@pytest.mark.parametrize("order", [ACCEPTED, DOUBTFUL, REJECTED, {**ACCEPTED, "prescription": {"written": "?"}}])
def test_json_is_the_answer_of_the_service(
    service: TestClient, order_file: Any, capsys: Printed, order: dict[str, Any]
) -> None:
    main(["check", "--json", order_file(order)])
    over_the_web = service.post("/v1/orders/check", content=json.dumps(order), headers=JSON)
    assert json.loads(capsys.readouterr().out) == over_the_web.json()


def test_an_order_is_read_from_standard_input(monkeypatch: pytest.MonkeyPatch, capsys: Printed) -> None:
    sent = io.TextIOWrapper(io.BytesIO(json.dumps(DOUBTFUL).encode()))
    monkeypatch.setattr(sys, "stdin", sent)
    assert main(["check", "-"]) == 1
    assert capsys.readouterr().out.startswith("W-1042: REVIEW")


def test_an_order_that_cannot_be_read_is_told_by_its_place(order_file: Any, capsys: Printed) -> None:
    assert main(["check", order_file(UNREADABLE)]) == 3
    printed = capsys.readouterr()
    assert printed.out == ""
    assert printed.err.startswith("NOT READABLE\n/frame/a_mm  ")
    assert "A number in mm is expected" in printed.err


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b'{"prescription": ', "NOT READABLE\nLine 1, column "),
        (b"", "No body was sent"),
        (b"\xff\xfe", "UTF-8"),
        (b'{"pd_mm": 1, "pd_mm": 2}', "/pd_mm"),
        (b'{"pd_mm": NaN}', "finite"),
        (b" " * (limits.MAX_BODY_BYTES + 1), "bytes"),
    ],
)
def test_text_that_cannot_be_read_is_told(order_file: Any, capsys: Printed, content: bytes, told: str) -> None:
    assert main(["check", order_file(content)]) == 3
    assert told in capsys.readouterr().err


@pytest.mark.parametrize("content", [json.dumps(UNREADABLE).encode(), b"{", b""])
def test_faults_are_those_that_the_service_tells(
    service: TestClient, order_file: Any, capsys: Printed, content: bytes
) -> None:
    assert main(["check", "--json", order_file(content)]) == 3
    printed = json.loads(capsys.readouterr().out)
    problem = service.post("/v1/orders/check", content=content, headers=JSON).json()
    for name in ("type", "title", "status", "detail"):
        assert printed[name] == problem[name]
    # Over the web a member that does not apply is left out.
    told = [{name: value for name, value in fault.items() if value is not None} for fault in printed["errors"]]
    assert told == problem["errors"]


def test_a_file_that_is_missing_or_no_file_is_told(tmp_path: Path, capsys: Printed) -> None:
    for path in (tmp_path / "no-such-order.json", tmp_path):
        assert main(["check", str(path)]) == 3
        printed = capsys.readouterr()
        assert printed.out == ""
        assert f"benchgate: {path} cannot be opened" in printed.err


@pytest.mark.parametrize(
    ("profile", "told"),
    [
        ("[blank]\nallowence_mm = 3.0\n", "blank.allowence_mm"),
        ("[blank]\nallowance_mm = 30.0\n", "blank.allowance_mm"),
        ("blank = \n", "TOML"),
        (None, "BENCHGATE_PROFILE"),
    ],
)
@pytest.mark.parametrize("command", ["check", "version", "openapi", "serve"])
def test_a_profile_that_cannot_be_used_stops_every_command_with_a_sentence(
    order_file: Any,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: Printed,
    profile: str | None,
    told: str,
    command: str,
) -> None:
    path = tmp_path / "shop.toml"
    if profile is not None:
        path.write_text(profile, encoding="utf-8")
    monkeypatch.setenv("BENCHGATE_PROFILE", str(path))
    assert main([command, order_file(ACCEPTED)] if command == "check" else [command]) == 3
    printed = capsys.readouterr()
    assert printed.out == ""
    assert printed.err.startswith("benchgate: ")
    assert told in printed.err
    assert printed.err.count("\n") == 1


def test_a_setting_that_is_not_known_is_told(monkeypatch: pytest.MonkeyPatch, capsys: Printed) -> None:
    monkeypatch.setenv("BENCHGATE_PROFLIE", "shop.toml")
    assert main(["version"]) == 3
    assert "BENCHGATE_PROFLIE is not a setting" in capsys.readouterr().err


def test_the_profile_of_the_shop_decides(
    order_file: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Printed
) -> None:
    path = tmp_path / "shop.toml"
    path.write_text('[shop]\nname = "corner shop"\n[blank]\nallowance_mm = 4.0\n', encoding="utf-8")
    monkeypatch.setenv("BENCHGATE_PROFILE", str(path))
    assert main(["check", order_file(ACCEPTED)]) == 1
    assert "profile 'corner shop', blank.allowance_mm" in capsys.readouterr().out


def test_version_names_version_rules_and_profile_as_an_answer_does(service: TestClient, capsys: Printed) -> None:
    assert main(["version"]) == 0
    engine = service.post("/v1/orders/check", content=json.dumps(ACCEPTED), headers=JSON).json()["engine"]
    assert capsys.readouterr().out == (
        f"benchgate {engine['version']}; {engine['rules']}; profile: {engine['profile']}\n"
    )


def test_openapi_is_the_published_contract(service: TestClient, capsys: Printed) -> None:
    assert main(["openapi"]) == 0
    assert json.loads(capsys.readouterr().out) == service.get("/openapi.json").json()


def test_a_prescription_is_read_as_the_service_reads_it(service: TestClient, capsys: Printed) -> None:
    text = "R -2.25 -0.75 x 10  L -2.50 -0.50 x 170"
    code = main(["read", "--json", text])
    printed = json.loads(capsys.readouterr().out)
    read = service.post(
        "/v1/prescriptions/read", content=json.dumps({"prescription": {"written": text}}), headers=JSON
    ).json()
    assert printed == read
    assert code == {"accept": 0, "review": 1, "reject": 2}[read["decision"]]


def test_the_report_of_a_prescription_shows_the_pd_and_the_vertex_distance_that_were_read(capsys: Printed) -> None:
    powers = "R -2.25 -0.75 x 10  L -2.50 -0.50 x 170"
    for text, line in (
        ("PD R 31.5 L 32", "PD    right 31.5 mm, left 32 mm"),
        ("PD 63/60", "PD    both 63 mm, near 60 mm"),
        ("VD 12", "vertex distance 12 mm"),
    ):
        main(["read", f"{powers}  {text}"])
        read_as = capsys.readouterr().out.split("\nRead as\n")[1].split("\n\n")[0]
        assert [one.strip() for one in read_as.splitlines()][2:] == [line]
    # Powers that are not understood take nothing from the PD that is.
    main(["read", "R 200  PD 63"])
    assert "\nRead as\n  PD    both 63 mm\n" in capsys.readouterr().out


def test_an_ed_that_was_assumed_is_told_in_the_report_as_in_the_finding(order_file: Any, capsys: Printed) -> None:
    lens = {**EXAMPLE_ORDER["lens"], "blank_diameter_mm": 80}
    order = order_file({**EXAMPLE_ORDER, "frame": {"a_mm": 58, "b_mm": 44, "dbl_mm": 18}, "lens": lens})
    main(["check", "--json", order])
    (ed,) = (
        one["value"] for one in json.loads(capsys.readouterr().out)["assumptions"] if one["pointer"] == "/frame/ed_mm"
    )
    assert ed != round(ed, 2)  # the answer keeps what it reckons with
    main(["check", order])
    printed = capsys.readouterr().out
    assert f"/frame/ed_mm = {ed:.2f}  No ED was given" in printed
    assert f"the usual ED of such a box is {ed:.2f} mm" in printed


@pytest.mark.parametrize("arguments", [[], ["check"], ["chek", "order.json"], ["check", "a.json", "b.json"]])
def test_a_command_that_is_not_understood_never_looks_like_a_decision(capsys: Printed, arguments: list[str]) -> None:
    with pytest.raises(SystemExit) as stopped:
        main(arguments)
    assert "usage: benchgate" in capsys.readouterr().err
    assert stopped.value.code not in (0, 1, 2)


def run(*arguments: str, content: bytes = b"", **environment: str) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(
        [sys.executable, "-m", "service", *arguments],
        input=content,
        capture_output=True,
        cwd=ROOT,
        env={**{name: value for name, value in os.environ.items() if name[:10] != "BENCHGATE_"}, **environment},
        check=False,
    )


@pytest.mark.parametrize(("order", "code"), [(ACCEPTED, 0), (DOUBTFUL, 1), (REJECTED, 2), (UNREADABLE, 3)])
def test_a_process_of_its_own_ends_with_the_same_codes(order: dict[str, Any], code: int) -> None:
    assert run("check", "-", content=json.dumps(order).encode()).returncode == code


def test_a_terminal_that_cannot_write_every_letter_still_shows_the_report() -> None:
    strong = {**REJECTED, "prescription": {"right": {"sphere": -9}, "left": {"sphere": -9}}}
    finished = run("check", "-", content=json.dumps(strong).encode(), PYTHONIOENCODING="ascii")
    assert finished.returncode == 2
    assert b"W-1042: REJECT" in finished.stdout
    assert b"Traceback" not in finished.stderr
