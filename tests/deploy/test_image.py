"""The image: no root, no shell in between, nothing but what it needs, and a health check that tells the truth."""

import json
import re
import sys

import pytest
from deploy_parts import DOCKER, ROOT, clean_environment, free_port, instructions, project, run, running_service, tool
from packaging.specifiers import SpecifierSet

from service.settings import VARIABLES

PARTS = instructions()


def of(name: str) -> list[str]:
    return [part.text for part in PARTS if part.name == name]


def last_stage(name: str) -> list[str]:
    start = max(index for index, part in enumerate(PARTS) if part.name == "FROM")
    return [part.text for part in PARTS[start:] if part.name == name]


def health_command() -> list[str]:
    (text,) = last_stage("HEALTHCHECK")
    command: list[str] = json.loads(text.partition(" CMD ")[2])
    return command


def test_the_dockerfile_passes_its_linter() -> None:
    result = run(tool("hadolint"), "--failure-threshold", "style", str(DOCKER / "Dockerfile"))
    assert result.returncode == 0, result.stdout + result.stderr


def test_the_image_is_built_in_two_stages_on_a_named_slim_python_that_the_project_takes() -> None:
    assert len(of("FROM")) == 2
    assert all(text.split()[0] == "python:${PYTHON}" for text in of("FROM"))
    (argument,) = of("ARG")
    tag = re.fullmatch(r"PYTHON=(3\.\d+)-slim-\w+", argument)
    assert tag
    assert SpecifierSet(project()["project"]["requires-python"]).contains(f"{tag[1]}.0")


def test_the_image_runs_as_a_number_that_is_not_root() -> None:
    (user,) = last_stage("USER")
    assert re.fullmatch(r"[1-9]\d{3,}:[1-9]\d{3,}", user)


@pytest.mark.parametrize("name", ["ENTRYPOINT", "CMD"])
def test_what_the_image_runs_is_in_exec_form(name: str) -> None:
    (text,) = last_stage(name)
    command = json.loads(text)
    assert command
    assert all(isinstance(word, str) for word in command)


def test_the_image_writes_no_bytecode_and_sets_only_settings_that_exist() -> None:
    values = dict(pair.split("=", 1) for text in last_stage("ENV") for pair in text.split())
    assert values["PYTHONDONTWRITEBYTECODE"] == "1"
    assert values["BENCHGATE_HOST"] == "0.0.0.0"
    assert {name for name in values if name.startswith("BENCHGATE_")} <= VARIABLES.keys()


def test_everything_is_installed_by_hash_or_from_what_was_built_here() -> None:
    installs = [part for text in of("RUN") for part in text.split("&&") if " install " in part]
    assert len(installs) == 3
    assert all("--require-hashes" in part or "--no-index" in part for part in installs)


def test_what_is_copied_is_there_and_not_left_out_by_the_ignore_file() -> None:
    admitted = {
        line[1:].removesuffix("/**")
        for line in (DOCKER / "Dockerfile.dockerignore").read_text(encoding="utf-8").splitlines()
        if line.startswith("!")
    }
    copied = {name for text in of("COPY") if not text.startswith("--from") for name in text.split()[:-1]}
    assert copied == admitted
    assert all((ROOT / name).exists() for name in copied)


def test_the_health_check_passes_on_a_service_that_answers_and_fails_where_none_does() -> None:
    python, *rest = health_command()
    assert python == "/opt/benchgate/bin/python"
    with running_service() as port:
        assert run(sys.executable, *rest, env={**clean_environment(), "BENCHGATE_PORT": str(port)}).returncode == 0
    silent = {**clean_environment(), "BENCHGATE_PORT": str(free_port())}
    assert run(sys.executable, *rest, env=silent).returncode != 0
