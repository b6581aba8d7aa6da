"""Where the house stands and what it holds: what the house tests share."""

import ast
import inspect
import pkgutil
import re
import subprocess
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from importlib import import_module
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

import optics_core

ROOT = Path(__file__).resolve().parents[2]

SECTIONS = ("Parameters", "Returns", "Yields", "Raises", "Source", "Notes", "Examples", "Attributes", "See Also")


@dataclass(slots=True)
class Docstring:
    """A numpy-style docstring, taken apart."""

    sections: dict[str, str] = field(default_factory=dict)

    @property
    def parameters(self) -> dict[str, tuple[str, str]]:
        """Name -> (type as written, description), in the order written."""
        found: dict[str, tuple[str, str]] = {}
        names: list[str] = []
        for line in self.sections.get("Parameters", "").splitlines():
            if line and not line.startswith(" "):
                written, _, kind = line.partition(" : ")
                if written.strip() == "None":  # said of a function that asks for nothing
                    continue
                names = [name.strip() for name in written.split(",")]
                for name in names:
                    found[name] = (kind.strip(), "")
            else:
                for name in names:
                    found[name] = (found[name][0], f"{found[name][1]} {line.strip()}".strip())
        return found

    @property
    def cited(self) -> list[str]:
        """What the Source section cites: entries parted by semicolons, each known by what stands before its comma."""
        entries = " ".join(self.sections.get("Source", "").split()).split(";")
        return [entry.split(",")[0].strip().removesuffix(".") for entry in entries if entry.strip()]


def docstring_of(thing: Any) -> Docstring:
    text = inspect.getdoc(thing) or ""
    heading = re.compile(rf"^({'|'.join(SECTIONS)})\n-+$", re.MULTILINE)
    parts = heading.split(text)
    return Docstring({name: body.strip("\n") for name, body in zip(parts[1::2], parts[2::2], strict=True)})


def is_table(cited: str) -> bool:
    """Whether a citation is a table of the core (whose rows name their sources), <words> standing for any."""
    pattern = re.sub(r"<[a-z]+>", "*", cited)
    return pattern.startswith("tables/") and any((ROOT / "optics_core").glob(pattern))


def core_modules() -> Iterator[ModuleType]:
    for module in pkgutil.iter_modules(optics_core.__path__):
        yield import_module(f"optics_core.{module.name}")


def public_functions() -> list[Callable[..., Any]]:
    found = []
    for module in core_modules():
        if module.__name__.rpartition(".")[2].startswith("_"):
            continue
        for name, value in vars(module).items():
            function = inspect.unwrap(value) if callable(value) else value
            if not name.startswith("_") and inspect.isfunction(function) and function.__module__ == module.__name__:
                found.append(function)
    return found


def python_files(*folders: str) -> list[Path]:
    return sorted(path for folder in folders for path in (ROOT / folder).rglob("*.py"))


def imported_modules(path: Path) -> set[str]:
    """Every module a file imports, also within functions, by its full name."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            package = ".".join(path.relative_to(ROOT).parent.parts[: None if node.level < 2 else 1 - node.level])
            base = ".".join(part for part in ((package if node.level else ""), node.module or "") if part)
            found |= {base} | {f"{base}.{alias.name}" for alias in node.names}
    return found


def git_files(*options: str) -> list[str]:
    """Names git lists from the project's root; skips, saying why, where there is no git to ask."""
    try:
        top = subprocess.run(
            ["git", "-C", str(ROOT), "rev-parse", "--show-toplevel"], capture_output=True, text=True, check=True
        ).stdout.strip()
        listed = subprocess.run(
            ["git", "-C", str(ROOT), "ls-files", "-z", *options], capture_output=True, text=True, check=True
        ).stdout
    except (OSError, subprocess.CalledProcessError):
        pytest.skip("not within a git work tree: there is no list of tracked files to check")
    if Path(top).resolve() != ROOT:
        pytest.skip("the project is not the top of its git work tree: its tracked files are another project's")
    names = sorted({name for name in listed.split("\0") if name})
    if not names:
        pytest.skip("git tracks no file yet")
    return names
