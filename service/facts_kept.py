"""What orders have in common that differ in material and blank alone: worked out once, for as long as they are compared.

The outlines are those of the frame, and a blank of the same size sits in the same way whatever it is made of. Both cost
far more than the rest of a check.
"""

from dataclasses import dataclass, field

from optics_core.tolerance import PrismLimits
from service.facts_place import EyePlace
from service.facts_placement import PlacementFacts, placement_facts
from service.facts_prescription import PrescriptionFacts
from service.facts_trace import TraceFacts, trace_facts
from service.values import BlankValues, EyeName, FrameValues, TraceValues

_Blanks = tuple[float | None, float | None, tuple[EyeName, ...]]


@dataclass(slots=True)
class Kept:
    """Empty for a single order. Never to be shared between orders that differ in anything else."""

    _trace: TraceFacts | None = None
    _placements: dict[_Blanks, PlacementFacts | None] = field(default_factory=dict)

    def trace(self, trace: TraceValues, frame: FrameValues) -> TraceFacts:
        """The outlines, checked."""
        if self._trace is None:
            self._trace = trace_facts(trace, frame)
        return self._trace

    def placement(
        self,
        blank: BlankValues,
        cut: PrescriptionFacts,
        places: tuple[EyePlace, ...],
        standard: PrismLimits,
        one_eye_share: float,
    ) -> PlacementFacts | None:
        """Where blanks of these sizes could sit."""
        blanks = blank.right_mm, blank.left_mm, blank.top_marked
        if blanks not in self._placements:
            self._placements[blanks] = placement_facts(cut, places, standard, one_eye_share)
        return self._placements[blanks]
