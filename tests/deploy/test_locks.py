"""The locks pin everything by hash, name no address, and agree with the ranges of the project."""

from importlib.metadata import requires

import pytest
from deploy_parts import DOCKER, LOCKS, pins, project
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

PYTHONS = ("3.11", "3.12", "3.13", "3.14")
every_lock = pytest.mark.parametrize("lock", LOCKS)
every_python = pytest.mark.parametrize("python", PYTHONS)


def linux(python: str) -> dict[str, str]:
    """What a marker is judged by: CPython on Linux, as in the image."""
    return {
        "python_version": python,
        "python_full_version": f"{python}.0",
        "implementation_name": "cpython",
        "platform_python_implementation": "CPython",
        "platform_system": "Linux",
        "sys_platform": "linux",
        "os_name": "posix",
        "extra": "",
    }


def applies(requirement: Requirement, python: str) -> bool:
    return requirement.marker is None or requirement.marker.evaluate(linux(python))


@every_lock
def test_a_lock_names_no_address(lock: str) -> None:
    text = (DOCKER / lock).read_text(encoding="utf-8")
    assert "//" not in text
    assert "@" not in text
    options = [word for word in text.split() if word.startswith("-") and not word.startswith("--hash=sha256:")]
    comments = " ".join(line for line in text.splitlines() if line.startswith("#")).split()
    assert set(options) <= set(comments), "an option that is not part of a comment may say where to download from"


@every_lock
def test_every_package_of_a_lock_has_sha256_hashes(lock: str) -> None:
    found = pins(lock)
    assert len(found) >= 5
    for pin in found:
        assert pin.hashes, pin.requirement.name
        for text in pin.hashes:
            method, _, digest = text.partition(":")
            assert method == "sha256", pin.requirement.name
            assert len(digest) == 64, pin.requirement.name
            assert set(digest) <= set("0123456789abcdef"), pin.requirement.name


@every_python
@every_lock
def test_no_python_gets_two_versions_of_a_package(lock: str, python: str) -> None:
    names = [canonicalize_name(pin.requirement.name) for pin in pins(lock) if applies(pin.requirement, python)]
    assert len(names) == len(set(names))


@every_python
@pytest.mark.parametrize(
    ("lock", "section", "key"),
    [("requirements.lock", "project", "dependencies"), ("build-requirements.lock", "build-system", "requires")],
)
def test_each_dependency_is_pinned_inside_its_range(lock: str, section: str, key: str, python: str) -> None:
    versions = {
        canonicalize_name(pin.requirement.name): pin.version for pin in pins(lock) if applies(pin.requirement, python)
    }
    asked = [Requirement(text) for text in project()[section][key]]
    assert asked
    for requirement in asked:
        if applies(requirement, python):
            version = versions[canonicalize_name(requirement.name)]
            assert requirement.specifier.contains(version), f"{requirement}: {version}"


def test_nothing_that_the_dependencies_need_is_missing_from_the_lock() -> None:
    python = "3.11"
    locked = {canonicalize_name(pin.requirement.name) for pin in pins("requirements.lock")}
    seen: set[str] = set()
    waiting = [Requirement(text) for text in project()["project"]["dependencies"]]
    while waiting:
        requirement = waiting.pop()
        name = canonicalize_name(requirement.name)
        if name in seen or not applies(requirement, python):
            continue
        seen.add(name)
        waiting += [Requirement(text) for text in requires(name) or ()]
    assert seen <= locked, seen - locked
    assert locked <= seen, "the lock holds a package that nothing asks for"
