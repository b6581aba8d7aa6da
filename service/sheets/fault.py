"""Why a file cannot be checked, and the bounds on what is taken."""

from typing import Final

# Common practice, no source. A day's orders of a large shop are some thousand rows.
MAX_ROWS: Final = 100_000
MAX_COLUMNS: Final = 500
MAX_FILE_BYTES: Final = 100_000_000
# What a workbook may be once unpacked, and those of its parts that are held in memory.
MAX_UNPACKED_BYTES: Final = 1_000_000_000
MAX_PART_BYTES: Final = 100_000_000
MAX_SHEETS: Final = 100
# A title or a date may stand above the names of the columns.
MAX_ROWS_ABOVE: Final = 20
# The largest sheet of the common spreadsheet programs, and their longest text of a cell.
SHEET_ROWS: Final = 1_048_576
SHEET_COLUMNS: Final = 16_384
CELL_CHARACTERS: Final = 32_767


class SheetError(Exception):
    """The file cannot be checked; the text says what was read, what was expected and what to do."""


def no_extra(doing: str) -> SheetError:
    """The fault of a workbook where the libraries that read or write it are not installed."""
    return SheetError(
        f'to {doing} a workbook (.xlsx) takes the extra "sheets", which is not installed: pip install "benchgate[sheets]", or in '
        'a checkout pip install ".[sheets]". CSV files need nothing more.'
    )


def too_many_rows() -> SheetError:
    """The fault of a sheet that goes on too long."""
    return SheetError(
        f"more than {MAX_ROWS:,} rows hold something. At most {MAX_ROWS:,} are expected. Part the sheet into several files."
    )
