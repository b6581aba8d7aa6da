"""Written prescriptions: for each remark a text that calls for it; the clear text calls for none."""

from typing import Any

import pytest
from desk import ORDINARY, edited, findings

CLEAR = "R -2.25 -0.75 x 10\nL -2.50 -0.50 x 170"
RIGHT, LEFT = CLEAR.split("\n")
# code: (severity, text, eye, the place in the text)
TEXTS: dict[str, tuple[str, str, str | None, str]] = {
    "power-unsigned": ("reject", f"R 2.25 -0.75 x 10\n{LEFT}", "right", "2.25"),
    "power-without-point": ("reject", f"R -113 -0.75 x 10\n{LEFT}", "right", "-113"),
    "letter-for-digit": ("reject", f"R -2.2O -0.75 x 10\n{LEFT}", "right", "-2.2O"),
    "figure-not-clear": ("reject", f"R -2.2.5 -0.75 x 10\n{LEFT}", "right", "-2.2.5"),
    "sign-doubled": ("reject", f"R --2.25 -0.75 x 10\n{LEFT}", "right", "--2.25"),
    "same-as-other-eye": ("reject", f"{RIGHT}\nL same", None, "same"),
    "axis-beyond-180": ("reject", f"{RIGHT}\nL -2.50 -0.50 x 190", "left", "190"),
    "axis-signed": ("reject", f"{RIGHT}\nL -2.50 -0.50 x -17", "left", "-17"),
    "axis-not-whole-in-text": ("reject", f"{RIGHT}\nL -2.50 -0.50 x 17.5", "left", "17.5"),
    "sphere-not-found": ("reject", f"R\n{LEFT}", "right", "R"),
    "cylinder-not-found": ("reject", f"R -2.25 cyl x 10\n{LEFT}", "right", "R"),
    "eye-read-twice": ("reject", f"{RIGHT}\n{LEFT}\nL -1.00", "left", "L"),
    "eye-missing": ("reject", RIGHT, "left", RIGHT),
    "no-power-in-text": ("reject", "as last time", None, "as last time"),
    "text-left-over": ("reject", f"{CLEAR} tint", None, "tint"),
    "figure-left-over": ("reject", f"{CLEAR} +7.00", None, "+7.00"),
    "add-not-found": ("reject", f"{CLEAR} add", None, "add"),
    "add-not-placed": ("reject", f"{RIGHT} add +2.00 add +2.25\n{LEFT}", None, "add +2.25"),
    "prism-not-found": ("reject", f"{RIGHT} prism in\n{LEFT}", "right", "prism"),
    "prism-without-base": ("reject", f"{RIGHT} prism 2.0\n{LEFT}", "right", "prism 2.0"),
    "pd-not-clear": ("reject", f"{CLEAR}\nPD 9", None, "PD 9"),
    "vertex-distance-not-clear": ("reject", f"{CLEAR}\nVD 90", None, "VD 90"),
    "contact-lens-data": ("reject", f"{CLEAR} BC 8.6", None, "BC 8.6"),
    "table-row-not-clear": ("reject", f"| SPH | CYL | AXIS\nR | -2.25 | -0.75\n{LEFT}", "right", "R | -2.25 | -0.75"),
    "hundredths-without-point": ("review", f"R -225 -0.75 x 10\n{LEFT}", "right", "-225"),
    "whole-dioptres": ("review", f"R -12 -0.75 x 10\n{LEFT}", "right", "-12"),
    "dash-taken-as-minus": ("review", f"R -2.25 - 0.75 x 10\n{LEFT}", "right", "- 0.75"),
    "sign-apart": ("review", f"R - 2.25 -0.75 x 10\n{LEFT}", "right", "- 2.25"),
    "label-next-to-figure": ("review", f"R-2.25 -0.75 x 10\n{LEFT}", None, "R-2.25"),
    "eye-not-labelled": ("review", "-2.25 -0.75 x 10\n-2.50 -0.50 x 170", "right", "-2.25"),
    "axis-zero-in-text": ("review", f"R -2.25 -0.75 x 0\n{LEFT}", "right", "0"),
    "dash-before-axis": ("review", f"R -2.25 -0.75 -10\n{LEFT}", "right", "-10"),
    "axis-not-marked": ("review", f"R -2.25 -1 75\n{LEFT}", "right", "75"),
    "zero-cylinder-with-axis": ("review", f"R -2.25 -0.00 x 56\n{LEFT}", "right", "-0.00"),
    "nought-too-many": ("review", f"R -05.00\n{LEFT}", "right", "-05.00"),
    "one-add-for-both": ("review", f"{CLEAR}\nadd +2.00", None, "add +2.00"),
    "pd-right-before-left": ("review", f"{CLEAR}\nPD 31.5/32.5", None, "PD 31.5/32.5"),
    "pd-differs-from-text": ("review", f"{CLEAR}\nPD 61", None, "PD 61"),
    "prism-for-both": ("review", "both -2.25 1.0 in", None, "both"),
    "balance-lens": ("review", f"{RIGHT}\nL balance", "left", "balance"),
    "intermediate-add-set-aside": ("review", f"{CLEAR}\nint add +1.00", None, "int add +1.00"),
    "acuity-set-aside": ("note", f"{CLEAR} 20/20", None, "20/20"),
    "date-set-aside": ("note", f"{CLEAR}\n2026-06-01", None, "2026-06-01"),
}
CODES = tuple(TEXTS)


def written(text: str) -> dict[str, Any]:
    return edited({"/prescription": {"written": text, "issued_on": "2026-06-01"}})


def test_a_clear_text_is_judged_like_the_figures_it_holds() -> None:
    figures = {
        "/prescription/right": {"sphere": -2.25, "cylinder": -0.75, "axis": 10},
        "/prescription/left": {"sphere": -2.5, "cylinder": -0.5, "axis": 170},
    }
    assert findings(written(CLEAR)) == findings(edited(figures, of=ORDINARY)) == []


@pytest.mark.parametrize("code", CODES)
def test_each_remark_has_its_gravity_its_eye_and_its_place(code: str) -> None:
    severity, text, eye, place = TEXTS[code]
    finding = findings(written(text), code)[0]
    assert (finding.severity, finding.eye, finding.pointer) == (severity, eye, "/prescription/written")
    assert finding.span is not None
    assert text[slice(*finding.span)] == place
    assert not set("{}") & set(finding.message + finding.customer_message)
