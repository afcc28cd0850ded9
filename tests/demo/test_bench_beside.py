"""What the bench measures beside: another server, and the other data base."""

import json
from base64 import b64decode

import pytest
from django.core.management import CommandError, call_command
from django.db import connection

from sitetrack.demo.bench.peers import KINDS, Peer
from tests.receiver import Receiver

BATCHES = [[{"id": n} for n in range(3)], [{"id": 9}]]


@pytest.mark.parametrize(("kind", "sent"), [("array", BATCHES), ("docs", [{"docs": rows} for rows in BATCHES])])
def test_a_peer_gets_every_batch_in_its_own_form(receiver: Receiver, kind: str, sent: list[object]) -> None:
    peer = Peer(receiver.url.replace("://", "://user:word@"), kind)
    peer.post_all([peer.body(rows) for rows in BATCHES])
    assert [json.loads(body) for _headers, body in receiver.came] == sent
    headers = {name.lower(): value for name, value in dict(receiver.came[0][0]).items()}
    assert b64decode(headers["authorization"].removeprefix("Basic ")).decode() == "user:word"
    assert set(KINDS) == {"array", "docs"}


def test_a_peer_that_refuses_is_no_figure(receiver: Receiver) -> None:
    receiver.status = 507
    with pytest.raises(RuntimeError, match="507"):
        Peer(receiver.url, "array").post_all([b"[]"])


@pytest.mark.skipif(connection.vendor == "postgresql", reason="asks for what is there")
def test_another_data_base_than_there_is_must_be_named() -> None:
    with pytest.raises(CommandError, match="DATABASE_URL"):
        call_command("bench", "verdict", "--quick", "--engine", "postgres")
