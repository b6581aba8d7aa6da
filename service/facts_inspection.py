"""A finished pair against its order: one frozen object, computed once, which the rules on inspections read."""

from dataclasses import dataclass, replace
from typing import Final

from optics_core.likely_causes import Cause, EyeLens, Pair, likely_causes
from optics_core.residual import Residual, residual_between, residual_power
from optics_core.tolerance import LensType, tolerances
from service.facts import OrderFacts
from service.facts_doubts import FarCentre, FarVerification, contradicted, far_centres, far_verification
from service.facts_inspect_lens import NO_PRISM, LensInspection, lens_inspections, lens_judged, lens_missing
from service.facts_inspect_pair import PairInspection, off_alike, pair_inspection, pair_judged, pair_missing
from service.facts_judged import Judged, Missing, OffAlike
from service.facts_measured import MeasuredPair, ReadingFault
from service.facts_prescription import PrescriptionFacts
from service.notation import whole_degree_line
from service.rounding import settled
from service.values import NEEDS_ADD, EyeName

# What the power of a lens is judged by, in either convention.
_POWERS: Final = frozenset({"sphere", "stronger_meridian", "weaker_meridian", "cylinder"})

__all__ = ["InspectionFacts", "Judged", "inspection_facts", "residual_words"]


@dataclass(frozen=True, slots=True)
class InspectionFacts:
    """Everything that the rules on inspections read. `judged` holds the right lens, the left one, then the pair."""

    standard: str
    kind: LensType
    ordered_decision: str
    digest_differs: bool
    verification_faults: tuple[EyeName, ...]
    pair: PairInspection | None
    judged: tuple[Judged, ...]
    missing: tuple[Missing, ...]
    faults: tuple[ReadingFault, ...]
    residuals: tuple[tuple[EyeName, Residual], ...]
    residual_between: Residual | None
    off_alike: tuple[OffAlike, ...]
    causes: tuple[Cause, ...]
    far_verification: tuple[FarVerification, ...]
    contradicted: tuple[Judged, ...]
    far_centres: tuple[FarCentre, ...]
    ordered_codes: tuple[str, ...]

    @property
    def by_recalled_limits_only(self) -> tuple[EyeName, ...]:
        """Lenses of which no power is held against a limit that was read, and which are not exact either."""
        found: list[EyeName] = []
        for eye, _ in self.residuals:
            powers = [one for one in self.judged if one.eye == eye and one.quantity in _POWERS]
            if powers and all(one.mark == "memory" for one in powers) and any(one.deviation for one in powers):
                found.append(eye)
        return tuple(found)

    @property
    def standard_words(self) -> str:
        """The standard as people name it."""
        table = tolerances(standard=self.standard)
        return f"{table['standard']}-{table['year']}"


def inspection_facts(
    order: OrderFacts | None,
    ordered: PrescriptionFacts | None,
    measured: MeasuredPair,
    *,
    standard: str,
    ordered_decision: str,
    digest_differs: bool,
    ordered_codes: tuple[str, ...] = (),
    verification_faults: tuple[EyeName, ...] = (),
) -> InspectionFacts:
    """Work out everything that the rules on inspections read.

    `ordered` holds the powers that are held against the readings: those to be cut, or those that the maker says a lensmeter
    should read. Without an order that can be worked with nothing is compared.
    """
    kind: LensType = "progressive" if order is not None and order.lens.use == "progressive" else "single_vision"
    faults = tuple(fault for lens in (measured.right, measured.left) if (fault := lens.fault) is not None)
    pair = between = None
    judged: tuple[Judged, ...] = ()
    missing: tuple[Missing, ...] = ()
    residuals: tuple[tuple[EyeName, Residual], ...] = ()
    alike: tuple[OffAlike, ...] = ()
    causes: tuple[Cause, ...] = ()
    far: tuple[FarVerification, ...] = ()
    against: tuple[Judged, ...] = ()
    centres: tuple[FarCentre, ...] = ()
    if order is not None and ordered is not None:
        lenses = lens_inspections(
            ordered.eyes,
            (measured.right, measured.left),
            order,
            (measured.right_from_bridge, measured.left_from_bridge),
            (measured.right_height, measured.left_height),
        )
        pair = pair_inspection(*lenses, order, measured.centre_distance)
        together = tuple(pair_judged(pair, standard, kind))
        right, left = (tuple(lens_judged(lens, standard, kind)) for lens in lenses)
        judged = right + left + together
        missing = (*lens_missing(lenses[0], right), *lens_missing(lenses[1], left), *pair_missing(together))
        residuals = tuple((lens.eye, left_over) for lens in lenses if (left_over := _residual(lens)) is not None)
        if len(residuals) == 2:
            between = _with_settled_length(residual_between(right=residuals[0][1], left=residuals[1][1]))
        alike = tuple(off_alike(pair, standard, kind))
        far = tuple(far_verification(ordered, order))
        against = tuple(contradicted(pair, order, together, standard, kind))
        centres = tuple(far_centres(pair))
        if any(one.within is False for one in judged):  # nothing is said of a pair that keeps to its limits
            causes = likely_causes(standard=standard, lens=kind, ordered=_ordered(lenses), measured=_measured(lenses))
    return InspectionFacts(
        standard=standard,
        kind=kind,
        ordered_decision=ordered_decision,
        digest_differs=digest_differs,
        verification_faults=verification_faults,
        pair=pair,
        judged=judged,
        missing=missing,
        faults=faults,
        residuals=residuals,
        residual_between=between,
        off_alike=alike,
        causes=causes,
        far_verification=far,
        contradicted=against,
        far_centres=centres,
        ordered_codes=ordered_codes,
    )


def residual_words(residual: Residual) -> str:
    """A residual as one line."""
    power = residual.power
    return whole_degree_line(power.sphere_d, power.cylinder_d, power.axis_deg)


def _residual(lens: LensInspection) -> Residual | None:
    if lens.measured.power is None or lens.ordered.optics is None:
        return None
    return _with_settled_length(residual_power(ordered=lens.ordered.optics.minus, measured=lens.measured.power.lens))


def _with_settled_length(residual: Residual) -> Residual:
    """The same, its length as it is compared with a limit: -1.00 less -1.20 is 0.20, which it is not in binary."""
    return replace(residual, length_d=settled(residual.length_d))


def _ordered(lenses: tuple[LensInspection, LensInspection]) -> Pair:
    return Pair(*(_ordered_lens(lens) for lens in lenses))


def _ordered_lens(lens: LensInspection) -> EyeLens | None:
    if lens.ordered.optics is None:
        return None
    add = lens.ordered.add_d if lens.use in NEEDS_ADD else None
    return EyeLens(lens.ordered.optics.minus, add, lens.ordered.prism or NO_PRISM)


def _measured(lenses: tuple[LensInspection, LensInspection]) -> Pair:
    return Pair(*(_measured_lens(lens) for lens in lenses))


def _measured_lens(lens: LensInspection) -> EyeLens | None:
    if lens.measured.power is None:
        return None
    add = lens.measured.others.get("add")
    return EyeLens(lens.measured.power.lens, None if add is None else add.mean, lens.measured.prism or NO_PRISM)
