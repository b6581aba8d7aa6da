"""A catalogue of frames as columns, from whatever form it came in. Nothing is left out: a row that cannot be read is told."""

import csv
import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np
import numpy.typing as npt
from pydantic import ValidationError

from service.contract.screen import CatalogueFrame
from service.limits import MAX_CATALOGUE_CHARACTERS, MAX_SCREENED_FRAMES
from service.profile.loader import Limits, ProfileError
from service.reading.cell_remarks import said

Column = npt.NDArray[np.float64]
RIMS: Final = ("full", "grooved", "drilled")
_MOST_FAULTS: Final = 20
# What the columns of a CSV may be called, in small letters without blanks and signs.
_NAMES: Final = {
    "id": ("id", "frame", "name", "sku", "model", "reference"),
    "a_mm": ("amm", "a", "lenswidth", "eyesize"),
    "b_mm": ("bmm", "b", "lensheight"),
    "dbl_mm": ("dblmm", "dbl", "bridge"),
    "ed_mm": ("edmm", "ed", "effectivediameter"),
    "rim": ("rim",),
}
_NEEDED: Final = ("id", "a_mm", "b_mm", "dbl_mm")


class CatalogueError(ValueError):
    """A catalogue that cannot be used; `faults` names rows (the header is row 1) and what was expected there."""

    def __init__(self, faults: Sequence[str]) -> None:
        super().__init__(" ".join(faults))
        self.faults = tuple(faults)


@dataclass(frozen=True, slots=True)
class Catalogue:
    """Frames as columns; an ED that is not known is nan, a rim is its place in `RIMS`. Lengths in mm."""

    ids: Sequence[str]
    a_mm: Column
    b_mm: Column
    dbl_mm: Column
    ed_mm: Column
    rim: npt.NDArray[np.int8]

    def __len__(self) -> int:
        return len(self.ids)

    def frame(self, index: int) -> dict[str, Any]:
        """One frame as the member of an order."""
        ed = self.ed_mm.item(index)
        known = {} if ed != ed else {"ed_mm": ed}
        return {
            "a_mm": self.a_mm.item(index),
            "b_mm": self.b_mm.item(index),
            "dbl_mm": self.dbl_mm.item(index),
            **known,
            "rim": RIMS[self.rim.item(index)],
        }


def catalogue_of(frames: Sequence[CatalogueFrame]) -> Catalogue:
    """Frames that were read one by one."""
    return Catalogue(
        ids=[frame.id for frame in frames],
        a_mm=np.array([frame.a_mm for frame in frames]),
        b_mm=np.array([frame.b_mm for frame in frames]),
        dbl_mm=np.array([frame.dbl_mm for frame in frames]),
        ed_mm=np.array([np.nan if frame.ed_mm is None else frame.ed_mm for frame in frames], dtype=np.float64),
        rim=np.array([RIMS.index(frame.rim) for frame in frames], dtype=np.int8),
    )


def catalogue_from_csv(text: str) -> Catalogue:
    """Frames of a CSV with a header, parted by commas, semicolons or tabs.

    Raises CatalogueError, naming the first rows that cannot be read.
    """
    text = text.removeprefix("\ufeff")
    if not text.strip():
        raise _empty()
    header_line = text.lstrip().splitlines()[0]
    delimiter = max(",;\t", key=header_line.count)
    rows = csv.reader(io.StringIO(text), delimiter=delimiter, strict=True)
    try:
        return catalogue_of(list(_frames(rows, decimal_comma=delimiter != ",")))
    except csv.Error as error:
        raise CatalogueError([f"Row {rows.line_num}: the text is not CSV from here on ({error})."]) from None


def catalogue_file(path: Path) -> Catalogue:
    """The catalogue in a file. Raises CatalogueError, naming file and row, if it cannot be used."""
    try:
        text = path.read_text("utf-8")
    except (OSError, UnicodeDecodeError) as error:
        why = "it is not UTF-8" if isinstance(error, UnicodeDecodeError) else error.strerror
        raise CatalogueError([f"Catalogue {path} cannot be read: {why}."]) from None
    if len(text) > MAX_CATALOGUE_CHARACTERS:
        raise CatalogueError([f"Catalogue {path} is longer than {MAX_CATALOGUE_CHARACTERS} characters."])
    try:
        return catalogue_from_csv(text)
    except CatalogueError as error:
        raise CatalogueError([f"Catalogue {path}: {fault}" for fault in error.faults]) from None


def listed_catalogue(limits: Limits, profile_path: Path | None) -> Catalogue | None:
    """The catalogue that a profile names; None where it names none. Raises ProfileError if it cannot be used."""
    name = limits.profile.catalogue.file
    if not name:
        return None
    folder = Path() if profile_path is None else profile_path.parent
    try:
        return catalogue_file(folder / name)
    except CatalogueError as error:
        raise ProfileError(f"the key catalogue.file cannot be used. {error}") from None


def _frames(rows: Any, *, decimal_comma: bool) -> Iterator[CatalogueFrame]:
    header = next((row for row in rows if any(cell.strip() for cell in row)), None)
    if header is None:  # delimiters and quotes, and nothing between them
        raise _empty()
    places = _places(header)
    faults: list[str] = []
    read = 0
    for row in rows:
        if not any(cell.strip() for cell in row):
            continue
        read += 1
        if read > MAX_SCREENED_FRAMES:
            raise CatalogueError([f"More than {MAX_SCREENED_FRAMES} frames were read. Send the catalogue in parts."])
        found = _frame(row, len(header), places, decimal_comma=decimal_comma)
        if isinstance(found, CatalogueFrame):
            if not faults:
                yield found
        else:
            faults.append(f"Row {rows.line_num}: {found}")
            if len(faults) == _MOST_FAULTS:
                break
    if faults:
        raise CatalogueError(faults)
    if not read:
        raise CatalogueError(["There is a header and no frame below it."])


def _empty() -> CatalogueError:
    return CatalogueError(["The catalogue is empty. A header and a row for each frame are expected."])


def _places(header: Sequence[str]) -> dict[str, int]:
    plain = ["".join(letter for letter in cell.lower() if letter.isalnum()) for cell in header]
    places: dict[str, int] = {}
    for name, spellings in _NAMES.items():
        at = [place for place, cell in enumerate(plain) if cell in spellings]
        if len(at) > 1:
            raise CatalogueError(
                [f"Row 1: the columns {' and '.join(said(header[place]) for place in at)} both hold {name}."]
            )
        if at:
            places[name] = at[0]
    missing = [name for name in _NEEDED if name not in places]
    if missing:
        raise CatalogueError(
            [f"Row 1: no column for {', '.join(missing)} was read. The header needs id, a_mm, b_mm and dbl_mm."]
        )
    return places


def _frame(row: Sequence[str], width: int, places: dict[str, int], *, decimal_comma: bool) -> CatalogueFrame | str:
    """The frame of a row, or what is wrong with it."""
    if len(row) != width:
        return f"{len(row)} cells were read, and the header has {width}."
    document: dict[str, Any] = {}
    for name, place in places.items():
        text = row[place].strip()
        if name in ("id", "rim"):
            if text or name == "id":
                document[name] = text if name == "id" else text.lower()
        elif text:
            figure = _figure(text, decimal_comma=decimal_comma)
            if figure is None:
                return f"{said(text)!r} was read for {name}. A number in mm is expected."
            document[name] = figure
    try:
        return CatalogueFrame.model_validate(document)
    except ValidationError as error:
        first = error.errors(include_url=False, include_input=False)[0]
        where = first["loc"][0] if first["loc"] else "frame"
        return f"{where}: {first['msg'][0].lower()}{first['msg'][1:]}."


def _figure(text: str, *, decimal_comma: bool) -> float | None:
    if decimal_comma:
        text = text.replace(",", ".")
    try:
        value = float(text)
    except ValueError:
        return None
    return value if text.isascii() and "_" not in text and np.isfinite(value) else None
