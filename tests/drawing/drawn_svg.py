"""What an SVG sheet says, read back from its XML: groups, points, circles, words, and the room the words take."""

from collections.abc import Iterator
from dataclasses import dataclass
from xml.etree import ElementTree

SPACE = "{http://www.w3.org/2000/svg}"
Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class Words:
    group: str
    text: str
    box: Box


@dataclass(frozen=True)
class DrawnSvg:
    """A parsed sheet. All lengths in mm, as the view box is checked to say."""

    root: ElementTree.Element

    @classmethod
    def read(cls, data: bytes) -> "DrawnSvg":
        root = ElementTree.fromstring(data)
        wide, high = (root.get(name, "").removesuffix("mm") for name in ("width", "height"))
        assert root.get("viewBox") == f"0 0 {wide} {high}"  # one unit is one millimetre
        return cls(root)

    @property
    def page(self) -> tuple[float, float]:
        return tuple(float(self.root.get(name, "").removesuffix("mm")) for name in ("width", "height"))

    @property
    def groups(self) -> dict[str, ElementTree.Element]:
        found = {group.get("id", ""): group for group in self.root.iter(f"{SPACE}g")}
        assert len(found) == len(list(self.root.iter(f"{SPACE}g")))  # each name once
        return found

    def paths(self, group: str) -> list[list[tuple[float, float]]]:
        """The points of each polygon and polyline of a group, in order."""
        found = []
        for element in self.groups[group]:
            if element.tag in (f"{SPACE}polygon", f"{SPACE}polyline"):
                pairs = [pair.split(",") for pair in element.get("points", "").split()]
                found.append([(float(x), float(y)) for x, y in pairs])
        return found

    def circles(self, group: str) -> list[tuple[float, float, float]]:
        return [
            (float(e.get("cx", "")), float(e.get("cy", "")), float(e.get("r", "")))
            for e in self.groups[group].iter(f"{SPACE}circle")
        ]

    def words(self) -> Iterator[Words]:
        """Every line of words with the room it takes: as wide as it says, as high as a usual typeface is."""
        for name, group in self.groups.items():
            for element in group.iter(f"{SPACE}text"):
                x, y, size, long = (float(element.get(key, "")) for key in ("x", "y", "font-size", "textLength"))
                left = x - long * {"start": 0.0, "middle": 0.5, "end": 1.0}[element.get("text-anchor", "start")]
                yield Words(name, element.text or "", (left, y - 0.93 * size, left + long, y + 0.24 * size))

    def texts(self, group: str) -> list[str]:
        return [words.text for words in self.words() if words.group == group]

    def bounds(self) -> Box:
        """What everything on the page takes up, strokes not counted."""
        boxes = [words.box for words in self.words()]
        for name in self.groups:
            boxes += [(min(x), min(y), max(x), max(y)) for x, y in (zip(*p, strict=True) for p in self.paths(name))]
            boxes += [(x - r, y - r, x + r, y + r) for x, y, r in self.circles(name)]
        return tuple(pick(box[side] for box in boxes) for side, pick in enumerate((min, min, max, max)))

    def boxed_centre(self, eye: str) -> tuple[float, float]:
        """Where the two strokes of the cross meet."""
        level, upright = self.paths(f"{eye}-boxed-centre")[:2]
        return upright[0][0], level[0][1]


def overlapping(words: list[Words], slack_mm: float = 0.02) -> list[tuple[str, str]]:
    """Pairs of lines of words whose boxes share more than a hair."""
    found = []
    for count, one in enumerate(words):
        for other in words[count + 1 :]:
            wide = min(one.box[2], other.box[2]) - max(one.box[0], other.box[0])
            high = min(one.box[3], other.box[3]) - max(one.box[1], other.box[1])
            if wide > slack_mm and high > slack_mm:
                found.append((one.text, other.text))
    return found
