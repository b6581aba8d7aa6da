"""What a file is, by its first bytes: its name may say anything."""

import zipfile
import zlib
from pathlib import Path
from typing import Final, Literal

from service.sheets.fault import MAX_FILE_BYTES, MAX_PART_BYTES, MAX_UNPACKED_BYTES, SheetError

Kind = Literal["workbook", "text"]

_OLE2: Final = bytes.fromhex("D0CF11E0A1B11AE1")
_ENCRYPTED: Final = "EncryptedPackage".encode("utf-16-le")
_SAVE_AS: Final = "Save it as an Excel workbook (.xlsx) or as CSV in UTF-8."
# First bytes, and what the file then is.
_OTHERS: Final = (
    (b"%PDF", "a PDF document"),
    (b"\x1f\x8b", "a compressed file"),
    (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"{\\rtf", "a text document"),
)
_MARKUP: Final = (b"<!doctype", b"<html", b"<?xml", b"<table", b"<meta")


def kind_of(path: Path) -> Kind:
    """Whether a file is a workbook or text. Raises SheetError where it is neither."""
    try:
        size = path.stat().st_size
        if not path.is_file():
            raise SheetError("it is no file. A workbook (.xlsx) or a CSV file is expected.")
        with path.open("rb") as opened:
            start = opened.read(512)
    except OSError as error:
        raise SheetError(f"it cannot be opened: {error.strerror}.") from None
    if not start.strip():
        raise SheetError("it is empty. A row of column names and a row for each order are expected.")
    if size > MAX_FILE_BYTES:
        most = f"{MAX_FILE_BYTES // 1_000_000:,} MB"
        raise SheetError(f"it is larger than {most}. At most {most} are expected. Part it into several files.")
    if start.startswith(_OLE2):
        raise _ole2(path)
    if start.startswith(b"PK"):
        _demand_workbook(path)
        return "workbook"
    for first, name in _OTHERS:
        if start.startswith(first):
            raise SheetError(f"it is {name}. A workbook (.xlsx) or a CSV file is expected.")
    if start.lstrip(b"\xef\xbb\xbf \t\r\n").lower().startswith(_MARKUP):
        raise SheetError(f"it is a web page or XML, whatever its name. Open it in a spreadsheet program. {_SAVE_AS}")
    if path.suffix.lower() in (".xlsx", ".xlsm", ".xls", ".ods"):
        raise SheetError(f"it is no workbook, though its name says so. {_SAVE_AS}")
    return "text"


def _ole2(path: Path) -> SheetError:
    if _ENCRYPTED in path.read_bytes():
        return SheetError("it is protected by a password. Open it, remove the password and save it again.")
    return SheetError(f"it is of an old Excel format (.xls). Open it in a spreadsheet program. {_SAVE_AS}")


def _demand_workbook(path: Path) -> None:
    try:
        with zipfile.ZipFile(path) as archive:
            parts = archive.infolist()
            mimetype = _start_of(archive, "mimetype")
    except (zipfile.BadZipFile, zlib.error, EOFError, OSError, ValueError, RuntimeError, NotImplementedError):
        raise damaged() from None
    names = {part.filename for part in parts}
    if b"opendocument" in mimetype:
        raise SheetError(f"it is an OpenDocument file (.ods). Open it in a spreadsheet program. {_SAVE_AS}")
    if "xl/workbook.bin" in names:
        raise SheetError(f"it is a binary workbook (.xlsb). Open it in a spreadsheet program. {_SAVE_AS}")
    if "[Content_Types].xml" not in names or not any(name.endswith("workbook.xml") for name in names):
        raise SheetError(f"it is a ZIP archive and no workbook. {_SAVE_AS}")
    # A reader stops at the size that is stated for a part, so that what is stated is a bound.
    held = [part.file_size for part in parts if not part.filename.startswith("xl/worksheets/")]
    if sum(part.file_size for part in parts) > MAX_UNPACKED_BYTES or max(held) > MAX_PART_BYTES:
        raise SheetError("it is too large once unpacked. Part it into several files.")


def _start_of(archive: zipfile.ZipFile, part: str) -> bytes:
    """The first bytes of a part; never all of it, which may be of any size once unpacked."""
    if part not in archive.namelist():
        return b""
    with archive.open(part) as opened:
        return opened.read(80)


def damaged() -> SheetError:
    """The fault of a workbook that cannot be read."""
    return SheetError("it is a damaged workbook. Open it in a spreadsheet program and save it again.")
