"""Traces and drawings over the web: what comes in, what goes out, and what is refused with which words.

Distances are measured on the SVG's own XML, whose unit is the millimetre, and held against the answer of the check.
"""

import copy
import json
import math
import re
from typing import Any
from xml.etree import ElementTree

import jsonschema_rs
import pytest
from service_calls import CHECK, example
from starlette.testclient import TestClient
from web_toys import JSON, problem_of

from service.contract.bench import EXAMPLE_TRACE_FILE, EXAMPLE_TRACED_ORDER
from service.limits import MAX_TRACE_FILE_BYTES, MAX_TRACE_FILE_CHARACTERS, MAX_TRACE_POINTS

DRAW, READ = "/v1/bench/drawing", "/v1/traces/read"
SVG, PDF = "image/svg+xml", "application/pdf"
SPACE = "{http://www.w3.org/2000/svg}"
CLOSE_MM = 0.05
Document = dict[str, Any]
EYES = ("right", "left")


def ellipse(a_mm: float, b_mm: float, count: int = 72) -> list[list[float]]:
    turns = (2 * math.pi * number / count for number in range(count))
    return [[a_mm / 2 * math.cos(turn), b_mm / 2 * math.sin(turn)] for turn in turns]


def lopsided() -> list[list[float]]:
    """A right lens 52 wide and 40 high that is fuller below and towards the temple; about its boxed centre."""
    points = [[x - 0.06 * y + 0.002 * y * y, y - 0.1 * x + 0.001 * x * x] for x, y in ellipse(50, 36, 90)]
    for axis, size in ((0, 52.0), (1, 40.0)):
        low, high = min(p[axis] for p in points), max(p[axis] for p in points)
        for point in points:
            point[axis] = (point[axis] - (low + high) / 2) / (high - low) * size
    return points


def order(**changes: object) -> Document:
    """The example's order with a traced right lens of 52 x 40."""
    changes = {
        "frame": {"a_mm": 52, "b_mm": 40, "dbl_mm": 18, "rim": "full", "trace": {"right": {"points_mm": lopsided()}}},
        **changes,
    }
    return example(**changes)


def draw(service: TestClient, what: Document, accept: str | None = None, **more: object) -> Any:
    headers = JSON if accept is None else {**JSON, "Accept": accept}
    return service.post(DRAW, content=json.dumps({"order": what, **more}), headers=headers)


def check(service: TestClient, what: Document) -> Document:
    response = service.post(CHECK, content=json.dumps(what), headers=JSON)
    assert response.status_code == 200
    document: Document = response.json()
    return document


def read(service: TestClient, text: str, eye: str = "right") -> Any:
    return service.post(READ, content=json.dumps({"text": text, "eye": eye}), headers=JSON)


class Drawing:
    """What an SVG sheet shows, in millimetres."""

    def __init__(self, response: Any) -> None:
        assert response.status_code == 200
        self.root = ElementTree.fromstring(response.content)
        self.groups = {group.get("id"): group for group in self.root.iter(f"{SPACE}g")}

    @property
    def eyes(self) -> list[str]:
        return [eye for eye in EYES if f"{eye}-outline" in self.groups]

    def circle(self, group: str) -> tuple[float, float, float]:
        (found,) = self.groups[group].iter(f"{SPACE}circle")
        return tuple(float(found.get(name, "")) for name in ("cx", "cy", "r"))

    def points(self, group: str) -> list[tuple[float, float]]:
        found = next(one for one in self.groups[group] if one.get("points"))
        return [tuple(map(float, pair.split(","))) for pair in found.get("points", "").split()]

    def seen(self, eye: str, group: str) -> tuple[float, float]:
        """The middle of a circle, in and up from the middle of the outline's box."""
        across, down = zip(*self.points(f"{eye}-outline"), strict=True)
        x, y, _ = self.circle(f"{eye}-{group}")
        inward = 1 if eye == "right" else -1
        return inward * (x - (min(across) + max(across)) / 2), (min(down) + max(down)) / 2 - y

    @property
    def words(self) -> str:
        return "\n".join(one.text or "" for one in self.root.iter(f"{SPACE}text"))

    @property
    def note(self) -> str:
        return " ".join(one.text or "" for one in self.groups["notes"].iter(f"{SPACE}text"))


def close(one: tuple[float, float], other: tuple[float, float]) -> bool:
    return math.dist(one, other) <= CLOSE_MM


# The drawing.


def test_a_drawing_is_svg_unless_pdf_is_asked_for(service: TestClient) -> None:
    for accept in (None, "*/*", "image/*", SVG, f"{SVG}, {PDF}"):
        response = draw(service, order(), accept)
        assert (response.status_code, response.headers["content-type"]) == (200, SVG)
        assert Drawing(response).eyes == ["right", "left"]
    for accept in (PDF, f"{SVG};q=0.5, {PDF}", "application/*", f"{PDF}, */*;q=0.1"):
        response = draw(service, order(), accept)
        assert (response.status_code, response.headers["content-type"]) == (200, PDF)
        assert response.content.startswith(b"%PDF-")
        assert response.content.rstrip().endswith(b"%%EOF")


@pytest.mark.parametrize("accept", ["application/json", "text/html", "image/png", "*/*;q=0", "garbage"])
def test_a_type_that_there_is_not_is_refused_with_those_there_are(service: TestClient, accept: str) -> None:
    problem = problem_of(draw(service, order(), accept), "not-acceptable")
    assert problem["status"] == 406
    assert SVG in problem["detail"]
    assert PDF in problem["detail"]


def test_a_header_in_two_lines_is_one_list(service: TestClient) -> None:
    """RFC 9110, 5.3: lines of one name are one list, parted by commas."""
    headers = [("Content-Type", "application/json"), ("Accept", "text/html"), ("Accept", PDF)]
    response = service.post(DRAW, content=json.dumps({"order": order()}), headers=headers)
    assert (response.status_code, response.headers["content-type"]) == (200, PDF)


@pytest.mark.parametrize("accept", [SVG, PDF])
def test_the_same_drawing_has_the_same_bytes(service: TestClient, accept: str) -> None:
    what = order(lens__blank_diameter_mm=60)
    backwards = {name: what[name] for name in reversed(what)}
    drawings = {draw(service, one, accept, placement="advised").content for one in (what, backwards, what)}
    assert len(drawings) == 1


def test_what_follows_from_one_drawing_is_not_in_the_next(service: TestClient) -> None:
    first = draw(service, order(), SVG).content
    draw(service, order(reference="another", lens__blank_diameter_mm=62), PDF)
    assert draw(service, order(), SVG).content == first


@pytest.mark.parametrize(("page", "size"), [("a4", (297.0, 210.0)), ("letter", (279.4, 215.9))], ids=["a4", "letter"])
def test_the_page_lies_across_and_has_its_size(service: TestClient, page: str, size: tuple[float, float]) -> None:
    root = Drawing(draw(service, order(), page=page)).root
    assert tuple(float(root.get(name, "").removesuffix("mm")) for name in ("width", "height")) == size
    assert root.get("viewBox") == "0 0 {:g} {:g}".format(*size)
    box = re.search(rb"/MediaBox \[\s*0 0 ([\d.]+) ([\d.]+)", draw(service, order(), PDF, page=page).content)
    assert box is not None
    assert tuple(float(side) / 72 * 25.4 for side in box.groups()) == pytest.approx(size, abs=0.01)  # 72 points an inch


@pytest.mark.parametrize("eye", EYES)
def test_one_lens_is_drawn_alone(service: TestClient, eye: str) -> None:
    drawn = Drawing(draw(service, order(), lenses=eye))
    assert drawn.eyes == [eye]


ORDERS: dict[str, Document] = {
    "traced": order(),
    "traced on the left": order(
        frame__trace={"left": {"points_mm": [[-x, y] for x, y in lopsided()]}}, pd_mm={"right": 29.0, "left": 33.5}
    ),
    "not traced": order(frame={"a_mm": 54, "b_mm": 40, "dbl_mm": 18}),
    "with an ED": order(frame={"a_mm": 54, "b_mm": 40, "dbl_mm": 18, "ed_mm": 58}),
    "no heights": order(fitting_height_mm={}),
    "heights apart": order(fitting_height_mm={"right": 24.5, "left": 17}),
    "pupils outward": order(pd_mm={"right": 36.5, "left": 37}),
    "off-centre blanks": order(
        lens__blank={"centre_offset_mm": {"right": {"in": 2.5, "up": -1.5}, "left": {"in": -3, "up": 2}}}
    ),
    "bevelled": order(frame__trace={"right": {"points_mm": lopsided()}, "bevel_mm": 0.6}),
    "without cylinder": order(prescription={"right": {"sphere": -2.0}, "left": {"sphere": 0.0}}),
}


@pytest.mark.parametrize("name", ORDERS)
def test_pupil_and_blank_are_drawn_where_the_answer_has_them(service: TestClient, name: str) -> None:
    what = ORDERS[name]
    drawn, fit = Drawing(draw(service, what)), check(service, what)["fit"]
    offsets = what["lens"].get("blank", {}).get("centre_offset_mm", {})
    for eye in EYES:
        place = fit[eye]["decentration_mm"]["in"], fit[eye]["decentration_mm"]["up"] or 0.0
        assert close(drawn.seen(eye, "pupil"), place)
        assert close(drawn.seen(eye, "optical-centre"), place)
        offset = offsets.get(eye, {"in": 0.0, "up": 0.0})
        assert close(drawn.seen(eye, "blank"), (place[0] - offset["in"], place[1] - offset["up"]))
        assert close(drawn.seen(eye, "usable"), drawn.seen(eye, "blank"))
        assert 2 * drawn.circle(f"{eye}-blank")[2] == pytest.approx(fit[eye]["blank_mm"], abs=CLOSE_MM)
        blank = fit[eye]["minimum_blank_mm"]
        usable = fit[eye]["blank_mm"] - blank["allowance_mm"] - 2 * blank["bevel_mm"]
        assert 2 * drawn.circle(f"{eye}-usable")[2] == pytest.approx(usable, abs=CLOSE_MM)
        across, down = zip(*drawn.points(f"{eye}-outline"), strict=True)
        sizes = fit[eye]["outline"] or what["frame"]
        assert max(across) - min(across) == pytest.approx(sizes["a_mm"], abs=CLOSE_MM)
        assert max(down) - min(down) == pytest.approx(sizes["b_mm"], abs=CLOSE_MM)
        assert (f"{eye}-axis" in drawn.groups) == bool(what["prescription"][eye].get("cylinder"))


def test_the_left_outline_is_the_mirror_of_the_right_one_that_was_traced(service: TestClient) -> None:
    drawn = Drawing(draw(service, order()))

    def about_its_box(eye: str, inward: int) -> set[tuple[float, float]]:
        across, down = zip(*drawn.points(f"{eye}-outline"), strict=True)
        x, y = (min(across) + max(across)) / 2, (min(down) + max(down)) / 2
        return {(round(inward * (one - x), 1), round(y - other, 1)) for one, other in zip(across, down, strict=True)}

    right, left = about_its_box("right", 1), about_its_box("left", -1)
    for points, others in ((right, left), (left, right)):
        assert all(min(math.dist(point, other) for other in others) < 0.2 for point in points)
    # Seen from the front the sent points stand as they were sent.
    sent = {(round(x, 1), round(y, 1)) for x, y in lopsided()}
    assert all(min(math.dist(point, other) for other in sent) < 0.2 for point in right)


@pytest.mark.parametrize("name", ORDERS)
def test_the_room_written_at_the_tightest_place_is_that_of_the_answer(service: TestClient, name: str) -> None:
    what = ORDERS[name]
    drawn, fit = Drawing(draw(service, what)), check(service, what)["fit"]
    for eye in EYES:
        if fit[eye]["tightest"] is not None:
            assert f"{abs(fit[eye]['tightest']['margin_mm']):.2f} mm" in drawn.words


def shifted(**more: object) -> Document:
    """A blank that covers the lenses only with the optical centres a little off the pupils."""
    return order(frame__trace={"right": {"points_mm": ellipse(52, 40)}}, pd_mm={"right": 32, "left": 32}, **more)


def test_a_drawing_as_advised_shows_the_shift_that_the_check_advises(service: TestClient) -> None:
    what = shifted(lens__blank_diameter_mm=59, fitting_height_mm={"right": 20, "left": 20})
    fit = check(service, what)["fit"]
    as_ordered, advised = (Drawing(draw(service, what, placement=one)) for one in ("as_ordered", "advised"))
    for eye in EYES:
        pupil = fit[eye]["decentration_mm"]["in"], fit[eye]["decentration_mm"]["up"]
        shift = fit[eye]["placement"]["this_blank"]["shift_mm"]
        assert shift["in"] < -0.1
        at = pupil[0] + shift["in"], pupil[1] + shift["up"]
        assert close(as_ordered.seen(eye, "optical-centre"), pupil)
        assert close(as_ordered.seen(eye, "blank"), pupil)
        assert close(advised.seen(eye, "pupil"), pupil)
        assert close(advised.seen(eye, "optical-centre"), at)
        assert close(advised.seen(eye, "blank"), at)
    assert "Drawn as advised, for a person to decide" in advised.note
    assert "advised" not in as_ordered.note


def test_a_drawing_as_advised_shows_the_turn_that_the_check_advises(service: TestClient) -> None:
    offset = {eye: {"in": -2.0, "up": 0.5} for eye in EYES}
    what = shifted(lens__blank={"centre_offset_mm": offset, "top_marked": False})
    as_ordered, advised = (Drawing(draw(service, what, placement=one)) for one in ("as_ordered", "advised"))
    for eye in EYES:
        pupil = as_ordered.seen(eye, "pupil")
        assert close(as_ordered.seen(eye, "blank"), (pupil[0] + 2.0, pupil[1] - 0.5))
        assert close(advised.seen(eye, "blank"), (pupil[0] - 2.0, pupil[1] + 0.5))
        assert close(advised.seen(eye, "optical-centre"), pupil)
    assert "turned by half a turn" in advised.note


def without_notes(drawn: Drawing) -> bytes:
    root = copy.deepcopy(drawn.root)
    for group in list(root):
        if group.get("id") == "notes":
            root.remove(group)
    return ElementTree.tostring(root)


ADVICE = ("half-turn-gains-room", "blank-does-only-turned", "blank-does-only-shifted")
LITTLE = {"centre_offset_mm": {"right": {"in": -0.1, "up": 0.0}}, "top_marked": False}


@pytest.mark.parametrize(
    "more",
    [
        {},
        {"lens__blank_diameter_mm": 59},
        {"lens__blank_diameter_mm": 50},
        {"lens__blank": {"centre_offset_mm": {"right": {"in": -2.0, "up": 0.0}}, "top_marked": False}},
        {"lens__blank": {"centre_offset_mm": {"right": {"in": -2.0, "up": 0.0}}, "top_marked": True}},
        {"lens__blank": {"centre_offset_mm": {"right": {"in": 2.0, "up": 0.0}}, "top_marked": False}},
        {"lens__blank": LITTLE},
    ],
    ids=["ample", "shift", "hopeless", "turn", "marked-top", "turned-is-worse", "gains-little"],
)
def test_advised_and_as_ordered_differ_where_the_check_advises_and_only_there(
    service: TestClient, more: dict[str, object]
) -> None:
    what = shifted(**more)
    advises = any(one["code"] in ADVICE for one in check(service, what)["findings"])
    drawings = [Drawing(draw(service, what, placement=one)) for one in ("as_ordered", "advised")]
    assert (without_notes(drawings[0]) != without_notes(drawings[1])) is advises
    assert ("No other placement is advised" in drawings[1].note) is not advises


def test_a_sheet_of_one_lens_speaks_of_that_lens_only(service: TestClient) -> None:
    blank = {"centre_offset_mm": {"right": {"in": -2.0, "up": 0.0}}, "top_marked": False}
    drawn = Drawing(draw(service, shifted(lens__blank=blank), lenses="left", placement="advised"))
    assert "right" not in drawn.note


def test_the_sizes_in_the_heading_add_up(service: TestClient) -> None:
    drawn = Drawing(draw(service, order(frame__a_mm=53)))
    heading = " ".join(one.text or "" for one in drawn.groups["heading"].iter(f"{SPACE}text"))
    figures = dict(
        zip(
            ("A", "B", "DBL"),
            (float(heading.split(f"{name} ")[1].split()[0]) for name in ("A", "B", "DBL")),
            strict=True,
        )
    )
    assert f"frame PD {figures['A'] + figures['DBL']:g} mm" in heading


@pytest.mark.parametrize(
    ("more", "words"),
    [({}, "Accept."), ({"wearer__age_years": 9}, "Review"), ({"lens__blank_diameter_mm": 50}, "Reject: do not cut.")],
)
def test_the_sheet_tells_the_decision_and_why(service: TestClient, more: dict[str, object], words: str) -> None:
    what = shifted(**more)
    answer, note = check(service, what), Drawing(draw(service, what)).note
    assert note.startswith(words)
    assert words.lower().startswith(answer["decision"])
    for finding in answer["findings"]:
        assert (finding["code"] in note) is (finding["severity"] != "note")
    assert answer["engine"]["profile"] in note


@pytest.mark.parametrize(
    ("more", "pointer", "code"),
    [
        ({"prescription": {"written": "as last time"}}, "/order/prescription/written", "no-power-in-text"),
        ({"prescription": {"fhir": {}}}, "/order/prescription/fhir", "fhir-not-a-vision-prescription"),
        ({"pd_mm": {}}, "/order/pd_mm/right", "pd-missing"),
        ({"pd_mm": {"both": 32}}, "/order/pd_mm/both", "pd-for-both-looks-like-one-eye"),
        ({"profile": {"frame": {"a_least_mm": 90}}}, "/order/profile", "profile-contradicts-itself"),
    ],
)
@pytest.mark.parametrize("accept", [SVG, PDF])
def test_what_cannot_be_drawn_is_a_problem_that_says_where(
    service: TestClient, more: dict[str, object], pointer: str, code: str, accept: str
) -> None:
    problem = problem_of(draw(service, order(**more), accept), "not-drawable")
    assert problem["status"] == 422
    assert (pointer, code) in [(fault["pointer"], fault["code"]) for fault in problem["errors"]]
    assert all(fault["pointer"].startswith("/order/") for fault in problem["errors"])


def test_the_lens_whose_pupil_is_known_is_drawn_and_the_other_one_is_refused(service: TestClient) -> None:
    what = order(pd_mm={"right": 32})
    assert Drawing(draw(service, what)).eyes == ["right"]
    problem = problem_of(draw(service, what, lenses="left"), "not-drawable")
    assert [fault["pointer"] for fault in problem["errors"]] == ["/order/pd_mm/left"]


def test_the_largest_blanks_are_drawn_at_true_size(service: TestClient) -> None:
    for page in ("a4", "letter"):
        drawn = Drawing(draw(service, order(lens__blank_diameter_mm=120), page=page))
        assert [drawn.circle(f"{eye}-blank")[2] for eye in EYES] == [60.0, 60.0]


def test_what_does_not_fit_the_page_is_refused_and_never_shrunk(service: TestClient) -> None:
    tall = {"a_mm": 60, "b_mm": 120, "dbl_mm": 18}
    problem = problem_of(draw(service, order(frame=tall)), "not-drawable")
    assert "never shrunk" in problem["detail"]
    apart = order(frame__trace={"right": {"radii_mm": [75.0] * 36}}, lens__blank_diameter_mm=20)
    problem = problem_of(draw(service, apart), "not-drawable")
    assert "mm of " in problem["detail"]


def test_the_sentence_on_a_page_that_is_too_small_ends_where_it_ends(service: TestClient) -> None:
    tall = {"a_mm": 60, "b_mm": 120, "dbl_mm": 18}
    problem = problem_of(draw(service, order(frame=tall)), "not-drawable")
    assert problem["detail"] == problem["detail"].strip()


HOSTILE = [
    "</title><script>alert(1)</script>",
    '"><image href="http://elsewhere.example/x.png"/>',
    "]]><!ENTITY x SYSTEM 'file:///etc/passwd'>&x;",
    "<!-- -- -->&amp;&#0;&#xD800;",
    "a\u202eb\u0007c\ufffed\u2028e",
    "W) Tj ET q 1 0 0 RG (\\",
    "漢字 ñ €",
    "\n\t ",
    "%%EOF endstream",
    "x" * 100,
]


@pytest.mark.parametrize("reference", HOSTILE, ids=range(len(HOSTILE)))
def test_whatever_stands_in_a_reference_is_words_on_the_sheet(service: TestClient, reference: str) -> None:
    drawn = Drawing(draw(service, order(reference=reference)))
    allowed = {"svg", "title", "desc", "rect", "g", "polygon", "polyline", "circle", "text"}
    assert {one.tag.removeprefix(SPACE) for one in drawn.root.iter()} <= allowed
    assert not [name for one in drawn.root.iter() for name in one.attrib if "href" in name or name.startswith("on")]
    plain = Drawing(draw(service, order(reference="W-1")))
    assert len(list(drawn.root.iter())) == len(list(plain.root.iter()))
    assert drawn.circle("right-blank") == plain.circle("right-blank")
    content = draw(service, order(reference=reference), PDF).content
    objects = draw(service, order(reference="W-1"), PDF).content.count(b" obj\n")
    assert content.count(b" obj\n") == objects
    assert content.startswith(b"%PDF-")


@pytest.mark.parametrize(
    ("more", "pointer"),
    [
        ({"lenses": "all"}, "/lenses"),
        ({"page": "A4"}, "/page"),
        ({"placement": "shifted"}, "/placement"),
        ({"scale": 1}, "/scale"),
        ({"order": {**order(), "frame": {"a_mm": "52"}}}, "/order/frame/a_mm"),
    ],
)
def test_a_drawing_request_that_is_not_understood_is_told_by_its_place(
    service: TestClient, more: dict[str, object], pointer: str
) -> None:
    problem = problem_of(draw(service, order(), **more), "unreadable-request")
    assert pointer in [fault["pointer"] for fault in problem["errors"]]


def test_the_published_example_is_drawn(service: TestClient) -> None:
    assert Drawing(draw(service, EXAMPLE_TRACED_ORDER)).eyes == ["right", "left"]
    assert check(service, EXAMPLE_TRACED_ORDER)["fit"]["right"]["minimum_blank_mm"]["basis"] == "trace"


# Traces in an order.


def with_trace(outline: object, **more: object) -> Document:
    return order(frame__trace={"right": outline, **more})


@pytest.mark.parametrize("member", ["radii_mm", "points_mm"])
def test_a_trace_of_more_points_than_are_taken_is_refused_by_its_place(service: TestClient, member: str) -> None:
    fill: object = 20.0 if member == "radii_mm" else [20.0, 0.0]
    response = service.post(
        CHECK, content=json.dumps(with_trace({member: [fill] * (MAX_TRACE_POINTS + 1)})), headers=JSON
    )
    (fault,) = problem_of(response, "unreadable-request")["errors"]
    assert (fault["pointer"], fault["code"]) == (f"/frame/trace/right/{member}", "too-many")
    assert str(MAX_TRACE_POINTS) in fault["message"]


def test_a_trace_of_as_many_points_as_are_taken_is_judged(service: TestClient) -> None:
    points = ellipse(52, 40, MAX_TRACE_POINTS)
    trace = {eye: {"points_mm": points} for eye in EYES}
    answer = check(service, order(frame__trace=trace, lens__blank_diameter_mm=55))
    assert answer["fit"]["right"]["minimum_blank_mm"]["basis"] == "trace"
    assert not [one for one in answer["findings"] if one["code"].startswith("trace")]


def test_a_hundred_thousand_points_are_refused_for_what_they_are(service: TestClient) -> None:
    many = json.dumps(with_trace({"radii_mm": [20.0] * 100_000}))
    problem = problem_of(service.post(CHECK, content=many, headers=JSON), "body-too-large")
    assert problem["status"] == 413
    short = json.dumps(with_trace({"radii_mm": [2] * 60_000}))
    (fault,) = problem_of(service.post(CHECK, content=short, headers=JSON), "unreadable-request")["errors"]
    assert fault["code"] == "too-many-values"


@pytest.mark.parametrize(
    ("outline", "pointer"),
    [
        ('{"radii_mm": [NaN]}', "/frame/trace/right/radii_mm/0"),
        ('{"points_mm": [[1, 2], [1, 1e999]]}', "/frame/trace/right/points_mm/1/1"),
        ('{"radii_mm": [-1]}', "/frame/trace/right/radii_mm/0"),
        ('{"radii_mm": [150.01]}', "/frame/trace/right/radii_mm/0"),
        ('{"points_mm": [[0, -151]]}', "/frame/trace/right/points_mm/0/1"),
        ('{"points_mm": [[0, 1, 2]]}', "/frame/trace/right/points_mm/0"),
        ('{"points_mm": [[0]]}', "/frame/trace/right/points_mm/0"),
        ('{"points_mm": [5]}', "/frame/trace/right/points_mm/0"),
        ('{"radii_mm": ["20"]}', "/frame/trace/right/radii_mm/0"),
        ('{"radii_mm": [true]}', "/frame/trace/right/radii_mm/0"),
        ('{"radii_mm": [null]}', "/frame/trace/right/radii_mm/0"),
        ('{"radii_mm": 20}', "/frame/trace/right/radii_mm"),
        ('{"radius_mm": [20]}', "/frame/trace/right/radius_mm"),
        ("[20]", "/frame/trace/right"),
    ],
)
def test_a_trace_that_the_schema_forbids_is_refused_by_its_place(
    service: TestClient, outline: str, pointer: str
) -> None:
    text = json.dumps(with_trace("HERE")).replace('"HERE"', outline)
    problem = problem_of(service.post(CHECK, content=text, headers=JSON), "unreadable-request")
    assert pointer in [fault["pointer"] for fault in problem["errors"]]


@pytest.mark.parametrize(
    ("member", "value"), [("size_change_mm", 5.1), ("size_change_mm", -5.1), ("bevel_mm", -0.1), ("bevel_mm", 3.1)]
)
def test_a_change_beyond_what_is_taken_is_refused_by_its_place(service: TestClient, member: str, value: float) -> None:
    what = json.dumps(with_trace({"points_mm": lopsided()}, **{member: value}))
    problem = problem_of(service.post(CHECK, content=what, headers=JSON), "unreadable-request")
    assert [fault["pointer"] for fault in problem["errors"]] == [f"/frame/trace/{member}"]


@pytest.mark.parametrize("outline", [{}, {"radii_mm": [20.0] * 3}], ids=["none", "three points"])
def test_nothing_is_said_to_be_taken_from_a_trace_that_was_left_aside(service: TestClient, outline: Document) -> None:
    assumptions = [one["pointer"] for one in check(service, with_trace(outline))["assumptions"]]
    assert not [pointer for pointer in assumptions if pointer.startswith("/frame/trace")]


def test_a_traced_order_is_not_said_to_rest_on_the_usual_ed(service: TestClient) -> None:
    assumed = [one for one in check(service, order())["assumptions"] if one["pointer"] == "/frame/ed_mm"]
    assert not [one for one in assumed if "decision rests on it" in one["reason"]]


def test_a_pupil_near_the_bridge_and_a_lens_cut_smaller_are_answered(service: TestClient) -> None:
    """Not a pair that anybody has, but one that the schema allows; the client raises what the service fails with."""
    trace = {"right": {"points_mm": lopsided()}, "size_change_mm": -2}
    assert check(service, order(frame__trace=trace, pd_mm={"right": 1.5, "left": 32}))["decision"] == "reject"


# Trace files.


def columns(points: list[list[float]]) -> str:
    return "x_mm,y_mm\n" + "\n".join(f"{x!r},{y!r}" for x, y in points)


FILES = {
    "columns": columns(lopsided()),
    "points as JSON": json.dumps({"points_mm": lopsided()}),
    "a list of points": json.dumps(lopsided()),
    "the example": EXAMPLE_TRACE_FILE,
    "radii": "radius_mm\n" + "\n".join(f"{20 + 3 * math.cos(n / 8)!r}" for n in range(100)),
    "radii as JSON": json.dumps({"radii_mm": [20 + 3 * math.cos(2 * math.pi * n / 60) for n in range(60)]}),
}


@pytest.mark.parametrize("name", FILES)
@pytest.mark.parametrize("eye", EYES)
def test_what_is_read_can_be_put_into_an_order_as_it_stands(service: TestClient, name: str, eye: str) -> None:
    answer = read(service, FILES[name], eye).json()
    assert answer["decision"] in ("accept", "review")
    assert answer["outline"]["traced"] == eye
    checked = check(service, order(frame__trace=answer["trace"]))
    assert checked["fit"][eye]["outline"] == answer["outline"]
    other = checked["fit"]["left" if eye == "right" else "right"]["outline"]
    for size in ("a_mm", "b_mm", "ed_mm", "area_mm2", "traced"):
        assert (
            other[size] == pytest.approx(answer["outline"][size], abs=1e-4) if size != "traced" else other[size] == eye
        )


def test_what_stands_in_a_file_is_what_is_read(service: TestClient) -> None:
    answer = read(service, FILES["columns"]).json()
    assert (answer["form"], answer["trace"]["left"], answer["trace"]["right"]["radii_mm"]) == ("points", None, None)
    assert answer["trace"]["right"]["points_mm"] == lopsided()
    assert (answer["outline"]["a_mm"], answer["outline"]["b_mm"]) == (52.0, 40.0)
    assert answer["findings"] == []


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("", None),
        ("no trace here", "trace-file-header-not-known"),
        ("20\n" * 3, "trace-too-coarse"),
        (
            "x,y\n" + "\n".join(f"{25 * math.sin(n / 10)},{18 * math.sin(n / 5)}" for n in range(62)),
            "trace-crosses-itself",
        ),
        (columns([[x + 30, y] for x, y in lopsided()]), "trace-off-centre"),
        (columns(lopsided()[:-20]), "trace-open"),
        ("[NaN, 20, 20]", "trace-file-number-not-finite"),
        ("[" * 90_000, "trace-file-json-too-deep"),
        ("REQ=FIL\nTRCFMT=1;400;E;R;F", "trace-file-labelled-records"),
        ("20\n" * (MAX_TRACE_POINTS + 1), "trace-file-too-many"),
        ("1.25\n" * 15_000, "trace-file-too-much"),
        ("\x00" * 50, "trace-file-not-text"),
    ],
    ids=range(12),
)
def test_every_finding_on_a_file_points_to_its_text(service: TestClient, text: str, code: str | None) -> None:
    response = read(service, text)
    if code is None:
        assert [fault["pointer"] for fault in problem_of(response, "unreadable-request")["errors"]] == ["/text"]
        return
    answer = response.json()
    assert code in [one["code"] for one in answer["findings"]]
    assert {one["pointer"] for one in answer["findings"]} == {"/text"}
    gravity = {one["severity"] for one in answer["findings"]}
    assert answer["decision"] == ("reject" if "reject" in gravity else "review" if "review" in gravity else "accept")
    assert (answer["form"] is None) == (answer["trace"] is None)
    assert answer["outline"] is None or answer["decision"] != "reject"


def test_a_file_that_is_too_long_is_refused(service: TestClient) -> None:
    assert read(service, " " * MAX_TRACE_FILE_CHARACTERS).status_code == 200
    (fault,) = problem_of(read(service, " " * (MAX_TRACE_FILE_CHARACTERS + 1)), "unreadable-request")["errors"]
    assert (fault["pointer"], fault["code"]) == ("/text", "string-too-long")
    assert problem_of(read(service, " " * (MAX_TRACE_FILE_BYTES + 1)), "body-too-large")["status"] == 413


@pytest.mark.parametrize("name", FILES)
def test_what_is_answered_on_a_file_holds_what_the_schema_says_and_is_always_the_same(
    service: TestClient, name: str
) -> None:
    components = service.get("/openapi.json").json()["components"]
    schema = {"$ref": "#/components/schemas/TraceAnswer", "components": components}
    response = read(service, FILES[name])
    jsonschema_rs.Draft202012Validator(schema).validate(response.json())
    assert read(service, FILES[name]).content == response.content


def test_a_file_from_the_back_is_asked_about(service: TestClient) -> None:
    """Angles that fall may mean that the lens was traced from the back, which would mirror it."""
    clockwise = "angle,radius\n" + "\n".join(f"{-5 * n},{20 + n % 3}" for n in range(72))
    answer = read(service, clockwise).json()
    assert [(one["code"], one["severity"]) for one in answer["findings"]][:1] == [("trace-file-clockwise", "review")]
