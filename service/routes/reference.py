"""Reference: everything that the answers rest on."""

from typing import Any

from fastapi import APIRouter
from pydantic import BaseModel
from pydantic.fields import FieldInfo

from optics_core.materials import Material, materials
from optics_core.sources import source
from optics_core.tolerance import standards, tolerances
from service.contract import reference as contract
from service.limits import LIMITS
from service.profile.loader import Limits
from service.routes.context import Context
from service.rules.registry import RULES, digest
from service.stocked import stocked_diameters
from service.web.problems import PROBLEMS, TYPE_PREFIX
from service.web.route import StrictRoute


def router(context: Context) -> APIRouter:
    """The endpoints of this stage. What they answer does not change while the service runs, so it is made once."""
    routes = APIRouter(prefix="/v1/reference", tags=["reference"], route_class=StrictRoute)
    all_materials = contract.Materials([_material(row, context.limits) for row in materials().values()])
    all_tolerances = contract.Tolerances([_tolerances(name) for name in standards()])
    all_rules = _rules()
    profile = contract.ProfileReference(context.limits.profile.shop.name, context.limits.digest, _keys(context.limits))
    problems = contract.Problems(
        [
            contract.ProblemReference(kind.code, f"{TYPE_PREFIX}{kind.code}", kind.status, kind.title, kind.description)
            for kind in PROBLEMS
        ]
    )
    bounds = contract.Limits(
        [contract.LimitReference(row.name, row.value, row.unit, row.description) for row in LIMITS]
    )

    @routes.get("/materials", summary="Lens materials")
    async def read_materials() -> contract.Materials:
        """Lens materials under generic names, with index, Abbe number, density, and their sources."""
        return all_materials

    @routes.get("/tolerances", summary="Tolerance standards")
    async def read_tolerances() -> contract.Tolerances:
        """Every row of the standards by which finished pairs are judged, with its source and whether it was read there."""
        return all_tolerances

    @routes.get("/rules", summary="Rules")
    async def read_rules() -> contract.Rules:
        """Every rule with its code, gravity, source and texts."""
        return all_rules

    @routes.get("/profile", summary="Profile in force")
    async def read_profile() -> contract.ProfileReference:
        """Every key that a shop may tune, with its value, unit, and where the value came from."""
        return profile

    @routes.get("/problems", summary="Kinds of problem documents")
    async def read_problems() -> contract.Problems:
        """Every kind of problem document that the service answers with (RFC 9457)."""
        return problems

    @routes.get("/limits", summary="Bounds")
    async def read_limits() -> contract.Limits:
        """Every bound on requests."""
        return bounds

    return routes


def _source(name: str) -> contract.SourceReference:
    row = source(name)
    return contract.SourceReference(row.id, row.title, row.where, row.grade, row.mark)


def _material(row: Material, limits: Limits) -> contract.MaterialReference:
    return contract.MaterialReference(
        id=row.id,
        name=row.name,
        index_d=row.index_d,
        index_d_low=row.index_d_low,
        index_d_high=row.index_d_high,
        index_e=row.index_e,
        abbe=row.abbe,
        abbe_low=row.abbe_low,
        abbe_high=row.abbe_high,
        density_g_cm3=row.density_g_cm3,
        density_low_g_cm3=row.density_low_g_cm3,
        density_high_g_cm3=row.density_high_g_cm3,
        impact_resistant=row.impact_resistant,
        brittle=row.brittle,
        stocked_diameters_mm=list(stocked_diameters(limits.profile, row.id)),
        remark=row.remark,
        source=_source(row.source),
        mark=row.mark,
    )


def _tolerances(standard: str) -> contract.ToleranceTable:
    table = tolerances(standard=standard)
    return contract.ToleranceTable(
        id=table["id"],
        standard=table["standard"],
        year=table["year"],
        cylinder_form=table["cylinder_form"],
        governing_power=table["governing_power"],
        least_cylinder_d=table["axis_least_cylinder_d"],
        remark=table.get("remark"),
        rows=[
            _tolerance_row(section, row) for section, rows in table.items() if isinstance(rows, list) for row in rows
        ],
    )


def _tolerance_row(section: str, row: dict[str, Any]) -> contract.ToleranceRow:
    figures = {name: value for name, value in row.items() if isinstance(value, float)}
    return contract.ToleranceRow(
        section=section,
        lens=row.get("lens"),
        quantity=row.get("quantity", row.get("direction")),
        up_to={name: value for name, value in figures.items() if name.startswith("max_")},
        limits={name: value for name, value in figures.items() if not name.startswith("max_")},
        source=_source(row["source"]),
        mark=row["mark"],
        remark=row.get("remark"),
    )


def _rules() -> contract.Rules:
    return contract.Rules(
        digest(),
        [
            contract.RuleReference(
                one.code, one.severity, one.scope, one.about, one.shop, one.customer, _source(one.source)
            )
            for one in RULES
        ],
    )


def _keys(limits: Limits) -> list[contract.ProfileKey]:
    found = []
    for name, field in type(limits.profile).model_fields.items():
        section = getattr(limits.profile, name)
        if not isinstance(section, BaseModel):
            found.append(_key(name, [row.model_dump() for row in section], field, limits))
            continue
        for key, inner in type(section).model_fields.items():
            value = getattr(section, key)
            shown = (
                [row.model_dump() if isinstance(row, BaseModel) else row for row in value]
                if isinstance(value, list)
                else value
            )
            found.append(_key(f"{name}.{key}", shown, inner, limits))
    return found


def _key(key: str, value: Any, field: FieldInfo, limits: Limits) -> contract.ProfileKey:
    extra: dict[str, Any] = field.json_schema_extra if isinstance(field.json_schema_extra, dict) else {}
    cited = extra.get("source")
    return contract.ProfileKey(
        key=key,
        value=value,
        unit=extra.get("unit"),
        description=field.description or "",
        set_by=limits.origin(key),
        source=None if cited is None else _source(cited),
    )
