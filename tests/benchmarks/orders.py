"""What is sent: the example of the contract, and many orders of which no two are alike."""

import copy
import json
import random
from typing import Any

from service.contract.order import EXAMPLE_ORDER


def example() -> bytes:
    """The example order as sent."""
    return json.dumps(EXAMPLE_ORDER, separators=(",", ":")).encode()


def varied(count: int) -> list[bytes]:
    """Orders such as a shop might get, invented; the same ones on every run."""
    chance = random.Random(1)
    return [json.dumps(_order(chance, number), separators=(",", ":")).encode() for number in range(count)]


def _order(chance: random.Random, number: int) -> dict[str, Any]:
    order = copy.deepcopy(EXAMPLE_ORDER)
    sphere = _quarter(chance.gauss(-1.0, 2.5))
    order["reference"] = f"V-{number:04}"
    prescription = order["prescription"]
    prescription["right"] = _eye(chance, sphere)
    prescription["left"] = _eye(chance, sphere + _quarter(chance.gauss(0, 0.5)))
    if chance.random() < 0.2:
        add = _quarter(chance.uniform(0.75, 3.0))
        prescription["right"]["add"] = prescription["left"]["add"] = add
        order["lens"]["use"] = "progressive"
    half = round(chance.gauss(31.5, 1.5) * 2) / 2
    order["pd_mm"] = (
        {"both": 2 * half} if chance.random() < 0.3 else {"right": half, "left": half + chance.choice((0, 0.5))}
    )
    a_mm = chance.randint(46, 58)
    b_mm = round(a_mm * chance.uniform(0.6, 0.85))
    order["frame"] = {"a_mm": a_mm, "b_mm": b_mm, "dbl_mm": chance.randint(14, 21), "rim": "full"}
    if chance.random() < 0.7:
        order["frame"]["ed_mm"] = a_mm + chance.randint(1, 5)
    order["fitting_height_mm"] = {"right": b_mm / 2 + 2, "left": b_mm / 2 + 2}
    order["lens"]["blank_diameter_mm"] = chance.choice((60, 65, 70, 75))
    if chance.random() < 0.3:
        order["as_worn"] = {"vertex_distance_mm": chance.randint(10, 15)}
    order["wearer"]["age_years"] = chance.randint(6, 85)
    return order


def _eye(chance: random.Random, sphere: float) -> dict[str, Any]:
    eye: dict[str, Any] = {"sphere": sphere}
    if chance.random() < 0.6:
        eye["cylinder"] = -0.25 * chance.randint(1, 8)
        eye["axis"] = chance.randint(1, 180)
    return eye


def _quarter(power: float) -> float:
    return round(power * 4) / 4
