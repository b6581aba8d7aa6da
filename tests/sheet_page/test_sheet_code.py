"""The code block: whole squares with a quiet border, read back by a library that did not write it."""

import numpy as np
import pytest
import zxingcpp
from PIL import Image

from service.sheet_page.code import QUIET, code

TEXTS = [f"benchgate:order:sha256:{digit * 64}" for digit in "0af"] + ["x", "benchgate:order:sha256:" + "09ab" * 16]


def squares(text: str) -> np.ndarray:
    block = code(text)
    dark = np.zeros((block.side, block.side), dtype=bool)
    for run in block.runs:
        assert not dark[run.down, run.across : run.across + run.count].any()
        dark[run.down, run.across : run.across + run.count] = True
    return dark


def picture(dark: np.ndarray, scale: int = 6) -> Image.Image:
    return Image.fromarray(np.where(np.kron(dark, np.ones((scale, scale), dtype=bool)), 0, 255).astype(np.uint8))


@pytest.mark.parametrize("text", TEXTS)
def test_it_reads_as_the_text(text: str) -> None:
    (read,) = zxingcpp.read_barcodes(picture(squares(text)))
    assert read.text == text
    assert read.format == zxingcpp.BarcodeFormat.QRCode


def test_the_border_is_light_four_squares_wide() -> None:
    dark = squares(TEXTS[0])
    rows, columns = np.flatnonzero(dark.any(axis=1)), np.flatnonzero(dark.any(axis=0))
    for used in (rows, columns):
        assert (used[0], used[-1]) == (QUIET, len(dark) - 1 - QUIET)
    assert QUIET == 4  # ISO/IEC 18004: four squares


def test_it_still_reads_with_a_part_smeared() -> None:
    dark = squares(TEXTS[0])
    dark[24:30, 24:30] = True
    (read,) = zxingcpp.read_barcodes(picture(dark))
    assert read.text == TEXTS[0]


def test_a_block_of_another_order_reads_otherwise() -> None:
    assert len({zxingcpp.read_barcodes(picture(squares(text)))[0].text for text in TEXTS}) == len(TEXTS)
