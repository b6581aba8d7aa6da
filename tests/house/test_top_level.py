"""The top of the house holds what the design says and nothing else."""

from household import git_files

FILES = {"README.md", "DEVELOPERS.md", "pyproject.toml", "LICENSE"}
FOLDERS = {"service", "optics_core", "tests", "openapi_examples", "docker"}


def test_the_top_level_holds_only_what_the_design_names() -> None:
    tracked = git_files()
    tops = {name.partition("/")[0] for name in tracked}
    files = {name for name in tracked if "/" not in name}
    visible = {top for top in tops if not top.startswith(".")}
    assert visible <= FILES | FOLDERS, visible - FILES - FOLDERS
    assert {name for name in files if not name.startswith(".")} <= FILES
    assert "pyproject.toml" in files


def test_no_build_leaving_or_cache_is_tracked() -> None:
    leavings = ("__pycache__/", ".egg-info/", ".pytest_cache/", ".mypy_cache/", ".hypothesis/", ".venv/")
    kept = [name for name in git_files() if any(leaving in f"{name}/" for leaving in leavings) or name.endswith(".pyc")]
    assert not kept
