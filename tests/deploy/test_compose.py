"""The compose file, as Compose itself reads it: three replicas and a proxy that may do next to nothing."""

import json
from typing import Any

import pytest
from deploy_parts import DOCKER, run, tool

from service.limits import GRACEFUL_SHUTDOWN_SECONDS
from service.settings import VARIABLES

FILE = str(DOCKER / "compose.yaml")


@pytest.fixture(scope="module")
def composed() -> dict[str, Any]:
    result = run(tool("docker-compose"), "-f", FILE, "config", "--format", "json")
    assert result.returncode == 0, result.stderr
    read: dict[str, Any] = json.loads(result.stdout)
    return read


def replicas(composed: dict[str, Any]) -> list[dict[str, Any]]:
    return [service for name, service in composed["services"].items() if name.startswith("replica-")]


def test_the_compose_file_follows_the_published_schema() -> None:
    result = run(tool("check-jsonschema"), "--builtin-schema", "vendor.compose-spec", FILE)
    assert result.returncode == 0, result.stdout + result.stderr


def test_there_is_one_proxy_before_three_replicas_of_one_image(composed: dict[str, Any]) -> None:
    assert sorted(composed["services"]) == ["proxy", "replica-1", "replica-2", "replica-3"]
    assert len({service["image"] for service in replicas(composed)}) == 1


def test_every_container_is_read_only_without_rights_and_bounded(composed: dict[str, Any]) -> None:
    for name, service in composed["services"].items():
        assert service["read_only"] is True, name
        assert service["cap_drop"] == ["ALL"], name
        assert service["security_opt"] == ["no-new-privileges:true"], name
        assert service["tmpfs"], name
        assert service["healthcheck"]["interval"], name
        assert set(service["deploy"]["resources"]["limits"]) == {"cpus", "memory", "pids"}, name
        assert "privileged" not in service, name


def test_only_the_proxy_is_reached_and_only_from_this_machine(composed: dict[str, Any]) -> None:
    (port,) = composed["services"]["proxy"]["ports"]
    assert port["host_ip"] == "127.0.0.1"
    for service in replicas(composed):
        assert "ports" not in service
        assert list(service["networks"]) == ["inside"]
    assert composed["networks"]["inside"]["internal"] is True


def test_a_replica_is_given_the_time_that_its_requests_may_take_to_end(composed: dict[str, Any]) -> None:
    for service in replicas(composed):
        assert int(service["stop_grace_period"].removesuffix("s")) > GRACEFUL_SHUTDOWN_SECONDS


def test_replicas_are_given_only_settings_that_exist(composed: dict[str, Any]) -> None:
    for service in replicas(composed):
        assert set(service.get("environment") or ()) <= VARIABLES.keys()
