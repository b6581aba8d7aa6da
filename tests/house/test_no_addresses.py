"""No package registry and no machine of ours in any file: what is installed, and from where, is the reader's choice.

The words looked for are put together here from parts, so that this file does not contain them.
"""

import re

from household import ROOT, git_files

_DOT = r"\."
_SLASH = "/"


def _host(*labels: str) -> str:
    return _DOT.join(labels)


REGISTRIES = (
    _host("pypi", "org"),
    _host("pypi", "python", "org"),
    _host("python" + "hosted", "org"),
    _host("npmjs", "(org|com)"),
    _host("yarnpkg", "com"),
    _host("crates", "io"),
    _host("rubygems", "org"),
    _host("anaconda", "(org|com)"),
    _host("proxy", "golang", "org"),
    _host("(deb|security)", "debian", "org"),
    _host("archive", "ubuntu", "com"),
    "index" + "[-_]url",
    "(artifact" + "ory|nex" + "us-repo|dev" + "pi)",
)
MACHINES = (
    rf"(?<![\w.~-]){_SLASH}work{_SLASH}(main|shared|{_DOT})",
    rf"(?<![\w.~-]){_SLASH}tmp{_SLASH}(plan|venv|bash)",
    rf"(?<![\w.~-]){_SLASH}root{_SLASH}",
    rf"(?<![\w.~-]){_SLASH}home{_SLASH}[a-z]",
    rf"(?<![\w.~-]){_SLASH}Users{_SLASH}[A-Za-z]",
    r"\b[A-Z]:\\+Users\\",
)


def places(patterns: tuple[str, ...]) -> list[str]:
    wanted = re.compile("|".join(patterns), re.IGNORECASE)
    found = []
    # Files not yet tracked, and not ignored, are about to be.
    for name in git_files("--cached", "--others", "--exclude-standard"):
        path = ROOT / name
        if not path.is_file():  # deleted, or a link to nowhere
            continue
        content = path.read_bytes()
        if b"\0" in content[:8000]:
            continue  # an image or a font
        for number, line in enumerate(content.decode("utf-8", errors="replace").splitlines(), start=1):
            found += [f"{name}:{number}: {match.group(0)}" for match in wanted.finditer(line)]
    return found


def test_no_file_names_a_package_registry() -> None:
    assert places(REGISTRIES) == []


def test_no_file_names_a_folder_of_one_machine() -> None:
    assert places(MACHINES) == []


def test_the_patterns_find_what_they_look_for() -> None:
    samples = {
        "https://" + ".".join(["files", "python" + "hosted", "org"]) + "/x": REGISTRIES,
        "pip install --" + "-".join(["extra", "index", "url"]) + " x": REGISTRIES,
        "/".join(["see ", "work", "shared", "x"]): MACHINES,
        "/".join(["", "home", "anna", "x"]): MACHINES,
    }
    for sample, patterns in samples.items():
        assert re.search("|".join(patterns), sample, re.IGNORECASE), sample
    assert not re.search("|".join(MACHINES), "../shared/worked_examples.json and https://example.com/home/page")
