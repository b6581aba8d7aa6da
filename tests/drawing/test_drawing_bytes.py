"""The same sheet gives the same bytes, now and in another process; and the SVG is plain."""

import hashlib
import os
import re
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path

import pytest
from drawing_sheets import CASES
from drawn_svg import SPACE, DrawnSvg

from service.drawing.pdf_writer import pdf
from service.drawing.svg_writer import svg

HERE = Path(__file__).resolve().parent
WRITERS = {"svg": svg, "pdf": pdf}
FRESH = """
import hashlib, sys
sys.path.insert(0, sys.argv[1])
from drawing_sheets import CASES
from service.drawing.pdf_writer import pdf
from service.drawing.svg_writer import svg
for name in CASES:
    print(name, *(hashlib.sha256(write(CASES[name]())).hexdigest() for write in (svg, pdf)))
"""


def digests(name: str) -> list[str]:
    return [hashlib.sha256(write(CASES[name]())).hexdigest() for write in WRITERS.values()]


@pytest.mark.parametrize("name", CASES)
def test_the_same_sheet_gives_the_same_bytes(name: str) -> None:
    assert digests(name) == digests(name)


def test_a_fresh_process_gives_the_same_bytes() -> None:
    environment = {**os.environ, "PYTHONHASHSEED": "12345", "TZ": "Pacific/Auckland"}
    said = subprocess.run(
        [sys.executable, "-c", FRESH, str(HERE)],
        cwd=HERE.parents[1],
        env=environment,
        capture_output=True,
        text=True,
        check=True,
    )
    assert {line.split()[0]: line.split()[1:] for line in said.stdout.splitlines()} == {
        name: digests(name) for name in CASES
    }


def test_different_sheets_give_different_bytes() -> None:
    for write in WRITERS.values():
        assert len({write(make()) for make in CASES.values()}) == len(CASES)


@pytest.mark.parametrize("name", CASES)
def test_the_svg_is_plain_black_on_white_and_asks_for_nothing_from_elsewhere(name: str) -> None:
    data = svg(CASES[name]())
    read = DrawnSvg.read(data)
    for element in read.root.iter():
        assert element.tag.removeprefix(SPACE) in {
            "svg",
            "title",
            "desc",
            "rect",
            "g",
            "polygon",
            "polyline",
            "circle",
            "text",
        }
        for attribute, value in element.attrib.items():
            assert not attribute.startswith(("on", "data-", "style", "class", "{")), attribute
            if attribute in ("fill", "stroke"):
                assert value in ("none", "black", "white")
    assert read.root.get("font-family") == "sans-serif"
    assert re.findall(rb"https?://[^\"]+", data) == [b"http://www.w3.org/2000/svg"]  # the name of the format only


def test_the_svg_tells_those_who_cannot_see_it_what_it_is() -> None:
    read = DrawnSvg.read(svg(CASES["everyday"]()))
    assert read.root.findtext(f"{SPACE}title") == "W-1042"
    assert (read.root.findtext(f"{SPACE}desc") or "").startswith(
        "The right lens and the left lens at true size, seen from the front."
    )
    assert read.root.get("role") == "img"
    named = (read.root.get("aria-labelledby") or "").split()
    assert [read.root.find(f"*[@id='{name}']") is not None for name in named] == [True, True]


def test_sheets_drawn_at_the_same_time_do_not_mix() -> None:
    sheets = [replace(next(iter(CASES.values()))(), title=f"W-{number}") for number in range(6)]
    alone = [(svg(sheet), pdf(sheet)) for sheet in sheets]
    with ThreadPoolExecutor(6) as pool:
        together = list(pool.map(lambda sheet: (svg(sheet), pdf(sheet)), sheets * 4))
    assert together == alone * 4
