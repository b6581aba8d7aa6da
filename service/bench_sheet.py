"""From an order to its bench sheet: what is set, read and checked. No web here; the command line calls it too."""

from datetime import date

from optics_core.edging import EdgingPractice, edging_practice
from optics_core.prism import inward
from optics_core.sphero_cylinder import SpheroCylinder as CorePower
from optics_core.sphero_cylinder import principal_powers
from service.bench_checklist import checklist
from service.bench_drawing import advised
from service.checking import checked_order
from service.contract import sheet as contract
from service.contract.answer import CheckAnswer, EyeFit, SpheroCylinder
from service.contract.near import EyeNear
from service.contract.placement import Shift, UnwantedPrism
from service.contract.prescribed import PrismParts
from service.facts import NEEDS_ADD, OrderFacts
from service.facts_place import EyePlace
from service.facts_prescription import EyePower
from service.facts_thickness import EdgePlace, EyeThickness
from service.notation import line
from service.order_digest import order_digest
from service.profile.loader import Limits
from service.rounding import for_display, settled, shown_if_any
from service.rules.registry import source_words
from service.values import NEAR_USES, EyeName
from service.words import side


def bench_sheet(request: contract.SheetRequest, limits: Limits, today: date) -> contract.BenchSheet:
    """The sheet of an order; an order that cannot be worked with has one too, with the findings and nothing to cut."""
    checked = checked_order(request.order, limits, today)
    answer, facts, limits = checked.answer, checked.facts, checked.limits
    practice = None if facts is None else _practice(facts)
    apart = None if facts is None else _centres_apart(facts)
    words = source_words()
    return contract.BenchSheet(
        decision=answer.decision,
        reference=answer.reference,
        order_digest=order_digest(request.order),
        right=None if facts is None else _eye("right", facts, answer, limits),
        left=None if facts is None else _eye("left", facts, answer, limits),
        pair=None if facts is None else _pair(request, facts, apart),
        edging=None if facts is None or practice is None else _edging(practice, facts.rim),
        checklist=[]
        if facts is None
        else [
            contract.ChecklistItem(one.code, one.words, words[one.source])
            for one in checklist(facts, practice, shown_if_any(apart))
        ],
        cautions=answer.cautions,
        findings=answer.findings,
        assumptions=answer.assumptions,
        engine=answer.engine,
    )


def _practice(facts: OrderFacts) -> EdgingPractice | None:
    return None if facts.material is None else edging_practice(material=facts.material.id, rim=facts.rim)


def _centres_apart(facts: OrderFacts) -> float | None:
    """The sum of what both lenses are centred on."""
    if len(facts.places) != 2:
        return None
    return settled(facts.places[0].pd_mm + facts.places[1].pd_mm)


def _pair(request: contract.SheetRequest, facts: OrderFacts, apart: float | None) -> contract.SheetPair:
    frame, material, lens = facts.frame, facts.material, facts.lens
    ordered = request.order
    return contract.SheetPair(
        a_mm=frame.a_mm,
        b_mm=frame.b_mm,
        dbl_mm=frame.dbl_mm,
        ed_mm=frame.ed_mm,
        frame_pd_mm=for_display(facts.frame_pd_mm),
        centres_apart_mm=shown_if_any(apart),
        rim=ordered.frame.rim,
        rim_depth_mm=ordered.frame.rim_depth_mm,
        material=None if material is None else contract.SheetMaterial(material.id, material.name, material.index_d),
        use=ordered.lens.use or "distance",
        tint=ordered.lens.tint,
        polarised=lens.polarised,
        tolerance_standard=facts.prism_limits.standard,
    )


def _edging(practice: EdgingPractice, rim: str) -> contract.Edging:
    of_rim, family = practice.rim, practice.family
    return contract.Edging(
        family=family.name,
        edge=of_rim.edge,
        safety_bevel=of_rim.safety_bevel,
        finish=of_rim.finish,
        cutting=family.cutting,
        drilling=family.drilling if rim == "drilled" else None,
        source=source_words()[of_rim.source],
        mark=of_rim.mark,
    )


def _eye(eye: EyeName, facts: OrderFacts, answer: CheckAnswer, limits: Limits) -> contract.EyeSheet:
    power, written = facts.cut.of(eye), facts.rx.of(eye)
    place = next((one for one in facts.places if one.eye == eye), None)
    body = next((one for one in facts.thickness if one.eye == eye), None)
    power_from = _power_from(power, facts)
    optics = None if power_from == "not-settled" else power.optics
    has_reading_part = facts.lens.use in NEEDS_ADD
    near, fit = _near_of(eye, answer), _fit_of(eye, answer)
    return contract.EyeSheet(
        prescribed=line(written.sphere_d, written.cylinder_d, written.axis_given),
        notation=None if optics is None else line(power.sphere_d, power.cylinder_d, power.axis_deg),
        power_from=power_from,
        minus_cylinder=None if optics is None else _power(optics.minus),
        plus_cylinder=None if optics is None else _power(optics.plus),
        lensmeter=None if optics is None else contract.LensmeterForms(_read(optics.minus), _read(optics.plus)),
        add=power.add_d if has_reading_part else None,
        prism=None
        if power.prism is None
        else PrismParts(for_display(power.prism_in_pd), for_display(power.prism.y_pd)),
        pd_mm=None if place is None else for_display(place.pd_mm),
        pd_for="near" if facts.lens.use in NEAR_USES else "distance",
        height_mm=None if place is None else shown_if_any(place.height_mm),
        decentration_mm=None if place is None else Shift(for_display(place.in_mm), shown_if_any(place.up_mm)),
        near_pd_mm=near.pd.taken_mm if near is not None and has_reading_part else None,
        segment=None if near is None else near.segment,
        size=_size(eye, facts),
        blank=None if place is None or fit is None else _blank(place, fit, facts),
        advice=None if place is None else _advice(place, facts, limits),
        no_half_turn=None if place is None or place.half_turn is None else place.half_turn.refused,
        body=None if body is None or power_from == "not-settled" else _body(body),
    )


def _near_of(eye: EyeName, answer: CheckAnswer) -> EyeNear | None:
    if answer.near is None:
        return None
    return answer.near.right if eye == "right" else answer.near.left


def _fit_of(eye: EyeName, answer: CheckAnswer) -> EyeFit | None:
    if answer.fit is None:
        return None
    return answer.fit.right if eye == "right" else answer.fit.left


def _power_from(power: EyePower, facts: OrderFacts) -> contract.PowerFrom:
    if power.optics is None:
        return "not-settled"
    if facts.cut is not facts.rx:
        return "distance-plus-add"
    # An addition that was not added: a person must say what power such a pair is cut to.
    adds = any(eye.add_d is not None for eye in facts.rx.eyes)
    return "not-settled" if adds and facts.lens.use in NEAR_USES else "prescription"


def _read(form: CorePower) -> contract.LensmeterReading:
    """Along the axis of a form lies its sphere, a quarter turn on the other principal power."""
    (_, along), (_, across) = principal_powers(
        sphere_d=form.sphere_d, cylinder_d=form.cylinder_d, axis_deg=form.axis_deg
    )
    if not form.cylinder_d:
        return contract.LensmeterReading(for_display(along), None, None)
    return contract.LensmeterReading(for_display(along), for_display(across), form.axis_deg)


def _power(form: CorePower) -> SpheroCylinder:
    return SpheroCylinder(for_display(form.sphere_d), for_display(form.cylinder_d), form.axis_deg)


def _size(eye: EyeName, facts: OrderFacts) -> contract.CutSize:
    trace = facts.trace
    outline = None if trace is None else (trace.right if eye == "right" else trace.left)
    if outline is None:
        return contract.CutSize(facts.frame.a_mm, facts.frame.b_mm, None, "boxed")
    sizes = outline.sizes
    return contract.CutSize(
        for_display(sizes.a_mm), for_display(sizes.b_mm), for_display(sizes.circumference_mm), "trace"
    )


def _blank(place: EyePlace, fit: EyeFit, facts: OrderFacts) -> contract.SheetBlank | None:
    if place.blank_mm is None or place.spare_mm is None or place.margin_mm is None:
        return None
    row = None
    if facts.stock is not None:
        listed = facts.stock.of(place.eye)
        row = None if listed is None or listed.best is None else listed.best.row.name
    return contract.SheetBlank(
        diameter_mm=for_display(place.blank_mm),
        chosen_by="order" if facts.blank.named else "shop",
        row=row,
        needed_mm=for_display(place.sure_blank_mm),
        margin_mm=for_display(place.spare_mm),
        guaranteed_margin_mm=for_display(place.margin_mm),
        middle_mm=Shift(
            for_display(place.blank_in_mm), None if place.up_mm is None else for_display(place.blank_up_mm)
        ),
        tightest=fit.tightest,
    )


def _advice(place: EyePlace, facts: OrderFacts, limits: Limits) -> contract.PlacementAdvice | None:
    at = advised(place, facts, limits)
    shifted = bool(at.in_mm or at.up_mm)
    if not at.turned and not shifted:
        return None
    prism, margin = None, place.best_spare_mm
    if shifted and facts.placement is not None and facts.placement.this_blank is not None:
        found = facts.placement.this_blank.of(place.eye)
        prism = UnwantedPrism(for_display(found.horizontal_in_pd), for_display(found.vertical_pd))
        margin = None if place.blank_mm is None else settled(place.blank_mm - found.minimum_blank_mm)
    return contract.PlacementAdvice(
        turned=at.turned,
        shift_mm=Shift(for_display(at.in_mm), for_display(at.up_mm)),
        prism=prism,
        margin_mm=shown_if_any(margin),
    )


def _body(body: EyeThickness) -> contract.ExpectedBody:
    return contract.ExpectedBody(
        front_power_d=for_display(body.front_power_d),
        centre_mm=shown_if_any(body.centre_mm),
        thinnest=None if body.thinnest is None else _edge(body.eye, body.thinnest),
        thickest=None if body.thickest is None else _edge(body.eye, body.thickest),
        lower_edge_with_add_mm=shown_if_any(body.lower_edge_with_add_mm),
        weight_g=shown_if_any(body.weight_g),
        basis=body.basis,
    )


def _edge(eye: EyeName, place: EdgePlace) -> contract.EdgeSeen:
    """The direction of an edge told from the centre line, as a person at the bench sees it."""
    angle = place.angle_deg
    across, above = (-1.0, 180.0 - angle) if 90.0 < angle < 270.0 else (1.0, angle if angle <= 90.0 else angle - 360.0)
    if angle in (90.0, 270.0):
        across = 0.0
    return contract.EdgeSeen(for_display(place.edge_mm), side(inward(eye=eye, x=across)), for_display(above))
