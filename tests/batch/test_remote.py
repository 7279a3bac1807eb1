"""Results on another machine: a real SFTP server, with nothing half written while somebody looks."""

from __future__ import annotations

import asyncio
import hashlib
import threading

import pytest

from guidegen.batch.places import Seen, place_of
from guidegen.errors import GuidegenError

asyncssh = pytest.importorskip("asyncssh")
sshfs = pytest.importorskip("sshfs")


class _Open(asyncssh.SSHServer):
    def begin_auth(self, _username):
        return False


@pytest.fixture(scope="module")
def server(tmp_path_factory):
    """An SFTP server on a free port of this computer, without a password; yields its address and its folder."""
    root = tmp_path_factory.mktemp("quay")
    loop, ready, found = asyncio.new_event_loop(), threading.Event(), {}

    async def serve():
        factory = lambda channel: asyncssh.SFTPServer(channel, chroot=bytes(root))  # noqa: E731
        key = asyncssh.generate_private_key("ssh-ed25519")
        found["server"] = await asyncssh.create_server(
            _Open, "127.0.0.1", 0, server_host_keys=[key], sftp_factory=factory
        )
        ready.set()

    thread = threading.Thread(target=loop.run_forever, daemon=True)
    thread.start()
    asyncio.run_coroutine_threadsafe(serve(), loop).result(20)
    assert ready.is_set()
    yield f"sftp://anyone@127.0.0.1:{found['server'].get_port()}", root
    for store in list(sshfs.SSHFileSystem._cache.values()):
        store._finalize(store.loop, store._pool, store._stack)  # or its connection stays open
    sshfs.SSHFileSystem.clear_instance_cache()

    async def end():
        found["server"].close()
        await found["server"].wait_closed()

    asyncio.run_coroutine_threadsafe(end(), loop).result(20)
    loop.call_soon_threadsafe(loop.stop)
    thread.join(10)
    loop.close()


def test_files_go_there_whole_and_are_found_again(server):
    address, root = server
    place = place_of(f"{address}/class", root)
    assert place.look("deep/a.pdf") is None
    assert place.put([("deep/a.pdf", b"one"), ("b.svg", b"two")], ours=()) == [Seen(3, 0), Seen(3, 0)]
    assert (root / "class/deep/a.pdf").read_bytes() == b"one"
    assert place.look("deep/a.pdf") == Seen(3, 0)
    assert place.look("deep") is None
    assert place.digest("b.svg") == hashlib.sha256(b"two").hexdigest()
    assert place.digest("nobody") is None

    with pytest.raises(GuidegenError, match=r"b\.svg: exists already"):
        place.put([("b.svg", b"three")], ours=())
    place.put([("b.svg", b"three")], ours=["b.svg"])
    assert (root / "class/b.svg").read_bytes() == b"three"
    place.remove(["b.svg", "nobody"])
    assert sorted(path.name for path in root.rglob("*") if path.is_file()) == ["a.pdf"]


def test_a_transfer_that_breaks_leaves_the_old_file(server, monkeypatch):
    address, root = server
    place = place_of(f"{address}/broken", root)
    place.put([("a.pdf", b"old")], ours=())
    store = place.store

    def breaks(path, data, **_):
        type(store).pipe_file(store, path, data[:2])
        raise OSError("connection lost")

    monkeypatch.setattr(store, "pipe_file", breaks)
    with pytest.raises(GuidegenError, match="connection lost"):
        place.put([("a.pdf", b"newer")], ours=["a.pdf"])
    monkeypatch.undo()
    assert (root / "broken/a.pdf").read_bytes() == b"old"
    assert [path.name for path in (root / "broken").iterdir()] == ["a.pdf"]


def test_nobody_answers(tmp_path):
    with pytest.raises(GuidegenError, match="cannot be reached"):
        place_of("sftp://127.0.0.1:1/x", tmp_path)


def test_a_store_of_objects_gets_them_whole(tmp_path):
    place = place_of("memory://quay/class", tmp_path)
    place.put([("a/b.pdf", b"one")], ours=())
    place.put([("a/b.pdf", b"two!")], ours=["a/b.pdf"])
    assert place.look("a/b.pdf") == Seen(4, 0)
    assert place.digest("a/b.pdf") == hashlib.sha256(b"two!").hexdigest()
