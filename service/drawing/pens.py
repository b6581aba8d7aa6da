"""The lines of the drawing: told apart by width and dashes alone, so that a black and white print shows them all."""

from typing import Final

from service.drawing.scene import Pen

OUTLINE: Final = Pen(0.5)
MODELLED: Final = Pen(0.5, (3.0, 1.5))
BOX: Final = Pen(0.15)
LEVEL: Final = Pen(0.13)
BLANK: Final = Pen(0.25, (2.2, 1.3))
USABLE: Final = Pen(0.3, (0.3, 0.9))
AXIS: Final = Pen(0.18, (6.0, 1.0, 1.0, 1.0))
AXIS_END: Final = Pen(0.6)
MARK: Final = Pen(0.25)
CENTRE: Final = Pen(0.18)
TIGHTEST: Final = Pen(0.6)
ARROW: Final = Pen(0.18)
RULE: Final = Pen(0.2)
SQUARE: Final = Pen(0.25)
