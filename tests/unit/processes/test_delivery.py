"""Messages over a local HTTP server that stands for a service: sent once, receipt kept, never in the tick."""

import subprocess
import sys

import pytest
from message_service import Service

from kilnctl.clock import RealClock
from kilnctl.config.channels import Channel
from kilnctl.processes.delivery import send

pytest.importorskip("apprise")


def test_a_message_arrives_and_gives_a_receipt(service: Service) -> None:
    receipt = send(Channel(name="phone", url=service.url), "hot", RealClock())
    assert receipt.delivered
    assert service.got == ["hot"]


@pytest.mark.parametrize(("status", "url", "why"), [
    (500, "", "no network"),
    (200, "json://127.0.0.1:9/secret", "no network"),
    (200, "nothing at all", "not an address"),
])  # fmt: skip
def test_what_does_not_arrive_is_said_without_the_key(
    service: Service, status: int, url: str, why: str
) -> None:
    service.status = status
    receipt = send(Channel(name="phone", url=url or service.url), "hot", RealClock())
    assert not receipt.delivered
    assert why in receipt.why
    assert "secret" not in receipt.line()


def test_nothing_that_heats_loads_the_message_library() -> None:
    asked = (
        "import sys, kilnctl.processes.controller, kilnctl.processes.supervisor; "
        "print('apprise' in sys.modules, 'kilnctl.processes.delivery' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["False", "False"]
